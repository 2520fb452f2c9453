"""The run itself: the cut-off and how it moves, pauses, clocks that are set, thoughts, the end."""

from __future__ import annotations

import pytest

from coach.sprint.commands import (
    Command,
    End,
    EnterPhase,
    Interrupt,
    Meet,
    MoveCutOff,
    NoteChange,
    Park,
    SetQuiet,
    Settle,
    Undo,
    Waive,
)
from coach.sprint.events.items import ItemMet
from coach.sprint.events.run import ClockStepped, CutOffMoved, Ended, Resumed
from coach.sprint.gates.advice import END
from coach.sprint.gates.next_thing import next_thing
from coach.sprint.rules.run import CUT_OFF_EXAMPLES, check_cut_off
from coach.sprint.state import MET, OPEN, REOPENED
from phases.kit.items import Closing
from tests.sprint.conftest import Begin, Bench
from tests.sprint.lamp import CLOSING


def left(bench: Bench) -> float:
    """Minutes to the cut-off."""
    return (bench.state.deadline - bench.session.t) / 60


# ---- moving the cut-off ----------------------------------------------------------------------


@pytest.mark.parametrize(
    "to, minutes",
    [
        ("+20 min", 140),
        ("+20", 140),
        ("-15 min", 105),
        ("−15", 105),
        ("80 min", 110),  # from now, which is half an hour in
        ("1 h 15", 105),
        ("10:45", 105),  # it began at nine
        ("2031-05-05 11:30", 150),
        ("08:00", 23 * 60),  # past midnight is tomorrow's
    ],
)
def test_the_cut_off_moves_as_it_is_typed(bench: Bench, to: str, minutes: float) -> None:
    bench.at(30)
    bench.session.do(MoveCutOff(to, "the fabricator called"))
    assert bench.state.deadline == pytest.approx(minutes * 60, abs=1)
    event = bench.session.history[-1].event
    assert isinstance(event, CutOffMoved)
    assert event.why == "the fabricator called"
    assert event.message.startswith("Cut-off now ")


def test_what_is_said_of_a_moved_cut_off_is_its_time_and_the_difference(bench: Bench) -> None:
    assert bench.do(MoveCutOff("+20 min")) == "Cut-off now 11:20, +20 min"
    assert bench.do(MoveCutOff("-5")) == "Cut-off now 11:15, −5 min"


@pytest.mark.parametrize(
    "to, sentence",
    [
        ("-120 min", "That cut-off is already past. Give a later one, as in +20 min."),
        ("11:00", "That is the cut-off already. Write +20 min, or another time."),
        ("soon", '"soon" cannot be read as a cut-off'),
        ("", '"" cannot be read as a cut-off'),
        ("2031-05-04 10:00", "The cut-off 2031-05-04 10:00 is not in the future"),
        ("2032-05-05 10:00", "That cut-off is more than a week away. Give a nearer one."),
        ("+99999", '"+99999" cannot be read as a cut-off'),
    ],
)
def test_a_cut_off_that_cannot_be_is_refused(bench: Bench, to: str, sentence: str) -> None:
    assert bench.refused(MoveCutOff(to)).startswith(sentence)


@pytest.mark.parametrize("example", CUT_OFF_EXAMPLES)
def test_every_example_of_the_prompt_is_taken(bench: Bench, example: str) -> None:
    check_cut_off(example, bench.clock.wall())
    assert bench.do(MoveCutOff(example)).startswith("Cut-off now ")


def test_moves_add_up_and_each_can_be_taken_back(bench: Bench) -> None:
    bench.do(MoveCutOff("+20"))
    bench.do(MoveCutOff("+10"))
    assert bench.state.deadline == 150 * 60
    bench.do(Undo())
    assert bench.state.deadline == 140 * 60
    bench.do(Undo())
    assert bench.state.deadline == 120 * 60


# ---- a wall clock that is set ----------------------------------------------------------------


def test_minutes_stay_minutes_when_the_wall_clock_is_set(bench: Bench) -> None:
    bench.at(10)
    bench.clock.step(600)
    bench.session.tick()
    event = bench.session.history[-1].event
    assert isinstance(event, ClockStepped)
    assert (event.seconds, event.kind, event.shift) == (600, "step", 0)
    assert left(bench) == pytest.approx(110)


def test_a_time_of_day_stays_when_the_wall_clock_is_set(begin: Begin) -> None:
    bench = begin(at_an_instant=True)
    bench.at(10)
    bench.clock.step(600)  # it is twenty past now, and the order closes at eleven
    bench.session.tick()
    assert left(bench) == pytest.approx(100)
    bench.clock.step(-600)
    bench.session.tick()
    assert left(bench) == pytest.approx(110)


