"""Damaged, edited, forged and hostile journals: an account of what is whole, and what is not said.

Nothing a journal holds makes the debrief fail, gives it a figure that is none, or a text that
does something on a screen.
"""

from __future__ import annotations

import math
from pathlib import Path
from random import Random
from typing import Any

import pytest

from coach.debrief.account.data import Account
from coach.debrief.account.soundness import Soundness, number, text
from coach.sprint.commands import End, FinishWalk, Meet, NoteFinding, Park, Waive
from coach.sprint.session import Session
from phases.kit.refusals import Refusal
from tests.debrief.account.forging import (
    ODD,
    added,
    forged,
    odd_values,
    outlandish,
    places,
    put,
    unsound,
    written,
)
from tests.debrief.conftest import into, told, told_of
from tests.sprint.conftest import Bench

HOSTILE = (
    "<script>alert(1)</script>", "[bold red]x[/] $x^2$ # | *a* `b`", "\x1b[2J\x1b]0;t\x07a",
    "a\nb\tc", "\u202eabc", "x" * 400, '"]]><!--', "=1+1",
)  # fmt: skip


@pytest.fixture
def source(lamp_journal: Path) -> Path:
    """A small journal with something of everything."""
    return lamp_journal


@pytest.fixture
def target(tmp_path: Path) -> Path:
    return tmp_path / "forged.toml"


def sound(account: Account) -> Account:
    """The account, if nothing in it is a figure or a text that should not be."""
    assert unsound(account) == []
    assert outlandish(account) == []
    assert len(account.sentences) == 3
    return account


# ---- damaged ---------------------------------------------------------------------------------


def test_a_torn_end_is_said_and_what_is_before_it_is_told(source: Path, target: Path) -> None:
    data = source.read_bytes()
    target.write_bytes(data[: data.rfind(b"[[event]]") + 40])
    account = sound(told(target))
    assert len(account.faults) == 1
    assert account.measured == ()  # the last event
    assert len(account.findings) == 2  # those before it


def test_an_edited_block_is_said(source: Path, target: Path) -> None:
    data = source.read_bytes()
    at = data.index(b'page = "')
    target.write_bytes(data[:at] + data[at:].replace(b'page = "', b'page = "not ', 1))
    account = sound(told(target))
    assert len(account.faults) == 1
    assert sum("not page" in one.evidence for one in account.items) == 1


