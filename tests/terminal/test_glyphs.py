"""Where the terminal has no better than ASCII, every text and every drawing still shows."""

from __future__ import annotations

import ast
import importlib.util
import pkgutil
from collections.abc import Iterator
from pathlib import Path

import pytest

import coach.terminal
from coach.terminal import glyphs
from phases.kit.catalogue import calculators
from phases.kit.fields import Table
from phases.kit.items import load_phases
from phases.kit.text import clean


@pytest.fixture(autouse=True)
def ascii_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(glyphs, "_ASCII", True)


def without_stand_in(text: str) -> set[str]:
    """The glyphs of a text that would show as a question mark."""
    return {c for c in text if "?" in glyphs.shown(c) and c != "?"}


def texts_of_calculators() -> Iterator[str]:
    for kind in calculators().values():
        yield from (kind.title, kind.source, kind.__doc__ or "")
        for field in kind.fields.values():
            yield from (field.title, field.note, str(field.default), getattr(field, "unit", ""))
            if isinstance(field, Table):
                for column in field.columns.values():
                    yield from (column.title, column.kind, str(column.default))
        for out in kind.outputs.values():
            yield from (out.title, out.unit, out.formula)
        for one in kind.limits.values():
            yield from (one.title, one.unit, one.formula)
        yield from (listed.title for listed in kind.listings.values())


def texts_of_items() -> Iterator[str]:
    for phase in load_phases():
        yield phase.title
        for item in phase.items:
            yield from (item.statement, item.why, item.source)


def strings_of(package: str) -> Iterator[str]:
    """Every string in the source of a package's modules."""
    found = importlib.util.find_spec(package)
    assert found is not None and found.submodule_search_locations is not None
    for module in pkgutil.walk_packages(found.submodule_search_locations, f"{package}."):
        spec = importlib.util.find_spec(module.name)
        if spec is None or spec.origin is None or module.ispkg:
            continue
        for node in ast.walk(ast.parse(Path(spec.origin).read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                yield node.value


def test_every_text_of_every_calculator_has_stand_ins() -> None:
    listed = list(texts_of_calculators())
    assert any("√" in text for text in listed) and any("π" in text for text in listed)
    assert set().union(*map(without_stand_in, listed)) == set()


def test_every_item_has_stand_ins() -> None:
    listed = list(texts_of_items())
    assert len(listed) > 100
    assert set().union(*map(without_stand_in, listed)) == set()


@pytest.mark.parametrize(
    "package", [coach.terminal.__name__, "coach.sprint", "coach.cli", "phases"]
)
def test_every_string_that_the_coach_draws_or_says_has_stand_ins(package: str) -> None:
    marks = set().union(*map(without_stand_in, strings_of(package)))
    # What is taken out of every text that is typed is named for that alone.
    assert {mark for mark in marks if mark.isprintable() and clean(mark)} == set()


def test_what_is_shown_is_ascii_whatever_was_typed() -> None:
    assert glyphs.shown("Ü läng, 2 µH ± 5 %, Ω, ½ ℃") == "U lang, 2 uH +- 5 %, Ohm, 1/2  degC"
    assert glyphs.shown("抵抗 4k7") == "?? 4k7"
    assert all(stand_in.isascii() for stand_in in glyphs.STAND_INS.values())


def test_a_terminal_that_carries_them_gets_the_glyphs(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(glyphs, "_ASCII", False)
    assert glyphs.shown("√(π ρ) ╌ 抵抗") == "√(π ρ) ╌ 抵抗"
