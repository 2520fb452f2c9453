"""After the end: readings at power-on and late findings are written down, and nothing else is."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.sprint.commands import (
    End,
    EnterPhase,
    MakeItemOf,
    MeasurePoint,
    MeasurePoints,
    Meet,
    NoteFinding,
    Undo,
    WithdrawFinding,
    WithdrawMeasurement,
)
from coach.sprint.events.afterwards import FindingNoted, PointMeasured
from coach.sprint.events.run import TailCut
from coach.sprint.events.summary import SummedUp
from coach.sprint.journal.file import Journal
from coach.sprint.session import Session
from phases.kit.refusals import Refusal
from tests.sprint.conftest import Bench, told_again

AT_3V3 = MeasurePoint("1", "rail.3v3.voltage", "3v3", "3.31", "V", 3.2, 3.4)


@pytest.fixture
def ended(bench: Bench) -> Bench:
    """A sprint that ended after an hour and was opened again three days later."""
    bench.at(60)
    bench.do(End(accepted=True))
    bench.session.close()
    bench.clock.advance(3 * 24 * 3600.0)
    bench.session = Session.afterwards(bench.path, bench.clock)
    return bench


def reading(bench: Bench, text: str, **changed: object) -> PointMeasured:
    fields = {
        "board": "1",
        "point": "p",
        "title": "P",
        "text": text,
        "unit": "V",
        "low": 3.2,
        "high": 3.4,
        **changed,
    }
    [event] = bench.events(MeasurePoint(**fields))  # type: ignore[arg-type]
    assert isinstance(event, PointMeasured)
    return event


@pytest.mark.parametrize(
    ("text", "value", "verdict"),
    [
        ("3.31 V", 3.31, "inside"),
        ("3.31", 3.31, "inside"),
        ("3310 mV", 3.31, "inside"),
        ("3.2", 3.2, "inside"),
        ("3.4 V", 3.4, "inside"),
        ("3.19", 3.19, "outside"),
        ("0 V", 0.0, "outside"),
        ("-3.3 V", -3.3, "outside"),
    ],
)
def test_a_reading_is_held_against_what_was_expected(
    ended: Bench, text: str, value: float, verdict: str
) -> None:
    measured = reading(ended, text)
    assert (measured.value, measured.verdict) == (pytest.approx(value), verdict)
    # No number is kept without the unit it was read in.
    assert measured.text == (text if text.endswith("V") else f"{text} V")


def test_one_end_is_enough_for_a_verdict_and_none_gives_none(ended: Bench) -> None:
    assert reading(ended, "50 Ω", unit="Ω", low=42.0, high=None).verdict == "inside"
    assert reading(ended, "3 Ω", unit="Ω", low=42.0, high=None).verdict == "outside"
    assert reading(ended, "3 Ω", unit="Ω", low=None, high=None).verdict == "noted"
    assert reading(ended, "dark", unit="", low=None, high=None).value is None


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"text": " "}, "There is no reading"),
        ({"text": "3.3 A"}, "A is not a unit of voltage"),
        ({"text": "nan"}, "nan"),
        ({"board": ""}, "'' is not a board number"),
        ({"board": "../x"}, "'../x' is not a board number"),
        ({"text": "\x1b[2J"}, "reading"),
    ],
)
def test_what_is_no_reading_is_refused(ended: Bench, changed: dict[str, str], says: str) -> None:
    fields = {"board": "1", "point": "p", "title": "P", "text": "3.3", "unit": "V", **changed}
    assert says in ended.refused(MeasurePoint(**fields))  # type: ignore[arg-type]


def test_a_second_reading_replaces_the_first_and_can_be_taken_back(ended: Bench) -> None:
    ended.do(AT_3V3)
    reading(ended, "3.5 V", point="rail.3v3.voltage")
    assert ended.state.measured["1", "rail.3v3.voltage"].verdict == "outside"
    ended.do(WithdrawMeasurement("1", "rail.3v3.voltage"))
    assert not ended.state.measured
    assert "Nothing was measured" in ended.refused(WithdrawMeasurement("1", "rail.3v3.voltage"))


def test_readings_that_belong_together_are_written_at_once_or_not_at_all(ended: Bench) -> None:
    other = AT_3V3._replace(board="2", text="3.6 V")
    size = ended.path.stat().st_size
    assert "not a unit of voltage" in ended.refused(
        MeasurePoints((AT_3V3, other._replace(text="3.3 A")))
    )
    assert ended.path.stat().st_size == size
    ended.do(MeasurePoints((AT_3V3, other)))
    assert [one.verdict for one in ended.state.measured.values()] == ["inside", "outside"]
    assert len({one.by for one in ended.session.history[-2:]}) == 1


def test_a_finding_is_noted_against_the_item_that_let_it_through(ended: Bench) -> None:
    key = next(iter(ended.state.by_key))
    says = ended.do(NoteFinding("R5 is 10 kΩ", key, "2", "1.5 h", "1 kΩ on top"))
    assert says == "Finding 1 noted"
    [found] = ended.state.findings.values()
    assert (found.fault, found.item, found.board) == ("R5 is 10 kΩ", key, "2")
    assert (found.minutes, found.bodge) == (90.0, "1 kΩ on top")


@pytest.mark.parametrize(
    ("text", "minutes"), [("", None), ("25", 25.0), ("25 min", 25.0), ("2h", 120.0), ("0", 0.0)]
)
def test_the_time_lost_is_typed_as_one_says_it(
    ended: Bench, text: str, minutes: float | None
) -> None:
    ended.do(NoteFinding("The fan hums", minutes=text))
    assert ended.state.findings[1].minutes == minutes


@pytest.mark.parametrize(
    ("command", "says"),
    [
        (NoteFinding(" "), "No fault given"),
        (NoteFinding("x", item="no-such-item"), "no item 'no-such-item'"),
        (NoteFinding("x", minutes="a while"), "'a while' is not a time"),
        (NoteFinding("x", minutes="-5"), "'-5' is not a time"),
        (NoteFinding("x", minutes="1001 h"), "more than can be meant"),
        (WithdrawFinding(3), "no finding 3"),
        (MakeItemOf(3, "x", "y"), "no finding 3"),
    ],
)
def test_what_is_no_finding_is_refused(ended: Bench, command: NoteFinding, says: str) -> None:
    assert says in ended.refused(command)


def test_a_number_is_never_given_twice(ended: Bench) -> None:
    ended.do(NoteFinding("first"))
    ended.do(WithdrawFinding(1))
    [second] = ended.events(NoteFinding("second"))
    assert isinstance(second, FindingNoted)
    assert second.number == 2


def test_a_finding_becomes_an_item_once(ended: Bench) -> None:
    ended.do(NoteFinding("The fan hums"))
    ended.do(MakeItemOf(1, "fan-hums", "house-rules.toml"))
    assert ended.state.made_items[1].item == "fan-hums"
    assert "is item fan-hums already" in ended.refused(MakeItemOf(1, "again", "x.toml"))


def test_the_sprint_itself_stays_as_it_ended(ended: Bench) -> None:
    before = ended.state
    ended.do(AT_3V3)
    ended.do(NoteFinding("The fan hums"))
    after = ended.state
    assert (after.used, after.ended_at) == (before.used, before.ended_at)
    assert after.rows == before.rows
    for command in (Meet("debug-pins"), EnterPhase("layout"), Undo(), End(accepted=True)):
        assert "has ended" in ended.refused(command)


def test_nothing_is_written_afterwards_while_the_sprint_goes_on(bench: Bench) -> None:
    assert "The sprint goes on" in bench.refused(NoteFinding("too early"))
    bench.session.close()
    size = bench.path.stat().st_size
    with pytest.raises(Refusal, match="The sprint goes on"):
        Session.afterwards(bench.path, bench.clock)
    assert bench.path.stat().st_size == size


def test_all_of_it_is_in_the_journal(ended: Bench) -> None:
    ended.do(AT_3V3)
    ended.do(NoteFinding("The fan hums", board="1"))
    assert told_again(ended.path) == ended.state


def test_a_torn_end_is_cut_off_here_too_and_said(ended: Bench) -> None:
    ended.do(AT_3V3)
    ended.session.close()
    whole: Path = ended.path
    whole.write_bytes(whole.read_bytes()[:-20])
    ended.session = Session.afterwards(ended.path, ended.clock)
    cut, summed_up = (one.event for one in ended.session.history[-2:])
    assert isinstance(cut, TailCut)
    assert isinstance(summed_up, SummedUp)
    assert not ended.state.measured


def test_a_torn_end_is_said_although_the_sprint_goes_on(bench: Bench) -> None:
    bench.do(EnterPhase("layout"))
    bench.session.close()
    bench.path.write_bytes(bench.path.read_bytes()[:-20])
    with pytest.raises(Refusal, match="The sprint goes on"):
        Session.afterwards(bench.path, bench.clock)
    # It was cut off and kept aside: whoever opens the journal next is told so by it.
    bench.session = Session.resume(bench.path, bench.clock)
    assert any(isinstance(one.event, TailCut) for one in bench.session.history)


def test_a_journal_that_cannot_be_mended_is_let_go_of(
    ended: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    ended.do(AT_3V3)
    ended.session.close()
    ended.path.write_bytes(ended.path.read_bytes()[:-20])

    def full(self: Journal, data: bytes) -> None:
        raise Refusal("The journal could not be written: no space left on the device")

    with monkeypatch.context() as patch, pytest.raises(Refusal, match="no space left"):
        patch.setattr(Journal, "_write", full)
        Session.afterwards(ended.path, ended.clock)
    ended.session = Session.afterwards(ended.path, ended.clock)


def test_habits_are_recalled_once_and_only_for_items_there_are(bench: Bench) -> None:
    item = next(iter(bench.session.setup.items))
    bench.session.recall({item: (3, 8), "of-another-board": (2, 5)})
    assert bench.state.habits == {item: (3, 8)}
    size = bench.path.stat().st_size
    bench.session.recall({item: (3, 8)})
    bench.session.recall({})
    assert bench.path.stat().st_size == size
    assert bench.state.habits == {item: (3, 8)}
