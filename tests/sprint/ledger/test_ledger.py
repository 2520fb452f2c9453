"""The ledger: each value by its name, from the brief or from the one calculation that gives it."""

from __future__ import annotations

import pytest

from coach.sprint.brief.loading import load_brief
from coach.sprint.commands import (
    AddSubject,
    DeclareValue,
    DropFeature,
    DropSubject,
    RemoveCalculation,
    SaveCalculation,
    SetFact,
)
from coach.sprint.events.calculations import CalculationRecomputed
from coach.sprint.ledger.ledger import Ledger
from phases.kit import Bound, Calculator, Quantity, above, limit, output
from phases.kit.arrays import Array
from phases.kit.catalogue import calculators
from phases.kit.inputs import Supply
from tests.sprint.conftest import Begin, Bench


def value(bench: Bench, name: str) -> float | str | None:
    """What stands under a name: the typical value, or the text of the brief."""
    supply = Ledger(bench.state).lookup(name)
    if supply is None:
        return None
    return str(supply.value) if isinstance(supply.value, str) else float(supply.value.typ)


# ---- where a value comes from ----------------------------------------------------------------


def test_the_brief_gives_the_first_values(bench: Bench) -> None:
    ledger = Ledger(bench.state)
    assert ledger.lookup("rail.3v3.window") == Supply("3.3 V ± 20 %", "brief", "brief")
    assert value(bench, "source.current") == "500 mA"
    assert value(bench, "clock.main.frequency") == "16 MHz"
    assert value(bench, "rail.3v3.peak") is None


def test_a_calculation_gives_what_it_publishes(bench: Bench) -> None:
    bench.save("sum-of-loads", I="100 mA")
    supply = Ledger(bench.state).lookup("rail.3v3.peak")
    assert supply is not None
    assert (supply.origin, supply.owner) == ("ledger", "sum-of-loads")
    assert value(bench, "board.load") == pytest.approx(0.1)


def test_a_rail_has_its_declared_window_until_its_voltage_is_computed(bench: Bench) -> None:
    assert value(bench, "rail.3v3.voltage") == "3.3 V ± 20 %"
    bench.save("series-resistor", "3v3")
    assert value(bench, "rail.3v3.voltage") == pytest.approx(4.9)
    assert value(bench, "rail.3v3.window") == "3.3 V ± 20 %"
    bench.do(RemoveCalculation("series-resistor@3v3"))
    assert value(bench, "rail.3v3.voltage") == "3.3 V ± 20 %"


def test_a_declared_value_takes_the_place_of_the_briefs(bench: Bench) -> None:
    bench.do(DeclareValue("rail.vin.window", "6 V"))
    assert value(bench, "rail.vin.voltage") == "6 V"


def test_a_value_is_worked_out_through_all_that_it_hangs_on(bench: Bench) -> None:
    bench.save("series-resistor", "1v8", V_least="1 V", I="10 mA")  # saved before what feeds it
    bench.save("series-resistor", "3v3")
    bench.save("sum-of-loads", I="100 mA")
    assert value(bench, "rail.1v8.voltage") == pytest.approx(5 - 0.1 * 10 - 0.01 * 10)


def test_a_second_calculation_under_a_label_gives_only_what_the_first_does_not(
    bench: Bench,
) -> None:
    bench.save("sum-of-loads", label="what-if", I="400 mA")
    assert value(bench, "board.load") == pytest.approx(0.4)
    bench.save("sum-of-loads", I="100 mA")
    bench.save("sum-of-loads", label="later", I="900 mA")
    assert value(bench, "board.load") == pytest.approx(0.1)


def test_every_value_says_who_gave_it(bench: Bench) -> None:
    bench.save("sum-of-loads")
    ledger = Ledger(bench.state)
    given, computed = ledger.lookup("rail.3v3.window"), ledger.lookup("board.load")
    assert given is not None and computed is not None
    assert (given.owner, computed.owner) == ("brief", "sum-of-loads")


def test_values_are_said_in_words(bench: Bench) -> None:
    bench.save("sum-of-loads", I="90 .. 110 mA")
    words = Ledger(bench.state).texts()
    assert words["board.load"] == "100 mA ± 10 %"
    assert words["rail.3v3.window"] == "3.3 V ± 20 %"
    assert "board.consumers" not in words


# ---- opening a calculator --------------------------------------------------------------------


def test_a_calculator_opens_with_what_is_known_and_says_where_from(bench: Bench) -> None:
    bench.save("sum-of-loads", I="100 mA")
    opened = Ledger(bench.state).opened("series-resistor", "3v3", {"R": "12 Ω"})
    origins = {reading.field: reading.origin for reading in opened.inputs.readings()}
    assert origins == {
        "V_in": "brief",
        "I": "ledger",
        "R": "hand",
        "V_least": "default",
        "P_most": "default",
    }


