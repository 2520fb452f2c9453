"""Every name a calculator reads has exactly one owner: a misspelt one would use its default."""

from __future__ import annotations

import itertools
import re
from collections.abc import Mapping

import pytest

from coach.sprint.brief.document import BRIEF_NAMES
from coach.sprint.ledger.ledger import FALLBACKS
from coach.sprint.rules.values import _readers
from phases.kit.calculator import Calculator
from phases.kit.catalogue import calculators
from phases.kit.facts import check_value, find_fact

# What a subject of each kind fills templates with; a rail knows the rail it is made from, every
# other subject the rail it hangs on.
OF_BOARD = {"entry", "mcu_rail"}
OF_SUBJECT = {"board": set(), "rail": {"rail", "parent"}}
OF_OTHERS = {"rail"}

KINDS = [pytest.param(kind, id=name) for name, kind in calculators().items()]


def shape(template: str) -> str:
    """A template without the names of its places: rail.{parent}.voltage is rail.{}.voltage."""
    return re.sub(r"\{\w+\}", "{}", template)


def places(template: str) -> set[str]:
    return set(re.findall(r"\{(\w+)\}", template))


def consumed(kind: type[Calculator]) -> dict[str, str]:
    return {name: field.ledger for name, field in kind.fields.items() if field.ledger}


def stand_in(name: str) -> str | None:
    """What the ledger takes while nobody has given `name`: of a rail's voltage its window."""
    head, _, last = name.rpartition(".")
    return f"{head}.{FALLBACKS[last]}" if last in FALLBACKS else None


def publishers() -> dict[str, list[tuple[str, Mapping[str, object] | None]]]:
    """By shape: who publishes it, a calculator or the brief, and by which facts."""
    found: dict[str, list[tuple[str, Mapping[str, object] | None]]] = {}
    for kind in calculators().values():
        for out in kind.outputs.values():
            if out.publishes:
                found.setdefault(shape(out.publishes), []).append((kind.name, out.when))
    for template in BRIEF_NAMES:
        found.setdefault(shape(template), []).append(("brief", None))
    return found


def available(kind: type[Calculator]) -> set[str]:
    return OF_BOARD | OF_SUBJECT.get(kind.per, {kind.per, *OF_OTHERS})


def contradict(one: Mapping[str, object] | None, other: Mapping[str, object] | None) -> bool:
    """Whether no subject can have both sets of facts."""
    return any(
        name in (other or {}) and (other or {})[name] != v for name, v in (one or {}).items()
    )


@pytest.mark.parametrize("kind", KINDS)
def test_every_name_it_reads_has_an_owner(kind: type[Calculator]) -> None:
    known = publishers()
    orphans = {
        field: name
        for field, name in consumed(kind).items()
        if shape(name) not in known and stand_in(shape(name)) not in known
    }
    assert orphans == {}


@pytest.mark.parametrize("name", sorted(publishers()))
def test_no_name_has_two_owners_unless_the_facts_say_which(name: str) -> None:
    owners = publishers()[name]
    both = [
        (one, other)
        for (one, facts), (other, other_facts) in itertools.combinations(owners, 2)
        if not contradict(facts, other_facts)
    ]
    assert both == []


def test_the_facts_that_tell_owners_apart_exist() -> None:
    for owners in publishers().values():
        for _, when in owners:
            for fact, value in (when or {}).items():
                assert check_value(find_fact(fact), value) == value


def test_a_rail_s_window_stands_in_for_its_voltage_and_comes_from_the_brief() -> None:
    window = stand_in(shape("rail.{rail}.voltage"))
    assert window == shape("rail.{rail}.window")
    assert [owner for owner, _ in publishers()[window]] == ["brief"]
    assert stand_in("rail.{}.peak") is None


@pytest.mark.parametrize("template", BRIEF_NAMES)
def test_a_changed_value_is_read_by_all_who_read_it_or_what_it_stands_in_for(template: str) -> None:
    checked = {shape(field.ledger or "") for field in _readers(template)}
    reading = {shape(name) for kind in calculators().values() for name in consumed(kind).values()}
    mine = shape(template)
    assert checked == {name for name in reading if mine in (name, stand_in(name))}
    if mine == "rail.{}.window":
        assert {"rail.{}.voltage", "rail.{}.set_voltage"} <= checked


@pytest.mark.parametrize("kind", KINDS)
def test_a_subject_of_its_kind_can_fill_every_name_it_reads(kind: type[Calculator]) -> None:
    unfilled = {
        field: places(name) - available(kind)
        for field, name in consumed(kind).items()
        if places(name) - available(kind)
    }
    assert unfilled == {}


@pytest.mark.parametrize("kind", KINDS)
def test_a_subject_of_its_kind_can_fill_every_name_it_publishes(kind: type[Calculator]) -> None:
    for out in kind.outputs.values():
        if out.publishes:
            rows = {"row"} if out.along else set()
            assert places(out.publishes) <= available(kind) | rows
            assert bool(out.along) is ("row" in places(out.publishes))


def test_a_misspelt_name_would_be_found() -> None:
    assert shape("rail.{rail}.peek") not in publishers()
    assert shape("rail.{parent}.voltage") == "rail.{}.voltage" in publishers()
    assert places("rail.{parent}.voltage") == {"parent"}
    assert contradict({"regulator": "linear"}, {"regulator": "switching"})
    assert not contradict({"regulator": "linear"}, {"supply": "usb-c"})
    assert not contradict(None, {"regulator": "linear"})
