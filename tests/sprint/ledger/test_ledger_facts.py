"""Who gives a rail its voltage is a fact; until somebody does, what was declared stands in."""

from __future__ import annotations

import pytest

from coach.sprint.brief.loading import load_brief
from coach.sprint.commands import DeclareValue, DropFeature, RemoveCalculation, SetFact, Undo
from coach.sprint.events.calculations import CalculationRecomputed
from coach.sprint.ledger.brief_values import board_values
from coach.sprint.ledger.known_values import known_values
from coach.sprint.ledger.ledger import Ledger
from phases.kit.inputs import Supply
from tests.sprint.conftest import Begin, Bench

RAIL = "rail.3v3.voltage"


@pytest.fixture
def meter(begin: Begin) -> Bench:
    """The USB bench meter: 3.3 V from USB by a linear regulator."""
    return begin(load_brief("usb-bench-meter"))


@pytest.fixture
def pump(begin: Begin) -> Bench:
    """The pump driver: 5 V from 10 to 28 V by a converter, 3.3 V from 5 V by a linear regulator."""
    return begin(load_brief("pump-driver-24v"))


def supply(bench: Bench, name: str) -> Supply:
    found = Ledger(bench.state).lookup(name)
    assert found is not None
    return found


def owner(bench: Bench, name: str) -> str:
    return supply(bench, name).owner


def both(bench: Bench) -> None:
    """A linear regulator and a converter, both computed for the same rail."""
    bench.save("linear-regulator", "3v3", V_out="3.3 V ± 1 %")
    bench.save("step-down", "3v3", V_out="3.3 V ± 4 %")


# ---- what stands in --------------------------------------------------------------------------


def test_the_window_stands_in_for_the_voltage_set_until_a_divider_sets_it(pump: Bench) -> None:
    assert owner(pump, "rail.5v.set_voltage") == "brief"
    assert supply(pump, "rail.5v.set_voltage").value == "5 V ± 3 %"
    pump.save("feedback-divider", "5v")
    assert owner(pump, "rail.5v.set_voltage") == "feedback-divider@5v"
    assert supply(pump, "rail.5v.window").value == "5 V ± 3 %"
    pump.do(RemoveCalculation("feedback-divider@5v"))
    assert owner(pump, "rail.5v.set_voltage") == "brief"


def test_what_the_source_gives_stands_in_for_what_may_be_taken(meter: Bench) -> None:
    given = board_values(meter.state)["source.current"]
    assert supply(meter, "source.allowed") == Supply(given, "brief", "brief")
    meter.save("load-budget")
    assert meter.state.calculations["load-budget"].record.inputs["I_source"].text == given
    meter.save(
        "type-c-sink", next(s.id for s in meter.state.subjects.values() if s.kind == "connector")
    )
    assert owner(meter, "source.allowed").startswith("type-c-sink@")


# ---- who makes the rail ----------------------------------------------------------------------


def test_of_two_that_could_make_a_rail_the_fact_names_one(meter: Bench) -> None:
    both(meter)
    assert owner(meter, RAIL) == "linear-regulator@3v3"
    assert supply(meter, RAIL).value.high == pytest.approx(3.333)
    meter.do(SetFact("regulator", "switching", "3v3"))
    assert owner(meter, RAIL) == "step-down@3v3"
    assert supply(meter, RAIL).value.high == pytest.approx(3.432)
    assert owner(meter, "rail.3v3.input_current") == "step-down@3v3"


def test_a_rail_that_neither_makes_has_its_window(meter: Bench) -> None:
    both(meter)
    meter.do(SetFact("regulator", "switch", "3v3"))
    assert owner(meter, RAIL) == "brief"
    assert Ledger(meter.state).lookup("rail.3v3.input_current") is None


def test_what_is_not_known_counts_as_yes_and_the_first_gives(begin: Begin) -> None:
    brief = load_brief("usb-bench-meter")
    rails = tuple(
        rail.model_copy(update={"facts": {}}) if rail.id == "3v3" else rail for rail in brief.rails
    )
    bench = begin(brief.model_copy(update={"rails": rails}))
    assert bench.state.knowledge.get("regulator", "3v3") is None
    both(bench)
    assert owner(bench, RAIL) == "linear-regulator@3v3"
    names = [name for name, *_ in Ledger(bench.state).published()]
    assert len(names) == len(set(names))


def test_the_words_and_the_list_of_values_follow_the_fact(meter: Bench) -> None:
    both(meter)

    def listed() -> dict[str, str]:
        return {one.name: one.origin for one in known_values(meter.state) if one.calculated}

    linear, switching = "linear-regulator@3v3", "step-down@3v3"
    assert Ledger(meter.state).texts()[RAIL] == "3.3 V ± 1 %"
    assert listed()[RAIL] == linear
    assert "rail.3v3.ripple" not in listed()
    meter.do(SetFact("regulator", "switching", "3v3"))
    assert Ledger(meter.state).texts()[RAIL] == "3.3 V ± 4 %"
    assert listed()[RAIL] == listed()["rail.3v3.ripple"] == switching
    meter.do(Undo())
    assert Ledger(meter.state).texts()[RAIL] == "3.3 V ± 1 %"
    assert listed()[RAIL] == linear


