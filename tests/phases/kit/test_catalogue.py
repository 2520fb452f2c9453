"""A calculator is found by being there; each runs as it stands and declares what exists."""

from __future__ import annotations

import importlib
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from phases.kit import Bound, Calculator, Quantity, below, judge, limit, output
from phases.kit.bounds import VERDICTS
from phases.kit.catalogue import PHASE_PACKAGES, calculator, calculators
from phases.kit.fields import Choice, Table
from phases.kit.notation import read_quantity
from phases.kit.refusals import Refusal
from phases.kit.units import UNITS

ROOT = Path(__file__).parents[3]
KINDS = [pytest.param(kind, id=name) for name, kind in calculators().items()]


def fresh(code: str) -> str:
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


# ---- finding -----------------------------------------------------------------------------


def test_calculators_are_found_by_name_in_the_order_of_the_phases() -> None:
    phases = [kind.phase.replace("-", "_") for kind in calculators().values()]
    assert phases == sorted(phases, key=PHASE_PACKAGES.index)
    assert set(phases) <= set(PHASE_PACKAGES)
    assert calculator("linear-regulator").__name__ == "LinearRegulator"


def test_no_calculator_is_lost_to_another_of_the_same_name() -> None:
    modules = [
        path
        for package in PHASE_PACKAGES
        for path in (ROOT / "phases" / package).glob("*.py")
        if "\n    Calculator," in path.read_text() or "(Calculator," in path.read_text()
    ]
    assert len(calculators()) == len(modules) > 0


def test_an_unknown_calculator_is_told_the_nearest() -> None:
    with pytest.raises(Refusal, match="Nearest: linear-regulator"):
        calculator("liner-regulator")


def test_a_class_can_be_imported_from_its_phase_without_anything_heavy() -> None:
    loaded = fresh(
        "import sys\nfrom phases.regulation import LinearRegulator\n"
        "print(LinearRegulator.name, *sorted({'numpy', 'pint', 'pydantic'} & set(sys.modules)))"
    )
    assert loaded == "linear-regulator"


def test_a_phase_gives_nothing_that_it_does_not_have() -> None:
    module = importlib.import_module("phases.regulation")
    with pytest.raises(AttributeError, match=r"phases\.regulation has no Fuse"):
        _ = module.Fuse
    assert module.LinearRegulator is calculator("linear-regulator")


def test_the_whole_catalogue_is_listed_without_numpy_and_without_pint() -> None:
    loaded = fresh(
        "import sys\nfrom phases.kit.catalogue import calculators\n"
        "[f.described() for k in calculators().values() for f in k.fields.values()]\n"
        "print(*sorted({'numpy', 'pint'} & set(sys.modules)))"
    )
    assert loaded == ""


# ---- every one of them -------------------------------------------------------------------


@pytest.mark.parametrize("kind", KINDS)
def test_it_runs_as_it_stands(kind: type[Calculator]) -> None:
    judged = judge(kind())
    assert judged.verdict in VERDICTS
    assert bool(judged.verdicts) is bool(kind.limits)
    assert kind.limits or kind.listings  # one that only compares has no limits of its own
    assert judged.outputs or judged.listings
    assert not [v.reason for v in judged.verdicts if v.reason.startswith("Not evaluated")]


@pytest.mark.parametrize("kind", KINDS)
def test_its_defaults_are_an_ordinary_board_on_which_nothing_fails(kind: type[Calculator]) -> None:
    assert {v.limit: v.verdict for v in judge(kind()).verdicts if v.verdict == "fail"} == {}


@pytest.mark.parametrize("kind", KINDS)
def test_it_says_what_it_answers_and_where_that_comes_from(kind: type[Calculator]) -> None:
    assert kind.title
    assert kind.source
    assert kind.question.endswith("?")
    module = sys.modules[kind.__module__]
    assert module.__name__.rpartition(".")[2] == kind.name.replace("-", "_")
    assert "Source" in (module.__doc__ or "")


@pytest.mark.parametrize("kind", KINDS)
def test_every_default_reads_and_only_a_quantity_may_be_blank(kind: type[Calculator]) -> None:
    for reading in kind().inputs.readings():
        field = kind.fields[reading.field]
        if isinstance(field, Quantity) and field.free:
            assert reading.origin == "blank"
        assert reading.origin == "default" or isinstance(field, Quantity)


@pytest.mark.parametrize("kind", KINDS)
def test_what_it_proposes_is_free_and_proposed_once(kind: type[Calculator]) -> None:
    free = {n for n, f in kind.fields.items() if isinstance(f, Quantity) and f.free}
    proposed = [name for declared in kind.proposals for name in declared.free]
    assert set(proposed) <= free
    assert len(proposed) == len(set(proposed))
    assert set(judge(kind()).picks) == set(proposed)


