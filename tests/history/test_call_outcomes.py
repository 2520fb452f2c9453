"""Whether a call was acted on, told from the history alone."""

from __future__ import annotations

from datetime import timedelta

from coach.history.call_outcomes import SOON, CallOutcome, call_outcomes
from coach.sprint.calls import CUT_OFF, UPLOAD_DUE
from coach.sprint.events.board import FeatureDropped
from coach.sprint.events.event import Event, Stamped
from coach.sprint.events.items import ItemMet, ItemWaived
from coach.sprint.events.phases import PhaseEntered
from coach.sprint.events.run import CallMade, CutOffMoved, Ended, ForecastMade, Undone
from coach.sprint.pace.checkpoints import FALLEN, LATEST_START, RECOVERED, RESERVE_EATEN
from tests.sprint.conftest import NINE, bench_setup
from tests.sprint.lamp import CLOSING, PHASES, lamp_brief

SETUP = bench_setup(lamp_brief(), phases=PHASES, closing=CLOSING)
RECOVERY = ForecastMade(
    because=RECOVERED,
    chance_essentials=0.9,
    chance_all=0.5,
    expected=1.0,
    low=1.0,
    high=1.0,
    pace=1.0,
    draws=1,
    seed=1,
)


def told(*events: tuple[float, Event], by: int = 0) -> CallOutcome:
    """What came of the first call; times in minutes, each later event a command of its own."""
    history = [
        Stamped(n, NINE + timedelta(minutes=t), t * 60, by or n - 1, event)
        for n, (t, event) in enumerate(events, start=1)
    ]
    return call_outcomes(SETUP, history)[0]


def met(key: str) -> ItemMet:
    return ItemMet(item=key, evidence="inspected")


def about(*keys: str, cause: str = "last call") -> CallMade:
    return CallMade(cause=cause, message="x", items=keys)


def test_a_call_about_items_is_acted_on_as_far_as_they_are_closed_soon() -> None:
    one = told((10, about("a", "b", "c")), (12, met("b")), (13, ItemWaived(item="a", reason="x")))
    assert (one.acted_on, one.closed, one.after) == (True, 2, 120.0)


def test_what_is_closed_later_is_not_put_down_to_it() -> None:
    one = told((10, about("a")), (10 + SOON / 60 + 1, met("a")))
    assert (one.acted_on, one.closed, one.after) == (False, 0, None)


def test_what_was_closed_before_or_is_another_does_not_count() -> None:
    one = told((5, about("a")), (6, met("b")))
    assert one.acted_on is False


def test_what_was_taken_back_does_not_count() -> None:
    one = told((5, about("a")), (6, met("a")), (7, Undone(command=1, message="x")))
    assert (one.acted_on, one.closed) == (False, 0)


def test_a_latest_start_is_acted_on_by_beginning_the_phase() -> None:
    call = about("footprints-fit", cause=LATEST_START)
    one = told((10, call), (14, PhaseEntered(phase="layout")))
    assert (one.acted_on, one.closed, one.after) == (True, 0, 240.0)
    other = told((10, call), (14, PhaseEntered(phase="labelling")))
    assert other.acted_on is False
    skipped = told(
        (10, about("footprints-fit", cause="skipped essential")), (14, PhaseEntered(phase="layout"))
    )
    assert skipped.acted_on is False


def test_a_fallen_chance_is_acted_on_by_dropping_something_or_by_catching_up() -> None:
    call = CallMade(cause=FALLEN, message="x")
    assert told((30, call), (33, FeatureDropped(feature="talk"))).after == 180.0
    assert told((30, call), (40, RECOVERY)).acted_on is True
    assert told((30, call), (33, met("a"))).acted_on is False


def test_an_upload_that_is_due_is_acted_on_by_making_it() -> None:
    call = CallMade(cause="first upload due", message="x")
    assert told((100, call), (104, met("first-upload"))).acted_on is True
    assert told((100, call), (104, met("files-whole"))).acted_on is False


def test_an_eaten_reserve_is_acted_on_by_going_to_the_closing_list() -> None:
    call = CallMade(cause=RESERVE_EATEN, message="x")
    assert told((102, call), (103, PhaseEntered(phase="closing"))).acted_on is True
    assert told((102, call), (103, PhaseEntered(phase="layout"))).acted_on is False


def test_a_call_that_only_says_the_time_asks_for_nothing() -> None:
    for cause in ("half", "quarter", "last five minutes"):
        assert told((60, CallMade(cause=cause, message="x")), (61, met("a"))).acted_on is None


def test_every_call_of_a_sprint_is_told() -> None:
    calls = [CallMade(cause="half", message="x"), about("a"), CallMade(cause=FALLEN, message="x")]
    history = [Stamped(n, NINE, n * 60.0, 0, call) for n, call in enumerate(calls, start=1)]
    assert [one.call for one in call_outcomes(SETUP, history)] == calls


def test_the_cut_off_is_acted_on_by_ordering_or_by_moving_it() -> None:
    call = CallMade(cause=CUT_OFF, message="x")
    moved = told((120, call), (122, CutOffMoved(deadline=9000.0, message="x")))
    assert (moved.acted_on, moved.after) == (True, 120.0)
    assert told((120, call), (125, Ended(accepted=True))).acted_on is True
    assert told((120, call), (125, Ended(accepted=False))).acted_on is False


def test_a_rule_of_ones_own_with_upload_in_its_id_is_no_first_upload() -> None:
    house = PHASES[0].items[0].model_copy(update={"id": "house-upload-of-the-firmware"})
    phases = (PHASES[0].model_copy(update={"items": (*PHASES[0].items, house)}), *PHASES[1:])
    setup = bench_setup(lamp_brief(), phases=phases, closing=CLOSING)
    events: list[Event] = [CallMade(cause=UPLOAD_DUE, message="x"), met(house.id)]
    history = [Stamped(n, NINE, 60.0 * n, n - 1, event) for n, event in enumerate(events, 1)]
    assert call_outcomes(setup, history)[0].acted_on is False
