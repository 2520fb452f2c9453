"""The fold: events to state, and nothing but events; each of them survives the journal."""

from __future__ import annotations

import copy
import tomllib
from datetime import UTC, datetime, timedelta

import pytest

from coach.sprint.commands import EnterPhase, Meet, SetFact, Undo
from coach.sprint.events.afterwards import (
    FindingMadeItem,
    FindingNoted,
    FindingWithdrawn,
    MeasurementWithdrawn,
    PointMeasured,
)
from coach.sprint.events.board import (
    ChangeNoted,
    FactSet,
    FeatureDropped,
    FeatureRestored,
    SubjectAdded,
    SubjectDropped,
    ValueDeclared,
)
from coach.sprint.events.calculations import (
    CalculationRecomputed,
    CalculationRemoved,
    CalculationSaved,
    CalculationStale,
    PartDrawn,
)
from coach.sprint.events.event import Event, Stamped, kinds, stamped
from coach.sprint.events.items import ItemDeferred, ItemMet, ItemReopened, ItemTakenUp, ItemWaived
from coach.sprint.events.phases import (
    PhaseDrawn,
    PhaseEntered,
    PhaseSignedOff,
    StageReached,
    StepByStepSet,
    Walked,
)
from coach.sprint.events.run import (
    CallMade,
    ClockStepped,
    CoachClosed,
    CutOffMoved,
    EditAccepted,
    Ended,
    ForecastMade,
    HabitsRecalled,
    Interrupted,
    NoteParked,
    NoteSettled,
    Quieted,
    Resumed,
    Started,
    TailCut,
    Undone,
)
from coach.sprint.events.summary import (
    ForecastOutcome,
    ItemOutcome,
    LateFinding,
    PhaseOutcome,
    SummedUp,
)
from coach.sprint.fold import begin as nothing_yet
from coach.sprint.fold import fold, step
from coach.sprint.journal.writing import event_block
from coach.sprint.setup import Setup
from coach.sprint.state import OPEN
from phases.kit.record import Record
from phases.kit.refusals import Refusal
from tests.sprint.conftest import NINE, Bench, bench_setup
from tests.sprint.lamp import CLOSING, PHASES, lamp_brief

RECORD = Record.model_validate(
    {
        "calculator": "pull-up",
        "version": 1,
        "inputs": {"R": {"text": "10 kΩ", "min": 1e4, "typ": 1e4, "max": 1e4, "origin": "hand"}},
        "outputs": {
            "V": {
                "min": 3.2,
                "typ": 3.3,
                "max": 3.4,
                "unit": "V",
                "title": "level",
                "published": "rail.3v3.voltage",
            }
        },
        "limits": [
            {
                "name": "reached",
                "title": "Level",
                "verdict": "pass",
                "share": 0.3,
                "unit": "V",
                "message": "It holds.",
            }
        ],
        "parts": [{"role": "R", "what": "10 kΩ", "where": "BOOT to 3v3", "count": 1}],
    }
)