def test_every_cut_of_a_journal_gives_an_account_or_one_sentence(
    source: Path, target: Path
) -> None:
    data = source.read_bytes()
    for length in range(0, len(data), len(data) // 40):
        target.write_bytes(data[:length])
        try:
            account = told(target)
        except Refusal as refusal:
            assert refusal.what
        else:
            sound(account)


def test_a_journal_of_nothing_but_its_header_has_an_account(source: Path, target: Path) -> None:
    account = sound(told(forged(source, target, lambda _, events: events.clear())))
    assert account.standing == "The sprint goes on: nothing here is final."
    assert account.calls == ()
    assert {one.outcome for one in account.items} == {"open"}


def test_a_journal_that_is_only_torn_in_its_header_is_refused(source: Path, target: Path) -> None:
    target.write_bytes(source.read_bytes()[:2000])
    with pytest.raises(Refusal):
        told(target)


# ---- forged records ----------------------------------------------------------------------------


def saved(record: dict[str, Any], name: str = "level-check") -> dict[str, Any]:
    return {"what": "calculation-saved", "id": name, "record": record}


def record(*limits: Any, **more: Any) -> dict[str, Any]:
    return {
        "calculator": "level-check",
        "subject": "",
        "verdict": "pass",
        "limits": list(limits),
        **more,
    }


def with_record(source: Path, target: Path, made: dict[str, Any]) -> Account:
    def change(header: Any, events: list[dict[str, Any]]) -> None:
        del events[1:]
        added(saved(made), by=1)(header, events)

    return sound(told(forged(source, target, change)))


LIMIT = {"name": "level", "verdict": "pass", "says": "Level 1 V. 1 V to spare.", "share": 0.5}


def test_a_limit_without_a_share_is_told_without_one(source: Path, target: Path) -> None:
    account = with_record(source, target, record({"name": "level", "verdict": "pass"}, LIMIT))
    (check,) = account.calculations
    assert [one.share for one in check.limits] == [None, 0.5]
    assert check.thinnest == 0.5
    assert account.faults == ()


@pytest.mark.parametrize("odd", [math.nan, math.inf, 1e308, -1e308, "much", True, [1], {"a": 1}])
def test_a_margin_that_is_no_number_is_left_out_and_said(
    source: Path, target: Path, odd: Any
) -> None:
    account = with_record(source, target, record({**LIMIT, "share": odd, "margin": odd}))
    (check,) = account.calculations
    assert (check.limits[0].share, check.limits[0].margin, check.thinnest) == (None, None, None)
    assert account.faults == (
        "The margin of level check, level, is no number; it is left out.",
        "The share of level check, level, is no number; it is left out.",
    )


@pytest.mark.parametrize(
    "change",
    [
        {"limits": 3}, {"limits": ["level"]}, {"limits": [{"name": "level"}]},
        {"limits": [{"name": "level", "verdict": "splendid"}]}, {"verdict": "splendid"},
        {"calculator": 3}, {"subject": ["a"]}, {"parts": "R"}, {"parts": [{"role": "R"}]},
    ],
    ids=str,
)  # fmt: skip
def test_a_record_out_of_shape_is_left_out_and_said(
    source: Path, target: Path, change: dict[str, Any]
) -> None:
    account = with_record(source, target, record(LIMIT, **change))
    assert account.calculations == ()
    assert account.faults == ("Event 2 contradicts itself or what is before it; it is left out.",)


def test_a_record_without_limits_says_its_verdict_and_no_margin(source: Path, target: Path) -> None:
    (check,) = with_record(source, target, record()).calculations
    assert (check.verdict, check.limits, check.thinnest) == ("pass", (), None)


def test_a_record_that_says_better_than_its_limits_is_not_believed(
    source: Path, target: Path
) -> None:
    made = record({**LIMIT, "verdict": "fail", "says": "Level 0 V. Short by 1 V."})
    account = with_record(source, target, made)
    assert account.calculations[0].verdict == "fail"
    assert any(
        one.text.startswith("Does not hold: level check. Level 0 V.") for one in account.changeable
    )


@pytest.mark.parametrize("many", [math.nan, 0, -3, 1e9, "two", [2]])
def test_parts_in_a_number_that_is_none_are_left_out(source: Path, target: Path, many: Any) -> None:
    good = {"role": "R1", "what": "10 kΩ", "where": "BOOT to ground", "count": 2}
    made = record(LIMIT, parts=[{**good, "role": "R2", "count": many}, good])
    account = with_record(source, target, made)
    assert [one.says for one in account.undrawn] == ["2 x 10 kΩ BOOT to ground"]


@pytest.mark.parametrize("curve", [3, {}, {"x": [1.0], "y": [1.0]}, {"x": [1.0, 2.0], "y": [1.0]},
                                   {"x": [1.0, math.nan], "y": [1.0, 2.0]},
                                   {"x": [1.0, "a"], "y": [1.0, 2.0]}])  # fmt: skip
def test_a_curve_that_is_none_is_left_out(source: Path, target: Path, curve: Any) -> None:
    assert with_record(source, target, record(LIMIT, curve=curve)).calculations[0].curve is None


def test_texts_of_a_record_are_cleaned_and_cut(source: Path, target: Path) -> None:
    for hostile in HOSTILE:
        made = record({**LIMIT, "name": hostile, "says": hostile, "scenario": hostile * 9},
                      parts=[{"role": hostile, "what": hostile, "where": hostile}],
                      curve={"title": hostile, "x": [1.0, 2.0], "y": [1.0, 2.0]})  # fmt: skip
        (check,) = with_record(source, target, made).calculations
        assert len(check.limits[0].says) <= 400


# ---- absurd figures ----------------------------------------------------------------------------


@pytest.mark.parametrize("odd", [math.nan, math.inf, -math.inf, 1e308, -1e308])
def test_a_cut_off_that_is_none_is_refused(source: Path, target: Path, odd: float) -> None:
    def change(header: dict[str, Any], events: list[dict[str, Any]]) -> None:
        header["run"]["deadline"] = odd

    with pytest.raises(Refusal, match="header cannot be used"):
        told(forged(source, target, change))


@pytest.mark.parametrize(
    "event",
    [
        {"what": "cut-off-moved", "deadline": math.nan, "says": "moved"},
        {"what": "cut-off-moved", "deadline": 1e308, "says": "moved"},
        {"what": "clock-stepped", "seconds": math.inf, "kind": "step", "deadline": 1.0,
         "shift": math.nan},
        {"what": "interrupted", "since": math.nan},
        {"what": "interrupted", "since": -1e308},
        {"what": "resumed", "gap": math.nan},
        {"what": "resumed", "gap": -1e308},
        {"what": "forecast-made", "mark": 25, "chance_essentials": math.nan, "chance_all": 7.0,
         "expected": math.inf, "low": 1e308, "high": -1e308, "pace": 1.0, "draws": 1, "seed": 1},
        {"what": "forecast-made", "mark": 50, "chance_essentials": 0.5, "chance_all": 0.5,
         "expected": 1e29, "low": -1e29, "high": 1e29, "pace": 1.0, "draws": 1, "seed": 1},
        {"what": "habits-recalled", "items": {"nothing": [3, 8], "debug-pins": [-1, 0]}},
        {"what": "phase-entered", "phase": "nowhere", "left": "elsewhere"},
        {"what": "stage-reached", "stage": "moon"},
        {"what": "item-met", "item": "nothing@nowhere", "evidence": "inspected"},
        {"what": "item-reopened", "item": "nothing", "because": ""},
        {"what": "walked", "of": "moon", "asked": -3, "closed": 2**62},
        {"what": "call-made", "cause": "x", "says": "", "items": ["nothing"]},
        {"what": "part-drawn", "id": "nothing", "role": "x", "words": "y"},
        {"what": "subject-dropped", "id": "nothing"},
        {"what": "undone", "command": -1, "says": ""},
        {"what": "ended", "accepted": True},
        {"what": "finding-noted", "number": -(2**62), "fault": "", "item": "nothing",
         "minutes": 1e300},
        {"what": "point-measured", "board": "1", "point": "x", "title": "x", "text": "x",
         "unit": "furlong", "low": math.nan, "high": 1e308, "verdict": "outside"},
        {"what": "point-measured", "board": "1", "point": "x", "title": "x", "text": "x",
         "unit": "V", "low": -math.inf, "high": math.inf, "verdict": "inside"},
    ],
    ids=lambda event: f"{event['what']}, {list(event.values())[1]}",
)  # fmt: skip
@pytest.mark.parametrize("early", [False, True], ids=["at the end", "at the begin"])
def test_an_event_with_figures_that_are_none_leaves_an_account(
    source: Path, target: Path, event: dict[str, Any], early: bool
) -> None:
    def change(header: dict[str, Any], events: list[dict[str, Any]]) -> None:
        if early:
            del events[2:]
        added(event)(header, events)

    sound(told(forged(source, target, change)))


@pytest.mark.parametrize("t", [1e308, -1e308, -1.0, 1e9])
def test_a_moment_that_is_none_is_cut(source: Path, target: Path, t: float) -> None:
    def change(header: dict[str, Any], events: list[dict[str, Any]]) -> None:
        events[len(events) // 2]["t"] = t

    sound(told(forged(source, target, change)))


@pytest.mark.parametrize("seed", range(60))
def test_odd_values_anywhere_leave_an_account_or_one_sentence(
    seed: int, source: Path, target: Path
) -> None:
    path = forged(source, target, odd_values(Random(f"odd:{seed}"), 12))
    try:
        account = told(path)
    except Refusal as refusal:
        assert refusal.what
    else:
        sound(account)


def test_a_section_that_cannot_be_told_says_so_and_the_rest_is_told() -> None:
    one = Soundness()
    assert one.section("The plan", lambda: 1 // 0, 7) == 7
    assert one.section("The calls", lambda: {}["x"], "") == ""
    assert one.faults == [
        "The plan cannot be told (ZeroDivisionError).", "The calls cannot be told (KeyError).",
    ]  # fmt: skip


def test_what_is_said_twice_is_said_once() -> None:
    one = Soundness()
    for value in (math.nan, math.inf, -1e308):
        one.seconds(value, "The end")
    assert len(one.faults) == 1
    assert one.seconds(12.5, "The end") == 12.5


def test_numbers_and_texts_are_believed_only_in_shape() -> None:
    assert [number(one) for one in (1, -2.5, 0)] == [1.0, -2.5, 0.0]
    assert all(number(one) is None for one in (True, "1", None, math.nan, math.inf, 1e308, 2**200))
    assert text("a\x1b[2Jb\n c") == "ab c"
    assert text(3) == ""


# ---- hostile texts -----------------------------------------------------------------------------


@pytest.mark.parametrize("hostile", HOSTILE)
def test_whatever_was_typed_stays_text(bench: Bench, hostile: str) -> None:
    into(bench, "power-entry", 5)
    bench.do(Waive("supply-contacts", hostile))
    bench.do(Meet("enough-left@1v8", "data sheet", f"page {hostile[:300]}"))
    bench.do(Park(hostile))
    bench.do(FinishWalk("power-entry", 1, 1))
    bench.do(End(accepted=True))
    bench.session.close()
    session = Session.afterwards(bench.path, bench.clock)
    session.do(NoteFinding(hostile, "supply-contacts", bodge=hostile))
    session.close()
    bench.session = session
    account = sound(told_of(bench))
    assert account.faults == ()
    assert account.waived[0].reason == session.state.items["supply-contacts"].reason
    assert account.findings[0].fault in " ".join(one.text for one in account.changeable) + "."


def test_hostile_texts_in_any_event_stay_text(source: Path, target: Path) -> None:
    for n, hostile in enumerate(HOSTILE):

        def change(header: Any, events: list[Any], n: int = n, hostile: str = hostile) -> None:
            chance = Random(n)
            for event in events:
                for path in list(places(event)):
                    if path[0] not in ("n", "at", "what", "t", "by") and chance.random() < 0.05:
                        put(event, path, hostile)
                        break

        sound(told(forged(source, target, change)))


def test_a_title_is_one_clean_line(source: Path, target: Path) -> None:
    def change(header: dict[str, Any], events: list[dict[str, Any]]) -> None:
        header["brief"]["title"] = "a\x1b[2J <b>\nb"
        header["run"]["title"] = "a\x1b[2J <b>\nb"

    assert sound(told(forged(source, target, change))).title == "a <b> b"


def test_the_odd_values_can_be_written_at_all(target: Path) -> None:
    """Else the test above would try less than it says."""
    path = written(target, {"run": {}}, [{"what": "x", "value": one} for one in ODD])
    assert path.read_text(encoding="utf-8").count("[[event]]") == len(ODD)