def test_a_cut_off_moved_to_a_time_of_day_stays_at_it(bench: Bench) -> None:
    bench.do(MoveCutOff("11:30"))
    bench.clock.step(600)
    bench.session.tick()
    assert bench.session.wall_of(bench.state.deadline).strftime("%H:%M") == "11:30"
    bench.do(MoveCutOff("+10"))  # still a time of day
    bench.clock.step(-300)
    bench.session.tick()
    assert bench.session.wall_of(bench.state.deadline).strftime("%H:%M") == "11:40"
    bench.do(MoveCutOff("60 min"))  # minutes from now on
    bench.clock.step(300)
    bench.session.tick()
    assert left(bench) == pytest.approx(60, abs=0.2)


def test_undo_takes_back_a_move_and_not_the_step_of_the_clock_after_it(begin: Begin) -> None:
    bench = begin(at_an_instant=True)
    bench.do(MoveCutOff("+20"))
    bench.clock.step(600)
    bench.session.tick()
    assert left(bench) == pytest.approx(130, abs=0.2)
    bench.do(Undo())
    assert left(bench) == pytest.approx(110, abs=0.2)


def test_a_machine_that_slept_slept_on_the_sprints_time(begin: Begin) -> None:
    bench = begin(counts_sleep=False, at_an_instant=True)
    bench.at(10)
    bench.clock.sleep(1800)
    bench.session.tick()
    event = bench.session.history[-1].event
    assert isinstance(event, ClockStepped)
    assert (event.kind, event.shift) == ("sleep", 0)
    assert left(bench) == pytest.approx(80)


# ---- closed and opened again -----------------------------------------------------------------


def test_time_goes_on_while_the_coach_is_closed_and_is_no_ones_work(bench: Bench) -> None:
    bench.do(EnterPhase("layout"))
    bench.at(20)
    bench.session.do(Meet("debug-pins"))
    bench.reopen(after=1800)
    assert left(bench) == pytest.approx(70)
    assert bench.state.used["layout"] == pytest.approx(20 * 60 - 5)
    assert isinstance(bench.session.history[-1].event, Resumed)
    assert bench.status("debug-pins") == MET


def test_everything_is_as_it_was_when_it_is_opened_again(bench: Bench) -> None:
    bench.save("series-resistor", "3v3")
    bench.draw_all()
    bench.do(Park("ask for the lamp's data sheet"))
    before = bench.state
    bench.reopen()
    after = bench.state
    assert after.items == before.items
    assert after.calculations == before.calculations
    assert after.notes == before.notes
    bench.do(Undo())  # what was done before it was closed can be taken back
    assert bench.state.notes == ()


def test_a_wall_clock_set_back_while_it_was_closed_is_said(bench: Bench) -> None:
    bench.at(30)
    bench.session.do(Meet("debug-pins"))
    bench.reopen(after=60, step=-3600)
    bench.session.tick()
    assert isinstance(bench.session.history[-1].event, ClockStepped)
    assert left(bench) == pytest.approx(90)


# ---- pauses ----------------------------------------------------------------------------------


def test_one_key_takes_a_pause_out_of_the_phase(bench: Bench) -> None:
    bench.do(EnterPhase("layout"))
    bench.do(Meet("debug-pins"))
    bench.clock.advance(600)
    assert bench.session.do(Interrupt()) == "10 min not counted (interruption)"
    assert bench.state.used["layout"] == pytest.approx(5)
    assert bench.state.interrupted == pytest.approx(600)
    assert left(bench) < 110  # the cut-off does not wait


def test_what_the_coach_says_meanwhile_does_not_end_a_pause(bench: Bench) -> None:
    bench.do(EnterPhase("layout"))
    bench.at(61)
    assert bench.session.tick()
    bench.session.do(Interrupt())
    assert bench.state.interrupted == pytest.approx(61 * 60 - 5)


def test_a_pause_is_taken_out_once(bench: Bench) -> None:
    bench.clock.advance(600)
    bench.session.do(Interrupt())
    refused = bench.refused(Interrupt())
    assert refused == "No pause to take out. Press i right after you come back."


def test_what_passed_while_it_was_closed_is_not_taken_out_twice(bench: Bench) -> None:
    bench.do(EnterPhase("layout"))
    bench.at(20)
    bench.session.do(Meet("debug-pins"))
    bench.reopen(after=1800)
    bench.clock.advance(300)
    bench.session.do(Interrupt())
    assert bench.state.used["layout"] == pytest.approx(20 * 60 - 5)
    assert bench.state.interrupted == pytest.approx(300)


# ---- thoughts --------------------------------------------------------------------------------