def test_what_a_hand_typed_stays_beside_what_the_ledger_says(bench: Bench) -> None:
    bench.save("sum-of-loads", I="100 mA")
    bench.save("series-resistor", "3v3", I="50 mA")
    bench.save("sum-of-loads", I="120 mA")
    saved = bench.state.calculations["series-resistor@3v3"]
    assert saved.record.inputs["I"].typ == 0.05
    assert saved.record.inputs["I"].beside == "100 mA"
    opened = Ledger(bench.state).calculation("series-resistor@3v3")
    assert opened.inputs.reading("I").beside == "120 mA"


# ---- loops -----------------------------------------------------------------------------------


class _Left(Calculator, name="left-of-loop", title="Left", per="board", source="none"):
    A = Quantity("V", "a", default="1 V", ledger="loop.b")
    B = Quantity("V", "b", default="2 V")

    @output("V", "out", publishes="loop.a")
    def out(self) -> Array:
        return self.A + self.B

    @output("V", "apart", publishes="loop.apart")
    def apart(self) -> Array:
        return self.B * 1.0

    @limit("Something", unit="V")
    def something(self) -> Bound:
        return above(self.out, 0.5)


class _Right(Calculator, name="right-of-loop", title="Right", per="board", source="none"):
    A = Quantity("V", "a", default="1 V", ledger="loop.a")
    C = Quantity("V", "c", default="1 V", ledger="loop.apart")

    @output("V", "out", publishes="loop.b")
    def out(self) -> Array:
        return self.A * 1.0

    @output("V", "apparent", publishes="loop.d")
    def apparent(self) -> Array:
        return self.C * 1.0

    @limit("Something", unit="V")
    def something(self) -> Bound:
        return above(self.out, 0.5)


@pytest.fixture
def loop(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> Bench:
    """Two calculations of which each takes from the other."""
    for kind in (_Left, _Right):
        monkeypatch.setitem(calculators(), kind.name, kind)
    bench.save("left-of-loop")
    return bench


def test_a_loop_that_is_only_apparent_does_not_close(loop: Bench) -> None:
    loop.session.do(SaveCalculation("right-of-loop"))
    assert value(loop, "loop.d") == pytest.approx(2)
    assert value(loop, "loop.apart") == pytest.approx(2)


def test_a_true_loop_comes_to_an_end_and_is_said(loop: Bench) -> None:
    loop.session.do(SaveCalculation("right-of-loop"))
    assert value(loop, "loop.b") is None
    stale = loop.state.calculations["right-of-loop"].stale
    assert stale == "loop.a is missing, which left-of-loop gave."


# ---- the real ones ---------------------------------------------------------------------------


def test_what_one_real_calculator_finds_the_next_one_takes(begin: Begin) -> None:
    bench = begin(load_brief("usb-bench-meter"))
    bench.save("load-budget")
    bench.save("linear-regulator", "3v3")
    budget = bench.state.calculations["load-budget"].record
    regulator = bench.state.calculations["linear-regulator@3v3"].record
    assert regulator.inputs["I_out"].owner == "load-budget"
    assert regulator.inputs["I_out"].max == budget.published["rail.3v3.peak"].high
    assert regulator.inputs["V_out"].text == "3.3 V ± 3 %"


def test_a_dropped_feature_eases_the_load_of_the_board(begin: Begin) -> None:
    bench = begin(load_brief("usb-bench-meter"))
    bench.save("load-budget")
    before = value(bench, "rail.3v3.peak")
    bench.do(DropFeature("show"))
    after = value(bench, "rail.3v3.peak")
    assert isinstance(before, float)
    assert isinstance(after, float)
    assert before - after == pytest.approx(0.025)  # the display's peak, from the brief


def test_a_rail_that_becomes_switching_takes_less_from_its_parent(begin: Begin) -> None:
    bench = begin(load_brief("usb-bench-meter"))
    bench.save("load-budget")
    before = value(bench, "rail.vbus.peak")
    bench.do(SetFact("regulator", "switching", "3v3"))
    after = value(bench, "rail.vbus.peak")
    assert isinstance(before, float)
    assert isinstance(after, float)
    assert after < before


def test_a_limit_that_is_new_with_a_rail_can_get_worse_too(begin: Begin) -> None:
    bench = begin(load_brief("usb-bench-meter"))
    bench.save("load-budget")
    bench.do(
        AddSubject("5v", "rail", "vbus", facts={"regulator": "switch"}, values={"current": "10 mA"})
    )
    bench.do(AddSubject("fan", "load", "5v", values={"typical": "50 mA", "peak": "80 mA"}))
    assert "There is no rail '5v'" in bench.state.calculations["load-budget"].stale
    events = bench.events(DeclareValue("rail.5v.window", "5 V"))
    (again,) = [event for event in events if isinstance(event, CalculationRecomputed)]
    assert (again.id, again.held) == ("load-budget", False)
    assert "fail" in again.message
    bench.do(DropSubject("fan"))
    assert bench.state.calculations["load-budget"].record.verdict != "fail"
