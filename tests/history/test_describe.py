"""A journal in words: every kind of event has its sentence, by statements and titles, not ids."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from coach.history.describe import described, outcome
from coach.sprint.brief.loading import load_brief
from coach.sprint.clock import ManualClock
from coach.sprint.commands import Dismiss, EnterPhase, Meet, SaveCalculation, Undo, Waive
from coach.sprint.durations import duration, elapsed
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
from coach.sprint.events.event import Event, Stamped, kinds
from coach.sprint.events.items import ItemDeferred, ItemMet, ItemReopened, ItemTakenUp, ItemWaived
from coach.sprint.events.naming import Naming
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
from coach.sprint.events.summary import ItemOutcome, SummedUp
from coach.sprint.fold import begin, fold
from coach.sprint.session import Session, start_sprint
from coach.sprint.setup import Setup, setup_of
from tests.rehearsals import HOUR, Rehearsals

NOW = datetime(2031, 5, 5, 9, 0, tzinfo=UTC)
CC = "cc-pull-downs@j-usb"


@pytest.fixture
def setup() -> Setup:
    return setup_of(load_brief("usb-bench-meter"), NOW)


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    path = tmp_path / "sprint.toml"
    with start_sprint(load_brief("usb-bench-meter"), path, ManualClock(NOW)) as session:
        yield session


def limit(name: str, verdict: str, says: str) -> dict[str, Any]:
    return {"name": name, "title": name, "verdict": verdict, "unit": "K", "message": says}


RECORD: dict[str, Any] = {
    "calculator": "linear-regulator",
    "version": 1,
    "subject": "3v3",
    "inputs": {},
    "outputs": {},
    "limits": [
        limit("headroom", "pass", "Headroom 1 V, at least 300 mV."),
        limit("junction", "fail", "Junction 131 °C, limit 125 °C."),
    ],
}
HELD = {**RECORD, "limits": RECORD["limits"][:1]}

TOLD: list[tuple[Event, str]] = [
    (Started(), "The sprint began: USB bench meter."),
    (CoachClosed(), "The coach was closed; the sprint went on."),
    (
        Resumed(gap=312.0),
        "The coach was opened again, 5 min after the last event.",
    ),
    (
        TailCut(size=1, kept_in="a.toml.tail-1"),
        "Damaged end (1 byte) removed; saved in a.toml.tail-1.",
    ),
    (
        EditAccepted(blocks=(7, 9)),
        "The journal had been edited and was taken as it is: block 7, 9.",
    ),
    (
        ClockStepped(seconds=-3600.0, kind="step", deadline=7200.0),
        "The wall clock was set back by 1 h.",
    ),
    (
        ClockStepped(seconds=90.0, kind="sleep", deadline=7200.0),
        "The machine slept for 2 min.",
    ),
    (
        CutOffMoved(deadline=8400.0, message="Cut-off now 11:20, +20 min", why="a strike"),
        "Cut-off now 11:20, +20 min. Reason: a strike.",
    ),
    (Interrupted(since=3700.0), "Interruption from 1:02, not counted."),
    (
        CallMade(cause="half", message="Half the time is gone."),
        "Call: Half the time is gone.",
    ),
    (
        CallMade(cause="half", message="Half the time is gone", rings=False),
        "Call (silent): Half the time is gone.",
    ),
    (
        ForecastMade(
            checkpoint=50,
            chance_essentials=0.624,
            chance_all=0.41,
            expected=6900.0,
            low=6120.0,
            high=7800.0,
            pace=1.4,
            draws=20_000,
            seed=1,
        ),
        "Forecast, at 50 % of the time: all essentials by the cut-off 6 in 10, everything 4 in 10; "
        "done at 1:42 to 2:10, expected 1:55.",
    ),
    (
        ForecastMade(
            because="forecast fallen",
            chance_essentials=0.5,
            chance_all=0.0,
            expected=7200.0,
            low=7200.0,
            high=7200.0,
            pace=1.0,
            draws=20_000,
            seed=1,
        ),
        "Forecast, forecast fallen: all essentials by the cut-off 5 in 10, "
        "everything under 1 in 20; done at 2:00 to 2:00, expected 2:00.",
    ),
    (
        HabitsRecalled(items={"supply-contacts": (3, 8), "legend-size": (2, 5)}),
        "Forgotten in earlier sprints, asked first: {supply-contacts} (3 of 8); {legend-size} "
        "(2 of 5).",
    ),
    (
        PointMeasured(
            board="2",
            point="rail.3v3.voltage",
            title="Main supply",
            text="3.52 V",
            value=3.52,
            unit="V",
            low=3.2,
            high=3.4,
            verdict="outside",
        ),
        "Board 2, Main supply: 3.52 V, outside what was expected.",
    ),
    (
        PointMeasured(board="2", point="look", title="Look", text="nothing", verdict="noted"),
        "Board 2, Look: nothing.",
    ),
    (
        MeasurementWithdrawn(board="2", point="look-first"),
        "Board 2, reading at look first: undone.",
    ),
    (
        FindingNoted(
            number=1,
            fault="R5 is 10 kΩ",
            item="legend-size",
            board="2",
            minutes=25.0,
            bodge="1 kΩ on top",
        ),
        "Found late on board 2: R5 is 10 kΩ. Let through by: {legend-size}. It cost 25 min. "
        "Bodge: 1 kΩ on top.",
    ),
    (
        FindingNoted(number=2, fault="The fan hums"),
        "Found late: The fan hums. No item asks for it.",
    ),
    (FindingWithdrawn(number=2), "Finding 2 undone."),
    (
        FindingMadeItem(number=1, item="r5-value", kept_in="house-rules.toml"),
        "Finding 1 became the item r5-value, kept in house-rules.toml.",
    ),
    (Quieted(quiet=True), "Calls muted."),
    (Undone(command=3, message="item waived"), "Undone: item waived."),
    (
        SummedUp(
            ended_at=1.0,
            deadline=2.0,
            accepted=True,
            items=(ItemOutcome(("a", "b"), here=1, due=1, forgotten=1), ItemOutcome(("c",), due=2)),
        ),
        "Summed up: 2 essentials were forgotten, of 4 that were due.",
    ),
    (Ended(accepted=True), "The order was accepted and paid."),
    (Ended(accepted=False), "The sprint ended without an order."),
    (PhaseEntered(phase="regulation"), "Entered regulation."),
    (
        PhaseEntered(phase="closing", previous="power-entry", skipped=(CC,)),
        "Entered closing list. Left power entry with 1 essential open.",
    ),
    (PhaseSignedOff(phase="debug-access"), "Signed off: debug access."),
    (PhaseDrawn(phase="layout"), "Marked as drawn before the sprint: layout."),
    (StageReached(stage="routing"), "Stage reached: routing."),
    (Walked(of="placement", asked=5, closed=4), "Walk of placement: 4 of 5 closed."),
    (Walked(of="last", asked=5, closed=4), "Last walk: 4 of 5 closed."),
    (StepByStepSet(phase="layout", on=True), "Step by step on for layout."),
    (
        ItemMet(item=CC, evidence="data sheet", page="page 4", marginal=True),
        "Met (data sheet, page 4): Each CC pin has its own 5.1 kΩ pull-down (USB-C receptacle). "
        "It is marginal.",
    ),
    (
        ItemMet(item="supply-contacts", evidence="measured", figure="5.02 V"),
        "Met (measured): Supply connector pinout matches its data sheet drawing. 5.02 V.",
    ),
    (
        ItemMet(item="supply-contacts", evidence="inspected", restored=True),
        "Met again, as before: Supply connector pinout matches its data sheet drawing.",
    ),
    (
        ItemWaived(item="legend-size", reason="prototype"),
        "Waived: {legend-size}. Reason: prototype.",
    ),
    (
        ItemReopened(item="legend-size", because="by hand"),
        "Reopened: {legend-size}. Because: by hand.",
    ),
    (
        ItemReopened(item="legend-size", because="a part was moved", doubt=True),
        "Reopened, to be confirmed: {legend-size}. Because: a part was moved.",
    ),
    (ItemDeferred(item="legend-size"), "Deferred: {legend-size}."),
    (ItemTakenUp(item="legend-size"), "Taken up again: {legend-size}."),
    (
        FactSet(subject="3v3", fact="regulator", value="switching"),
        "Main supply: {regulator} Switching.",
    ),
    (FactSet(fact="usb_data", value=False), "{usb_data} No."),
    (FactSet(fact="long_gone", value=2.0), "long gone: 2."),
    (
        ValueDeclared(name="board.ambient", value="20 °C"),
        "Changed in the brief: board.ambient is now 20 °C.",
    ),
    (
        ValueDeclared(name="board.consumers", value=({"a": "b"},)),
        "Changed in the brief: board.consumers is now 1 row.",
    ),
    (ChangeNoted(change="placement"), "Noted: A part was moved."),
    (
        SubjectAdded(id="5v", kind="rail", title="Supply of the fan"),
        "Added to the board: Supply of the fan, a rail.",
    ),
    (SubjectDropped(id="3v3a"), "Taken off the board: Analogue supply, behind a filter."),
    (FeatureDropped(feature="show"), "Dropped: Readings on a display."),
    (FeatureRestored(feature="show"), "Back again: Readings on a display."),
    (
        CalculationSaved(id="linear-regulator@3v3", record=RECORD),
        "Calculated: linear regulator (Main supply). Fails: Junction 131 °C, limit 125 °C.",
    ),
    (
        CalculationSaved(id="strap.boot1", record=HELD),
        "Calculated: strap, boot1. All limits pass.",
    ),
    (
        CalculationRecomputed(
            id="linear-regulator@3v3.hot",
            because="V_in 5 V -> 6 V",
            held=True,
            message="held again",
            record=RECORD,
        ),
        "Run again: linear regulator, hot (Main supply), because V_in 5 V -> 6 V: held again.",
    ),
    (
        CalculationStale(id="strap", missing="The card is gone"),
        "Cannot be run again: strap. The card is gone.",
    ),
    (CalculationRemoved(id="strap"), "Calculation removed: strap."),
    (
        PartDrawn(id="strap", role="R", words="10 kΩ BOOT to ground"),
        "Drawn: 10 kΩ BOOT to ground.",
    ),
    (NoteParked(number=1, text="ask\nfor  the cable"), "Parked: ask for the cable."),
    (NoteSettled(number=1), "Note 1 done."),
]


@pytest.mark.parametrize(("event", "says"), TOLD, ids=lambda value: getattr(value, "what", ""))
def test_each_event_is_told_in_a_sentence(setup: Setup, event: Event, says: str) -> None:
    from phases.kit.facts import load_facts

    statements = {key: item.statement for key, item in setup.items.items()}
    questions = {key: fact.question for key, fact in load_facts().items()}
    for key, words in {**statements, **questions}.items():
        says = says.replace(f"{{{key}}}", words)
    assert [one.message for one in described(setup, [Stamped(1, NOW, 0.0, 0, event)])] == [says]


def test_no_kind_of_event_is_left_out(setup: Setup) -> None:
    assert {type(event) for event, _ in TOLD} == set(kinds().values())


def test_an_item_or_phase_of_another_project_is_told_by_its_id(setup: Setup) -> None:
    names = Naming(setup)
    met = ItemMet(item="heat-pipe@cpu", evidence="inspected")
    assert met.told(names) == "Met (inspected): heat pipe (cpu)."
    assert PhaseSignedOff(phase="painting").told(names) == "Signed off: painting."


def test_a_subject_that_was_added_is_told_by_its_title(setup: Setup) -> None:
    added = SubjectAdded(id="5v", kind="rail", title="Supply of the fan")
    history = [Stamped(1, NOW, 0.0, 1, added), Stamped(2, NOW, 0.0, 2, SubjectDropped(id="5v"))]
    says = [one.message for one in described(setup, history)]
    assert says[1] == "Taken off the board: Supply of the fan."


def test_a_record_cannot_bring_an_escape_sequence_to_the_screen(setup: Setup) -> None:
    plain = {
        **RECORD,
        "limits": [{**RECORD["limits"][1], "message": "\x1b]0;title\x07Junction hot"}],
    }
    saved = CalculationSaved.model_validate({"id": "strap", "record": plain})
    assert saved.told(Naming(setup)) == "Calculated: strap. Fails: Junction hot."


def test_what_was_taken_back_is_told_and_marked(session: Session) -> None:
    session.do(Waive("supply-contacts", "the wrong row"))
    session.do(Undo())
    lines = [told.line for told in described(session.setup, session.history)]
    assert lines[-2].endswith("Reason: the wrong row. (undone later)")
    assert lines[-1].startswith(" 0:00  Undone: Waived: ")
    assert lines[-1].endswith("Reason: the wrong row.")
    assert sum("undone later" in line for line in lines) == 1


def test_the_summary_counts_essentials_and_names_the_open_ones(session: Session) -> None:
    rows = [row for row in session.state.rows if row.essential and row.item.phase != "closing"]
    away = sum(row.status == "not on this board" for row in rows)
    session.do(EnterPhase("power-entry"))
    session.do(Meet("supply-contacts"))
    session.do(Waive("linear-heat@3v3", "no room"))
    session.do(Dismiss("strap-not-disturbed"))
    session.do(SaveCalculation("linear-regulator", "3v3", given={"I_out": "500 mA"}))
    lines = outcome(session.state)
    still = len(rows) - away - 3
    assert f"Essentials: 1 met, 1 waived, {still} open; {away + 1} not on this board." in lines
    assert sum(line.startswith("Open: ") for line in lines) == still
    assert "1 calculation saved, 1 of them failing." in lines
    assert lines[0] == "Still running, 2 h before the cut-off: nothing here is final."


def test_the_end_is_told_against_the_cut_off(rehearsed_once: Rehearsals) -> None:
    report = rehearsed_once("orchard-radio-tag", seed=1, pace=1.0, forget=0.0, patience=6 * HOUR)
    assert report.accepted
    spare = duration(report.deadline - report.elapsed)
    first = outcome(report.state)[0]
    assert first == f"The order was accepted and paid {spare} before the cut-off."
    assert "A simulated engineer's sprint." in outcome(report.state)


def test_a_sprint_that_ended_late_says_by_how_much(setup: Setup) -> None:
    ended = Stamped(1, NOW, setup.deadline + 300.0, 1, Ended(accepted=False))
    said = "The sprint ended without an order 5 min after the cut-off."
    assert outcome(fold(setup, [ended]))[0] == said


def test_nothing_but_a_beginning_can_be_told_too(setup: Setup) -> None:
    assert described(setup, []) == []
    assert outcome(begin(setup))[0].startswith("Still running, 2 h before the cut-off")


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0.0, "0:00"),
        (29.0, "0:00"),
        (59.9, "0:01"),
        (60.0, "0:01"),
        (3569.0, "0:59"),
        (3599.0, "1:00"),
        (36000.0, "10:00"),
        (-5.0, "0:00"),
    ],
)
def test_elapsed_time_is_told_to_the_nearest_minute(seconds: float, words: str) -> None:
    assert elapsed(seconds) == words


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0.0, "0 s"),
        (59.0, "59 s"),
        (59.7, "1 min"),
        (-125.0, "2 min"),
        (3570.0, "1 h"),
        (4980.0, "1 h 23 min"),
    ],
)
def test_a_span_of_time_is_told_to_the_minute(seconds: float, words: str) -> None:
    assert duration(seconds) == words