def test_a_thought_is_parked_until_it_is_settled(bench: Bench) -> None:
    assert bench.do(Park("  is J1 keyed?\x1b[2J\nask  ")) == "Parked"
    bench.do(Park("order cable"))
    assert [(one.number, one.text) for one in bench.state.notes] == [
        (1, "is J1 keyed?\nask"),
        (2, "order cable"),
    ]
    bench.do(Settle(1))
    assert [one.settled for one in bench.state.notes] == [True, False]
    assert bench.refused(Settle(1)) == "Note 1 is not open."
    assert bench.refused(Settle(3)) == "Note 3 is not open."


@pytest.mark.parametrize(
    "text, sentence",
    [
        ("", "Nothing to park"),
        ("\x07 \n", "Nothing to park"),
        ("x" * 4001, "Too long: 4000 characters at most"),
    ],
)
def test_nothing_is_no_thought_and_a_novel_neither(bench: Bench, text: str, sentence: str) -> None:
    assert bench.refused(Park(text)).startswith(sentence)


# ---- quiet -----------------------------------------------------------------------------------


def test_calls_can_be_quieted_and_ring_again(bench: Bench) -> None:
    assert bench.do(SetQuiet(True)) == "Calls muted; v lists them"
    assert bench.refused(SetQuiet(True)) == "Calls are muted already."
    assert bench.do(SetQuiet(False)) == "Calls on"
    assert bench.refused(SetQuiet(False)) == "Calls are on already."


# ---- the cut-off and the end -----------------------------------------------------------------


def test_after_the_cut_off_the_sprint_goes_on_and_closures_are_late(bench: Bench) -> None:
    bench.do(Meet("debug-pins"))
    bench.at(121)
    bench.session.do(Meet("supply-contacts"))
    assert not bench.state.items["debug-pins"].late
    assert bench.state.items["supply-contacts"].late
    assert bench.status("supply-contacts") == MET


@pytest.mark.parametrize("accepted", [True, False])
def test_the_sprint_ends_and_nothing_is_done_after_it(bench: Bench, accepted: bool) -> None:
    bench.do(Meet("debug-pins"))
    bench.do(End(accepted))
    state = bench.state
    assert (state.ended, state.accepted, state.ended_at) == (True, accepted, state.t)
    commands: tuple[Command, ...] = (Undo(), Meet("supply-contacts"), End(True), Park("x"))
    for command in commands:
        assert bench.refused(command).startswith("The sprint has ended.")
    bench.at(150)
    assert bench.session.tick() == []


def test_accepted_and_paid_is_the_last_line_of_the_closing_list(bench: Bench) -> None:
    bench.do(End(True))
    assert bench.status("accepted-and-paid") == MET
    assert bench.status("files-whole") == OPEN  # what was left open stays so


def test_ended_by_hand_the_last_line_stays_open(bench: Bench) -> None:
    bench.do(End(False))
    assert bench.status("accepted-and-paid") == OPEN


def test_what_was_changed_before_the_order_does_not_open_its_line_again(begin: Begin) -> None:
    bench = begin(closing=_asked_again_by("change:files"))
    for line in ("files-whole", "first-upload", "accepted-and-paid"):
        bench.do(Meet(line))
    bench.do(NoteChange("files"))
    assert bench.status("accepted-and-paid") == REOPENED
    bench.do(Meet("files-whole"))
    bench.do(Meet("first-upload"))
    events = bench.events(End(True))
    assert [type(event) for event in events] == [ItemMet, Ended]
    assert {row.status for row in bench.state.rows_of("closing")} == {MET}


def test_an_order_line_never_met_before_the_end_is_met_by_it_after_a_change(begin: Begin) -> None:
    bench = begin(closing=_asked_again_by("change:files"))
    bench.do(Meet("first-upload"))
    bench.do(NoteChange("files"))
    bench.do(End(True))
    assert bench.status("accepted-and-paid") == MET


def _asked_again_by(change: str) -> Closing:
    """The closing list of the lamp, each line of which is in doubt after a noted change."""
    lines = [line.model_copy(update={"reopened_by": (change,)}) for line in CLOSING.items]
    return CLOSING.model_copy(update={"item": tuple(lines)})


def test_a_waived_order_line_is_no_order(bench: Bench) -> None:
    for row in bench.state.rows:
        if not row.closed:
            bench.do(Waive(row.key, "the order goes out tomorrow"))
    bench.at(105)
    thing = next_thing(bench.state, bench.session.t)
    assert thing is not None
    assert (thing.kind, thing.message) == (END, "No order placed: end the sprint (E)")
    bench.do(End(True))
    assert bench.status("accepted-and-paid") == MET  # what is accepted is not waived