EVENTS: tuple[Event, ...] = (
    Started(),
    Resumed(gap=61.5),
    CoachClosed(),
    TailCut(size=12, kept_in="sprint.toml.tail-1"),
    EditAccepted(blocks=(3, 7)),
    ClockStepped(seconds=-3.25, kind="step", deadline=7203.25, shift=3.25),
    CutOffMoved(deadline=8400.0, message="Cut-off now 11:20", why="[/]", at_an_instant=True),
    Interrupted(since=0.0),
    CallMade(cause="half", message="Half.", items=("a", "b@c"), rings=False),
    ForecastMade(
        checkpoint=25,
        because="forecast fallen",
        chance_essentials=0.62,
        chance_all=0.41,
        expected=6900.5,
        low=6100.0,
        high=7800.0,
        costliest="layout",
        pace=1.4,
        draws=20_000,
        seed=1,
    ),
    HabitsRecalled(items={"output-seen": (3, 8), "debug-pins": (2, 5)}),
    Quieted(quiet=True),
    PointMeasured(
        board="B07",
        point="rail.3v3.voltage",
        title="Main supply",
        text="3.31 V",
        value=3.31,
        unit="V",
        low=3.2,
        high=3.4,
        verdict="inside",
    ),
    PointMeasured(board="1", point="look", title="Look", text="[bold] all there", verdict="noted"),
    MeasurementWithdrawn(board="1", point="look"),
    FindingNoted(
        number=1, fault="R5 is 10 kΩ", item="debug-pins", board="2", minutes=25.0, bodge="[/] R5"
    ),
    FindingMadeItem(number=1, item="r5-value", kept_in="house-rules.toml"),
    FindingWithdrawn(number=1),
    Undone(command=4, message="item met"),
    Ended(accepted=True, message="accepted and paid"),
    SummedUp(
        ended_at=7000.0,
        deadline=7200.0,
        accepted=True,
        pace=(0.26, 0.1),
        items=(ItemOutcome(("debug-pins", "capacitors"), here=1, due=1, forgotten=1, open=1),),
        phases=(
            PhaseOutcome("layout", "layout", 600.0, 700.5, True),
            PhaseOutcome("", "x", 1.0, 0.0),
        ),
        forecasts=(ForecastOutcome(25, 0.9, True), ForecastOutcome(50, 0.4, False, True, 12.5)),
        findings=(LateFinding("Lead too thin"), LateFinding("R5", "debug-pins", 25.0, "r5-value")),
    ),
    PhaseEntered(phase="layout", previous="regulation", skipped=("output-seen@3v3",)),
    PhaseSignedOff(phase="layout"),
    PhaseDrawn(phase="power-entry"),
    StageReached(stage="placement"),
    Walked(of="schematic", asked=9, closed=7),
    StepByStepSet(phase="layout", on=True),
    ItemMet(
        item="output-seen@3v3",
        evidence="data sheet",
        page="page 3",
        figure="3.31 V",
        marginal=True,
        auto=True,
        depends_on={"rail.3v3.voltage": "4 V", "change:netlist": "1"},
    ),
    ItemWaived(item="debug-pins", reason='"[[event]]"\n# check', depends_on={"fact:a@b": "c"}),
    ItemReopened(item="debug-pins", because="by hand", doubt=True),
    ItemDeferred(item="rail-indicator@3v3"),
    ItemTakenUp(item="rail-indicator@3v3"),
    FactSet(subject="3v3", fact="regulator", value="linear"),
    ValueDeclared(name="board.consumers", value=({"consumer": "mcu", "rail": "3v3"},)),
    ChangeNoted(change="netlist"),
    SubjectAdded(id="5v", kind="rail", parent="vin", title="Lamp supply"),
    SubjectDropped(id="uart1"),
    FeatureDropped(feature="talk"),
    FeatureRestored(feature="talk", forgotten=("console",)),
    CalculationSaved(id="pull-up", record=RECORD),
    CalculationRecomputed(
        id="pull-up", because="V 3.3 V -> 3.2 V", held=True, message="held again", record=RECORD
    ),
    CalculationStale(id="pull-up", missing="rail.3v3.voltage is missing"),
    CalculationRemoved(id="pull-up"),
    PartDrawn(id="pull-up", role="R", words="10 kΩ BOOT to 3v3"),
    NoteParked(number=1, text="is J1 keyed?\nask"),
    NoteSettled(number=1),
)


@pytest.fixture
def setup() -> Setup:
    return bench_setup(lamp_brief(), phases=PHASES, closing=CLOSING)


def line_of(*events: Event, by: int = 0, every: float = 60.0) -> list[Stamped]:
    """Events one after the other, a minute apart."""
    return [
        Stamped(n, NINE + timedelta(seconds=n * every), n * every, by, event)
        for n, event in enumerate(events, start=1)
    ]


# ---- every event -----------------------------------------------------------------------------


def test_there_is_an_example_of_every_event() -> None:
    ours = {kind for kind in kinds().values() if kind.__module__.startswith("coach.")}
    assert {type(event) for event in EVENTS} == ours


@pytest.mark.parametrize("event", EVENTS, ids=lambda event: type(event).__name__)
def test_an_event_comes_back_from_the_journal_as_it_was(event: Event) -> None:
    one = Stamped(7, datetime(2031, 5, 5, 9, 1, 2, 345678, UTC), 62.345, 3, event)
    plain = one.to_plain()
    assert stamped(plain) == one
    read = tomllib.loads(event_block(plain).decode("utf-8"))["event"][0]
    assert stamped(read) == one


@pytest.mark.parametrize("event", EVENTS, ids=lambda event: type(event).__name__)
def test_the_fold_knows_every_event_and_leaves_the_state_before_it_alone(
    setup: Setup, event: Event
) -> None:
    before = fold(setup, line_of(*EVENTS))
    kept = copy.deepcopy(before)
    after = step(before, Stamped(99, NINE, 9000.0, 0, event))
    assert before == kept
    assert after.t == 9000.0


def test_the_fold_of_events_is_the_steps_one_by_one(setup: Setup) -> None:
    state = nothing_yet(setup)
    events = [one for one in line_of(*EVENTS) if not isinstance(one.event, Undone)]
    for count, one in enumerate(events, start=1):
        state = step(state, one)
        assert fold(setup, events[:count]) == state


@pytest.mark.parametrize(
    "spoilt",
    [
        {"what": "sung"},
        {"what": None},
        {"item": 3},
        {"extra": "key"},
        {"evidence": "hearsay"},
        {"at": "nine"},
        {"at": datetime(2031, 5, 5, 9, 0)},
        {"t": "soon"},
        {"t": float("nan")},
        {"n": None},
        {"by": float("inf")},
    ],
)
def test_what_is_no_event_of_ours_is_refused_in_a_sentence(spoilt: dict[str, object]) -> None:
    event = ItemMet(item="debug-pins", evidence="inspected")
    plain = {**Stamped(1, NINE, 0.0, 1, event).to_plain(), **spoilt}
    with pytest.raises(Refusal) as refused:
        stamped(plain, where="sprint.toml")
    assert "is not one this coach knows" in str(refused.value)
    assert str(refused.value).startswith("sprint.toml: Event ")


# ---- the beginning ---------------------------------------------------------------------------


