"""What nobody gave is known as such: who gave each figure, and what rests on a guess."""

from __future__ import annotations

import pytest

from phases.kit import Bound, Calculator, Card, Column, Quantity, Table, above, below, judge, limit
from phases.kit import output as answer
from phases.kit.arrays import Array
from phases.kit.assumed import heaviest_first
from phases.kit.inputs import Given, Supply
from phases.kit.record import record_of


class Heater(Calculator, name="heater", title="Heater", per="rail", source="own arithmetic"):
    """Does it stay cool?"""

    I = Quantity("A", "load", of="board", default="100 mA", ledger="rail.{rail}.peak")  # noqa: E741
    V = Quantity("V", "input", of="board", default="5 V")
    regulator = Card("regulator", of="part", default="", ledger="rail.{rail}.card.regulator")
    theta = Quantity("K/W", "junction to ambient", card="theta_ja", default="75 K/W")
    T_Jmax = Quantity("°C", "junction limit", card="junction", default="125 °C")
    k = Quantity("1", "own board over test board", of="practice", default="1.3 / 1.6 / 2")
    V_DO = Quantity("V", "dropout", card="dropout", default="0.3 V")
    taps = Table(
        "taps",
        (Column("name", "text"), Column("I", "A")),
        of="part",
        default=({"name": "a", "I": "1 A"},),
    )

    @answer("°C", "junction", publishes="rail.{rail}.junction")
    def T_J(self) -> Array:
        return 25 + self.k * self.theta * self.V * self.I

    @limit("Junction", unit="°C")
    def junction(self) -> Bound:
        return below(self.T_J, self.T_Jmax)

    @limit("Headroom", unit="V")
    def headroom(self) -> Bound:
        return above(self.V - 3.3, self.V_DO)

    @limit("Load", unit="A")
    def load(self) -> Bound:
        return below(self.I, 1.0)

    @limit("Taps", unit="A")
    def tapped(self) -> Bound:
        return below(self.taps.sum(self.taps["I"]), 2.0)


def assumed(calculation: Calculator) -> dict[str, set[str]]:
    return {v.limit: set(v.assumed) for v in judge(calculation).verdicts}


def test_a_limit_rests_on_the_part_figures_at_their_default_that_it_reads_and_on_no_other() -> None:
    assert assumed(Heater()) == {
        "junction": {"theta", "T_Jmax"},
        "headroom": {"V_DO"},
        "load": set(),
        "tapped": {"taps"},
    }


@pytest.mark.parametrize("given", ["80 K/W", Given("75 K/W", "confirmed")])
def test_a_figure_that_was_typed_or_confirmed_is_assumed_no_more(given: object) -> None:
    assert assumed(Heater(theta=given))["junction"] == {"T_Jmax"}


def with_card(name: str) -> Heater:
    supplies = {"rail.3v3.card.regulator": Supply(name, "brief", "brief")}
    return Heater(lookup=supplies.get, names={"rail": "3v3"})


def test_a_part_card_feeds_every_figure_that_it_has_and_says_that_it_did() -> None:
    calculation = with_card("hearth-33")
    theta = calculation.inputs.reading("theta")
    assert (theta.text, theta.origin, theta.owner) == ("62 K/W", "card", "hearth-33")
    assert assumed(calculation) == {
        "junction": set(),
        "headroom": set(),
        "load": set(),
        "tapped": {"taps"},
    }


def test_what_a_hand_typed_stands_before_the_card() -> None:
    supplies = {"rail.3v3.card.regulator": Supply("hearth-33", "brief", "brief")}
    calculation = Heater(theta="90 K/W", lookup=supplies.get, names={"rail": "3v3"})
    assert calculation.inputs.reading("theta").origin == "hand"


def test_a_figure_the_card_does_not_have_stays_assumed() -> None:
    assert assumed(with_card("gauge-16"))["headroom"] == {"V_DO"}


def test_a_card_replaced_by_another_is_read_anew() -> None:
    calculation = with_card("gauge-16").with_given({"regulator": Given("hearth-33")})
    assert calculation.inputs.reading("theta").text == "62 K/W"


def test_what_another_calculation_assumed_comes_along_with_its_value() -> None:
    supply = Supply("200 mA", "ledger", "load-budget", ("load-budget consumers",))
    calculation = Heater(lookup={"rail.3v3.peak": supply}.get, names={"rail": "3v3"})
    assert "load-budget consumers" in assumed(calculation)["load"]


def test_the_figure_that_has_most_of_the_margin_comes_first() -> None:
    # Junction 25 + 2 x 75 x 5 x 0.1 = 100 °C of 125 °C: a quarter of theta is 19 K of that, a
    # quarter of the limit itself 31 K.
    order = heaviest_first(judge(Heater()))
    assert order["junction"] == ("T_Jmax", "theta")
    # At ten times the voltage theta has 750 K of 1,025 °C in it.
    assert heaviest_first(judge(Heater(V="50 V")))["junction"] == ("theta", "T_Jmax")


def test_a_record_tells_it_again() -> None:
    record = record_of(judge(Heater()))
    assert {one.name: one.assumed for one in record.limits}["junction"] == ("T_Jmax", "theta")
    assert (record.inputs["theta"].of, record.inputs["V"].of, record.inputs["k"].of) == (
        "part",
        "board",
        "practice",
    )