@pytest.mark.parametrize("kind", KINDS)
def test_what_it_names_exists(kind: type[Calculator]) -> None:
    tables = {name for name, field in kind.fields.items() if isinstance(field, Table)}
    answers: list[output | limit] = [*kind.outputs.values(), *kind.limits.values()]
    for declared in answers:
        assert declared.unit in UNITS
        assert declared.title
        assert declared.along is None or declared.along in tables
    for curve in kind.curves:
        assert isinstance(kind.fields[curve.x], Quantity)
        assert curve.y in kind.outputs
        assert curve.limit is None or curve.limit in kind.limits
    for offered in kind.proposals:
        assert not offered.rank or callable(getattr(kind, offered.rank))
        if offered.tolerance and offered.tolerance not in kind.fields:
            assert read_quantity(offered.tolerance, "%").is_exact


@pytest.mark.parametrize("kind", KINDS)
def test_every_option_of_its_choices_can_be_judged(kind: type[Calculator]) -> None:
    for name, field in kind.fields.items():
        if isinstance(field, Choice):
            for option in field.options:
                assert judge(kind({name: option})).verdict in VERDICTS


RUBBISH: tuple[Any, ...] = (
    "",
    "0",
    "-5",
    "1e6",
    "1e-12",
    "nan",
    "[/]",
    "\x1b[31m",
    "0 .. 100 %",
    "yes",
    "x" * 500,
    [],
    [{}],
    0,
    -1.5,
    True,
)


@pytest.mark.parametrize("kind", KINDS)
def test_whatever_stands_in_one_field_it_answers_or_refuses(kind: type[Calculator]) -> None:
    """What a field does not read reaches no formula, and the same value is calculated once."""
    for name, field in kind.fields.items():
        seen: list[Any] = []
        for thing in RUBBISH:
            try:
                value, _ = field.read(thing)
                if value in seen:
                    continue
                seen.append(value)
                judged = judge(kind({name: thing}))
            except Refusal as refusal:
                assert str(refusal).endswith(".")
            else:
                assert judged.verdict in VERDICTS


def test_what_a_field_does_not_read_the_calculator_refuses_too() -> None:
    """Once for each kind of field, with all of the rubbish: the door is the same for all."""
    of_a_kind = {
        type(field): (kind, name, field)
        for kind in calculators().values()
        for name, field in kind.fields.items()
    }
    assert len(of_a_kind) >= 5
    refused = 0
    for kind, name, field in of_a_kind.values():
        for thing in RUBBISH[1:]:  # the first is a blank
            try:
                field.read(thing)
            except Refusal as refusal:
                refused += 1
                with pytest.raises(Refusal) as again:
                    judge(kind({name: thing}))
                assert again.value.what == refusal.what
    assert refused > 20


# ---- declaring ---------------------------------------------------------------------------


def declared(body: dict[str, Any], per: str = "board") -> type[Calculator]:
    declare: Any = type(Calculator)
    made: type[Calculator] = declare(
        "Made", (Calculator,), body, name="made", title="Made", per=per, source="own arithmetic"
    )
    return made


def test_a_calculator_belongs_to_the_board_or_to_a_kind_of_subject() -> None:
    assert declared({}, per="rail").per == "rail"
    with pytest.raises(TypeError, match="not a kind of subject"):
        declared({}, per="chip")


@pytest.mark.parametrize("taken", ["under", "inputs", "name", "limits", "text", "notes", "_frame"])
def test_a_declaration_cannot_stand_in_the_place_of_the_contract(taken: str) -> None:
    for thing in (Quantity("V", "x"), output("V", "x")(abs), limit("x")(abs)):
        with pytest.raises(TypeError, match=f"{taken} is a name of the contract itself"):
            declared({taken: thing})


def test_a_limit_is_cited_by_its_name_with_hyphens() -> None:
    def low(self: Any) -> Bound:
        return below(self.x, 9.0)

    made = declared(
        {
            "x": Quantity("V", "x", default="5 V"),
            "pin_current": limit("Pin")(low),
            "x_": limit("x")(low),
        }
    )
    assert list(made.limits) == ["pin-current", "x"]
    assert judge(made()).limit("pin-current") == "pass"


def test_declarations_are_inherited_and_can_be_replaced() -> None:
    class Parent(Calculator, name="parent", title="", per="board", source="own arithmetic"):
        """A calculator of its own."""

        x = Quantity("V", "x", default="5 V")

        @limit("Low", unit="V")
        def low(self) -> Bound:
            return below(self.x, 4.0)

    class Child(Parent, name="child", title="", per="board", source="own arithmetic"):
        """The same with another limit."""

        @limit("Low", unit="V")
        def low(self) -> Bound:
            return below(self.x, 9.0)

    assert (judge(Parent()).verdict, judge(Child()).verdict) == ("fail", "pass")
    assert list(Child.fields) == ["x"]