def test_before_anything_happened_the_brief_is_known_and_nothing_is_closed(setup: Setup) -> None:
    state = nothing_yet(setup)
    assert state.deadline == 7200
    assert list(state.subjects) == ["vin", "3v3", "1v8", "uart1", "j1", "main", "mcu", "lamp"]
    assert state.knowledge.get("regulator", "3v3") == "linear"
    assert state.knowledge.get("cc_in_part") is False  # the trade's safe assumption
    assert state.stages == {"schematic"}
    assert {row.status for row in state.rows if row.applies is not False} == {OPEN}


def test_the_fold_of_nothing_is_the_beginning(setup: Setup) -> None:
    assert fold(setup, []) == nothing_yet(setup)


# ---- time ------------------------------------------------------------------------------------


def test_time_goes_to_the_phase_that_was_worked_in(setup: Setup) -> None:
    events = line_of(
        PhaseEntered(phase="layout"),
        ChangeNoted(change="netlist"),
        PhaseEntered(phase="labelling", previous="layout"),
        ChangeNoted(change="netlist"),
    )
    assert fold(setup, events).used == {"": 60.0, "layout": 120.0, "labelling": 60.0}


def test_the_time_it_was_closed_is_nobodys(setup: Setup) -> None:
    events = line_of(PhaseEntered(phase="layout"), Resumed(gap=50.0))
    assert fold(setup, events).used == {"": 60.0, "layout": 10.0}


def test_time_never_runs_backwards(setup: Setup) -> None:
    one, two = line_of(Started(), ChangeNoted(change="netlist"))
    state = fold(setup, [two, one])
    assert (state.t, state.used) == (120.0, {"": 120.0})


def test_a_command_that_was_taken_back_still_took_its_time(setup: Setup) -> None:
    met = ItemMet(item="debug-pins", evidence="inspected")
    entered, ticked = line_of(PhaseEntered(phase="layout"), met, by=1)
    taken_back = Stamped(3, NINE, 180.0, 2, Undone(command=1, message="both"))
    state = fold(setup, [entered, ticked, taken_back])
    assert (state.phase, state.items) == ("", {})
    assert state.used == {"": 180.0}


def test_undone_events_are_void_but_for_calls_walks_the_clock_and_the_end() -> None:
    never = (
        CallMade,
        ClockStepped,
        Ended,
        Undone,
        Walked,
    )
    for event in EVENTS:
        (one,) = line_of(event, by=4)
        assert one.is_void({4}) is not isinstance(event, never)
        assert not one.is_void({3})
        assert not Stamped(1, NINE, 0.0, 0, event).is_void({0, 4})


# ---- late ------------------------------------------------------------------------------------


def test_what_is_closed_after_its_phase_was_left_is_late(bench: Bench) -> None:
    bench.do(EnterPhase("debug-access"))
    bench.do(EnterPhase("layout"))
    bench.do(Meet("debug-pins"))
    bench.do(Meet("capacitors"))  # its phase was never entered
    assert bench.state.items["debug-pins"].late
    assert not bench.state.items["capacitors"].late


def test_what_is_closed_when_one_came_back_to_its_phase_is_not(bench: Bench) -> None:
    bench.do(EnterPhase("debug-access"))
    bench.do(EnterPhase("layout"))
    bench.do(EnterPhase("debug-access"))
    bench.do(Meet("debug-pins"))
    assert not bench.state.items["debug-pins"].late


def test_late_is_one_function_of_the_event_and_a_cut_off(bench: Bench) -> None:
    bench.at(100)
    [met] = bench.events(Meet("capacitors"))
    assert isinstance(met, ItemMet)
    assert (met.deadline, met.behind) == (7200.0, False)
    assert not met.late(7200.0)
    assert met.late(7200.5)
    assert met.late(6000.0, deadline=5400.0), "an exercise has a cut-off common to all"
    bench.at(121)
    bench.do(Meet("debug-pins"))
    assert bench.state.items["debug-pins"].late


# ---- a journal that was edited by hand -------------------------------------------------------


def test_events_about_what_is_not_there_do_no_harm(setup: Setup) -> None:
    state = fold(
        setup,
        line_of(
            CalculationStale(id="nothing", missing="x"),
            CalculationRemoved(id="nothing"),
            ItemMet(item="garden-gate", evidence="inspected"),
            ItemReopened(item="garden-gate@3v3", because="x"),
            ItemMet(item="pond", evidence="inspected", restored=True),
            SubjectDropped(id="nothing"),
            FeatureRestored(feature="nothing"),
        ),
    )
    assert state.calculations == {}
    assert state.rows
    assert "garden-gate" not in state.by_key


# ---- what the rules may not do ---------------------------------------------------------------


def test_a_state_that_was_taken_out_stays_as_it_was(bench: Bench) -> None:
    bench.save("series-resistor", "3v3")
    bench.do(Meet("output-seen@3v3"))
    before, kept = bench.state, copy.deepcopy(bench.state)
    bench.save("sum-of-loads", I="300 mA")
    bench.draw_all()
    bench.do(SetFact("regulator", "switching", "3v3"))
    bench.do(Undo())
    assert before == kept