def test_what_hangs_on_the_rail_is_computed_again_when_the_fact_turns(meter: Bench) -> None:
    both(meter)
    meter.save("output-capacitor", "3v3")
    events = meter.events(SetFact("regulator", "switching", "3v3"))
    again = {event.id for event in events if isinstance(event, CalculationRecomputed)}
    assert "output-capacitor@3v3" in again
    kept = meter.state.calculations["output-capacitor@3v3"].record
    assert kept.inputs["V"].owner == "step-down@3v3"


def test_a_record_says_only_what_was_published_then(meter: Bench) -> None:
    both(meter)
    published = {
        name: set(saved.record.published) for name, saved in meter.state.calculations.items()
    }
    assert published == {
        "linear-regulator@3v3": {RAIL, "rail.3v3.input_current", "rail.3v3.ground_current"},
        "step-down@3v3": set(),
    }


# ---- the whole chain -------------------------------------------------------------------------

CHAIN = (
    ("load-budget", ""),
    ("feedback-divider", "5v"),
    ("step-down", "5v"),
    ("linear-regulator", "3v3"),
    ("output-capacitor", "5v"),
    ("output-capacitor", "3v3"),
    ("regulator-choice", "5v"),
    ("load-switch", "pump"),
)


def figure(bench: Bench, calculation: str, name: str) -> float:
    return float(bench.state.calculations[calculation].record.outputs[name].max)


def test_the_load_of_one_consumer_runs_through_to_heat_at_once(pump: Bench) -> None:
    for name, subject in CHAIN:
        pump.save(name, subject)
    heat = figure(pump, "linear-regulator@3v3", "T_J")
    coil = figure(pump, "step-down@5v", "I_PK")
    rows: list[dict[str, str]] = [dict(row) for row in board_values(pump.state)["board.consumers"]]
    before = next(row for row in rows if row["consumer"] == "Microcontroller")
    before["peak"] = "155 mA"
    events = pump.events(DeclareValue("board.consumers", rows))
    again = {event.id for event in events if isinstance(event, CalculationRecomputed)}
    assert again >= {"load-budget", "linear-regulator@3v3", "step-down@5v", "regulator-choice@5v"}
    assert figure(pump, "linear-regulator@3v3", "T_J") > heat + 10
    assert figure(pump, "step-down@5v", "I_PK") == pytest.approx(coil + 0.1, abs=0.01)
    # Parts that were picked stay picked.
    picks = pump.state.calculations["step-down@5v"].record.picks
    assert picks["L"] == pump.state.calculations["step-down@5v"].record.inputs["L"].text


@pytest.mark.parametrize(
    ("brief", "entry", "name"),
    [("usb-bench-meter", "vbus", "fuse"), ("orchard-radio-tag", "cell", "source-runtime")],
)
def test_the_load_of_one_consumer_runs_through_to_fuse_and_runtime(
    begin: Begin, brief: str, entry: str, name: str
) -> None:
    bench = begin(load_brief(brief))
    bench.save("load-budget")
    bench.save(name, entry)
    rows: list[dict[str, str]] = [dict(row) for row in board_values(bench.state)["board.consumers"]]
    rows[0] |= {"typical": "40 mA", "peak": "90 mA"}
    before = bench.state.calculations[f"{name}@{entry}"].record.inputs
    events = bench.events(DeclareValue("board.consumers", rows))
    again = {event.id for event in events if isinstance(event, CalculationRecomputed)}
    assert again == {"load-budget", f"{name}@{entry}"}
    assert bench.state.calculations[f"{name}@{entry}"].record.inputs != before


def test_the_input_of_the_converter_is_the_declared_window_so_nothing_loops(pump: Bench) -> None:
    for name, subject in CHAIN:
        pump.save(name, subject)
    pump.save("drop-chain", "vin")
    assert all(not saved.stale for saved in pump.state.calculations.values())
    record = pump.state.calculations["step-down@5v"].record
    assert record.inputs["V_in"].ledger == "rail.vin.window"
    assert record.inputs["C_out"].owner == "output-capacitor@5v"
    capacitor = pump.state.calculations["output-capacitor@5v"].record
    assert capacitor.inputs["V"].owner == "step-down@5v"


def test_a_dropped_feature_takes_its_load_out_of_the_chain(pump: Bench) -> None:
    for name, subject in CHAIN:
        pump.save(name, subject)
    heat = figure(pump, "linear-regulator@3v3", "T_J")
    pump.do(DropFeature("field-bus"))
    assert figure(pump, "linear-regulator@3v3", "T_J") < heat
