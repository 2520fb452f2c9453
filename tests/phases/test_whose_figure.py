"""Every input of every calculator says whose figure it is, and a card can give what it may hold."""

from __future__ import annotations

import pytest

from phases.kit.card_figures import UNITS_OF
from phases.kit.cards import PartCard
from phases.kit.catalogue import calculators
from phases.kit.fields import BOARD, PART, PRACTICE, Quantity, Window
from phases.kit.units import UNITS

DERIVED = {"supply": "V", "vil_ratio": "1", "vih_ratio": "1", "pull": "Ω", "either_leakage": "A"}
"""Keys that a card makes of others; "strap_pull" is a choice."""


def test_every_input_says_whose_figure_it_is() -> None:
    unsaid = [
        f"{name}: {field.name}"
        for name, kind in calculators().items()
        for field in kind.fields.values()
        if field.of not in (BOARD, PART, PRACTICE)
    ]
    assert not unsaid


def keyed() -> list[tuple[str, str, str]]:
    return [
        (name, field.name, field.card)
        for name, kind in calculators().items()
        for field in kind.fields.values()
        if field.card
    ]


def test_every_key_is_one_a_card_may_have_and_in_the_unit_of_its_field() -> None:
    faults = []
    for calculator, name, card in keyed():
        kind = calculators()[calculator]
        role, _, key = card.rpartition(".")
        cards = [one.name for one in kind.fields.values() if one.kind == "card"]
        if (role not in cards) if role else (len(cards) != 1):
            faults.append(f"{calculator}: {name} is on no card field of {cards}")
        if key == "strap_pull":
            continue
        unit, field = (UNITS_OF | DERIVED).get(key), kind.fields[name]
        assert isinstance(field, Quantity | Window)
        if unit is None or UNITS[unit].kind != UNITS[field.unit].kind:
            faults.append(f"{calculator}: {name} in {field.unit} is not {key} in {unit}")
    assert not faults


@pytest.mark.parametrize("key", [*UNITS_OF, *DERIVED, "strap_pull"])
def test_a_card_that_says_nothing_has_no_figure_and_no_key_is_unknown_to_it(key: str) -> None:
    assert PartCard(name="knot-8", title="Knot", kind="other").figure(key) is None
