"""A default that follows a choice: another kind of part brings its own figures."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from phases.kit import (
    Calculator,
    Choice,
    Column,
    Following,
    Quantity,
    Table,
    judge,
    output,
)
from phases.kit.arrays import Array
from phases.kit.catalogue import calculators
from phases.kit.inputs import Supply

ASKED: list[str] = []


def late() -> Mapping[str, str]:
    ASKED.append("late")
    return {"bead": "600 Ω", "coil": "50 mΩ"}


class Part(Calculator, name="part", title="Part", per="board", source="a test"):
    """A part of one of two kinds."""

    kind = Choice("kind", ("wire", "coil", "bead"), default="bead")
    R = Quantity("Ω", "resistance", default=Following("kind", late), ledger="rail.x.resistance")
    I = Quantity("A", "rating", default=Following("kind", {"coil": "2 A", "bead": "0.5 A"}))  # noqa: E741
    curve = Table(
        "curve",
        (Column("f", "Hz"), Column("Z", "Ω")),
        default=Following("kind", {"bead": [{"f": "1 MHz", "Z": "60 Ω"}], "coil": []}),
    )

    @output("V", "drop")
    def drop(self) -> Array:
        return self.I * self.R


def test_the_default_is_that_of_the_chosen_option() -> None:
    assert Part().drop.item() == pytest.approx(300.0)
    assert Part(kind="coil").drop.item() == pytest.approx(0.1)
    assert [len(Part(kind=kind).curve) for kind in ("bead", "coil")] == [1, 0]


def test_its_origin_is_the_default_and_a_hand_or_the_ledger_stands_before_it() -> None:
    readings = {r.field: (r.text, r.origin) for r in judge(Part(kind="coil", I="3 A")).readings}
    assert readings["R"] == ("50 mΩ", "default")
    assert readings["I"] == ("3 A", "hand")
    calculation = Part(lookup=lambda name: Supply("7 Ω", "ledger", "other@x"))
    assert calculation.inputs.reading("R").text == "7 Ω"


def test_an_option_without_a_default_leaves_the_input_blank() -> None:
    assert Part(kind="wire").inputs.reading("I").origin == "blank"


def test_texts_of_a_table_are_asked_for_late() -> None:
    ASKED.clear()
    Part(R="1 Ω").inputs.reading("R")
    assert ASKED == []
    Part().inputs.reading("R")
    assert ASKED == ["late"]


def test_a_listing_shows_that_of_the_choice_s_own_default_and_which_choice_it_follows() -> None:
    described = Part.fields["I"].described()
    assert (described["default"], described["follows"]) == ("0.5 A", "kind")
    assert Part.fields["kind"].described()["follows"] is None


def test_in_every_calculator_each_option_has_its_default() -> None:
    for kind in calculators().values():
        for field in kind.fields.values():
            if field.follows is None:
                continue
            choice = kind.fields[field.follows]
            assert isinstance(choice, Choice)
            for option in choice.options:
                assert field.default_under(lambda _, option=option: option) is not None
