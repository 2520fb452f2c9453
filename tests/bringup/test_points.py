"""The points of every board: the file holds together, and the room names no calculator."""

from __future__ import annotations

import ast
import re
from itertools import groupby
from pathlib import Path

import coach.bringup
from coach.bringup.planning import Point, board_points
from coach.bringup.sheet import SECTIONS
from coach.bringup.supplies import FIGURES
from coach.sprint.brief.document import BRIEF_NAMES
from coach.sprint.ledger.ledger import FALLBACKS
from phases.kit.bench import TEXTS, Section
from phases.kit.catalogue import calculators
from phases.kit.facts import check_value, find_fact
from phases.kit.items import load_phases
from phases.kit.notation import read_quantity
from phases.kit.spec_tables import spec_table
from phases.kit.units import UNITS

ROOM = Path(coach.bringup.__file__).parent
POINTS = board_points()


def found(point: str) -> Point:
    return next(one for one in POINTS if one.point == point)


# ---- no calculator is named ----------------------------------------------------------------------

WORDS_OF_THE_TRADE = frozenset(
    {"fuse", "strap", "indicator", "trace", "clamp", "inrush", "charger"}
)
"""Names of calculators that are ordinary words too: these may stand in a sentence, never alone."""


def test_the_room_names_no_calculator() -> None:
    names, said = set(calculators()), []
    for path in sorted(ROOM.glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                said.append((path.name, node.value))
    said += [("points.toml", line) for line in (ROOM / "points.toml").read_text().splitlines()]
    assert len(said) > 500
    faults = []
    for where, text in said:
        alone = re.split(r"[@:.]", text.strip('" ='))[0]
        long = [name for name in names - WORDS_OF_THE_TRADE if re.search(rf"\b{name}\b", text)]
        if long or alone in names:
            faults.append(f"{where}: {text[:60]}")
    assert faults == []


# ---- the file ------------------------------------------------------------------------------------


def test_every_section_of_the_kit_has_its_place_and_every_place_its_section() -> None:
    assert tuple(section.id for section in SECTIONS) == Section.__args__  # type: ignore[attr-defined]
    assert {one.section for one in POINTS} <= {section.id for section in SECTIONS}


def test_facts_figures_and_ledger_names_exist() -> None:
    given = {shape(name) for name in BRIEF_NAMES}
    for kind in calculators().values():
        given |= {shape(out.publishes) for out in kind.outputs.values() if out.publishes}
    for one in POINTS:
        for fact, value in (one.when or {}).items():
            assert check_value(find_fact(fact), value) == value
        assert not one.figure or one.figure in FIGURES
        for name in filter(None, (shape(one.value), shape(one.tolerance))):
            head, _, last = name.rpartition(".")
            assert name in given or f"{head}.{FALLBACKS.get(last)}" in given, name
    assert {one.figure for one in POINTS} - {""} == set(FIGURES)
    items = {item.id for phase in load_phases() for item in phase.items}
    assert {one.waived for one in POINTS} - {""} <= items


def shape(template: str) -> str:
    return re.sub(r"\{\w+\}", "{}", template)


def test_what_is_expected_can_be_read_and_holds_its_own_ends() -> None:
    for one in POINTS:
        if one.expect:
            spread = read_quantity(one.expect, one.unit, least=-UNITS[one.unit].greatest)
            assert spread.low <= spread.typ <= spread.high
        assert sum(map(bool, (one.value, one.figure))) <= 1, one.point


def test_every_point_says_what_is_right_or_whose_figure_it_is() -> None:
    for one in POINTS:
        assert one.expect or one.value or one.figure or one.words, one.point
        assert not one.value or one.missing, one.point


def test_alternatives_of_one_point_follow_one_another() -> None:
    ids = [name for name, _ in groupby(POINTS, key=lambda one: one.point)]
    assert len(ids) == len(set(ids))


def test_names_in_the_texts_are_closed_and_without_nesting() -> None:
    for one in POINTS:
        for text in (one.point, one.why, one.missing, *(getattr(one, name) for name in TEXTS)):
            flat = re.sub(r"\[[^][]*\]|\{[^{}]*\}", "", text)
            assert not set("[]{}") & set(flat), text


# USB Type-C: the figures of the file are those of the table that the calculators read.
def test_the_figures_of_usb_c_are_those_of_its_table() -> None:
    table = spec_table("usb-type-c")
    low, high = (float(end) for end in table["unread"]["window"])
    cc = found("connector.{connector}.cc")
    read = read_quantity(cc.expect, "V")
    assert (read.low, read.high) == (low, high)
    for name in ("default", "1.5 A", "3 A"):
        first, last = table["edition"]["2.4"][name]
        assert f"{name} {first:g} .. {last:g}" in cc.words
    pull = read_quantity(found("connector.{connector}.cc-resistance").expect, "Ω")
    assert pull.typ == table["pull_down"]["nominal"]
    assert pull.high == pull.typ * (1 + table["pull_down"]["tolerance_unread"])
