"""A length of time and a per cent are written in one place each: nobody has a writer of their own,
so that the same 90 minutes never read "90 min" here and "1 h 30 min" there."""

from __future__ import annotations

import ast
from collections.abc import Callable, Iterator
from itertools import pairwise
from pathlib import Path

import pytest

from coach.sprint.chances import against_target, per_cent, per_cents
from coach.sprint.durations import apart, between, duration, elapsed

ROOT = Path(__file__).parents[2]
AFTER_A_NUMBER = tuple(
    f" {unit}{end}" for unit in ("min", "h", "s") for end in (" ", ",", ".", ":", ";", ")", "\n")
)


def own_minutes(source: str) -> Iterator[int]:
    """Lines where a unit of time stands behind a number, or seconds are divided into minutes."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.JoinedStr):
            for value, after in pairwise(node.values):
                text = f"{after.value}\n" if isinstance(after, ast.Constant) else ""
                if isinstance(value, ast.FormattedValue) and text.startswith(AFTER_A_NUMBER):
                    yield node.lineno
        divisors: list[ast.expr] = []
        if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Div | ast.FloorDiv | ast.Mod):
            divisors = [node.right]
        elif isinstance(node, ast.Call) and getattr(node.func, "id", "") == "divmod":
            divisors = node.args[1:]
        if any(isinstance(one, ast.Constant) and one.value in (60, 3600) for one in divisors):
            yield node.lineno


def own_per_cents(source: str) -> Iterator[int]:
    """Lines where a share is made a per cent within a text."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.FormattedValue):
            spec = ast.unparse(node.format_spec).rstrip("'\"") if node.format_spec else ""
            inside = (getattr(one, "value", None) for one in ast.walk(node.value))
            if spec.endswith("%") or any(one == 100 for one in inside):
                yield node.lineno


WRITERS = pytest.mark.parametrize(
    ("found", "writer"),
    [(own_minutes, "coach/sprint/durations.py"), (own_per_cents, "coach/sprint/chances.py")],
)


@WRITERS
def test_nobody_has_a_writer_of_their_own(
    found: Callable[[str], Iterator[int]], writer: str
) -> None:
    paths = [path.relative_to(ROOT) for path in (ROOT / "coach").rglob("*.py")]
    assert [
        f"{path}:{number}"
        for path in sorted(paths)
        if path.as_posix() != writer
        for number in found((ROOT / path).read_text("utf-8"))
    ] == []


@WRITERS
def test_the_one_writer_is_seen_as_one(found: Callable[[str], Iterator[int]], writer: str) -> None:
    assert [*found((ROOT / writer).read_text("utf-8"))]


@pytest.mark.parametrize(
    "source",
    [
        'f"{left / 60:.0f} min are left"',
        'f"{minutes} min"',
        'f"(about {takes} min)"',
        'f"{box:.1f} min of drawing"',
        "seconds // 60",
        "divmod(seconds, 60)",
    ],
)
def test_a_writer_of_minutes_would_be_found(source: str) -> None:
    assert [*own_minutes(source)]


@pytest.mark.parametrize("source", ['f"{low:.0%} to"', 'f"{100 * rate:.0f} %"'])
def test_a_writer_of_per_cents_would_be_found(source: str) -> None:
    assert [*own_per_cents(source)]


# ---- what they write -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("since", "to", "said"),
    [
        (0.0, 280.0, ("0:00", "0:05", "5 min")),
        (400.0, 920.0, ("0:07", "0:15", "8 min")),  # 8.7 min, and yet 7 to 15
        (89.0, 91.0, ("0:01", "0:02", "1 min")),
        (100.0, 125.0, ("0:02", "0:02", "25 s")),
        (92.0, 148.0, ("0:02", "0:02", "56 s")),
    ],
)
def test_what_lies_between_two_instants_is_the_difference_of_what_is_shown(
    since: float, to: float, said: tuple[str, str, str]
) -> None:
    assert (elapsed(since), elapsed(to), between(since, to)) == said
    assert between(to, since) == said[2]


def test_two_instants_shown_as_one_are_less_than_a_minute_apart() -> None:
    assert duration(apart(30.1, 89.9)) == "59 s"


def test_a_per_cent_has_a_space_and_two_have_one_sign() -> None:
    assert per_cent(0.21) == "21 %"
    assert per_cent(0.053) == "5.3 %"
    assert per_cent(0.798, 1) == "79.8 %"
    assert per_cents(0.206, 0.384) == "21 to 38 %"


@pytest.mark.parametrize(
    ("chance", "said"),
    [
        (0.62, "6 in 10 (target 8 in 10)"),
        (0.77, "just under the target of 8 in 10"),
        (0.84, "8 in 10 (target 8 in 10)"),
    ],
)
def test_a_chance_beside_its_target_never_reads_as_if_it_held(chance: float, said: str) -> None:
    assert against_target(chance, 0.8) == said
