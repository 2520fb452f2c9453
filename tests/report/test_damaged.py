"""Damaged, edited, forged and hostile journals: what is intact is told, and what is not is said.

Nothing a journal holds makes the debrief fail in any of its forms, gives it a figure that is none,
or a text that does something on a screen.
"""

from __future__ import annotations

import math
import re
from pathlib import Path
from random import Random
from typing import Any

import pytest

from coach.report.account import Account
from coach.report.html import html_of
from coach.report.markdown import markdown_of
from coach.report.sections import Report, Section
from coach.sprint.commands import End, FinishWalk, Meet, NoteFinding, Park, Waive
from coach.sprint.session import Session
from coach.terminal.drawing.debrief_lines import debrief_text
from phases.kit.refusals import Refusal
from tests.depth import seeds
from tests.report.conftest import into, reported, words_of
from tests.report.forging import ODD, added, forged, odd_values, places, put, unsound, written
from tests.sprint.conftest import Bench

HOSTILE = (
    "<script>alert(1)</script>",
    "[bold red]x[/] $x^2$ # | *a* `b`",
    "\x1b[2J\x1b]0;t\x07a",
    "a\nb\tc",
    "\u202eabc",
    "x" * 400,
    '"]]><!--',
    "=1+1",
)


@pytest.fixture
def source(lamp_journal: Path) -> Path:
    """A small journal with something of everything."""
    return lamp_journal


@pytest.fixture
def target(tmp_path: Path) -> Path:
    return tmp_path / "forged.toml"


def sound(report: Report) -> Report:
    """The report, if nothing in it is a figure or a text that should not be, in any form."""
    assert unsound(report) == []
    assert len(report.section("sentences").points) == 3
    for form in (html_of, markdown_of, debrief_text):
        assert not re.search(r"\bnan (%|s|min|h|V|K)\b", form(report))
    return report


# ---- damaged ---------------------------------------------------------------------------------


def test_a_torn_end_is_said_and_what_is_before_it_is_told(source: Path, target: Path) -> None:
    data = source.read_bytes()
    target.write_bytes(data[: data.rfind(b"[[event]]") + 40])
    report = sound(reported(target))
    assert len(report.faults) == 1
    assert report.section("measured").is_empty  # the last event
    assert len(report.section("findings").points) == 2  # those before it
    for form in (html_of, markdown_of, debrief_text):
        assert "This journal is damaged" in form(report)


def test_an_edited_block_is_said(source: Path, target: Path) -> None:
    data = source.read_bytes()
    at = data.index(b'page = "')
    target.write_bytes(data[:at] + data[at:].replace(b'page = "', b'page = "not ', 1))
    report = sound(reported(target))
    assert len(report.faults) == 1
    assert markdown_of(report).count("not page") == 1


def test_every_cut_of_a_journal_gives_a_report_or_one_sentence(source: Path, target: Path) -> None:
    data = source.read_bytes()
    for length in range(0, len(data), len(data) // 40):
        target.write_bytes(data[:length])
        try:
            report = reported(target)
        except Refusal as refusal:
            assert refusal.what
        else:
            sound(report)


def test_a_journal_of_nothing_but_its_header_has_a_report(source: Path, target: Path) -> None:
    report = sound(reported(forged(source, target, lambda _, events: events.clear())))
    assert report.ending.startswith("Still running, 2 h before the cut-off")
    assert report.section("calls").is_empty
    assert [row.cells for table in report.section("items").tables for row in table.rows] == []


def test_a_journal_that_is_only_torn_in_its_header_is_refused(source: Path, target: Path) -> None:
    target.write_bytes(source.read_bytes()[:2000])
    with pytest.raises(Refusal):
        reported(target)


# ---- forged records ----------------------------------------------------------------------------

LIMIT = {
    "name": "level",
    "title": "Level",
    "verdict": "pass",
    "unit": "V",
    "share": 0.5,
    "message": "Level 1 V. 1 V to spare.",
}


def record(*limits: Any, **more: Any) -> dict[str, Any]:
    return {
        "calculator": "level-check",
        "version": 1,
        "inputs": {},
        "outputs": {},
        "limits": list(limits),
        **more,
    }


def with_record(source: Path, target: Path, made: dict[str, Any]) -> Report:
    def change(header: Any, events: list[dict[str, Any]]) -> None:
        del events[1:]
        saved = {"what": "calculation-saved", "id": "level-check", "record": made}
        added(saved, by=1)(header, events)

    return sound(reported(forged(source, target, change)))


def test_a_limit_without_a_share_is_told_without_one(source: Path, target: Path) -> None:
    bare = {name: value for name, value in LIMIT.items() if name != "share"}
    report = with_record(source, target, record({**bare, "name": "held"}, LIMIT))
    (table,) = report.section("margins").tables
    assert [row.cells[4] for row in table.rows] == ["50 %", "–"]
    assert report.faults == ()


@pytest.mark.parametrize(
    "change",
    [
        {"limits": 3},
        {"limits": ["level"]},
        {"limits": [{"name": "level"}]},
        {"limits": [{**LIMIT, "verdict": "splendid"}]},
        {"subject": ["a"]},
        {"parts": "R"},
        {"parts": [{"role": "R"}]},
        {"limits": [{**LIMIT, "share": math.nan}]},
        {"limits": [{**LIMIT, "margin": 1e308}]},
        {"curve": {"x": [1.0], "y": [1.0]}},
        {"curve": 3},
        {"parts": [{"role": "R", "what": "1 kΩ", "where": "x", "count": 10**9}]},
    ],
    ids=str,
)
def test_a_record_out_of_shape_is_left_out_and_said(
    source: Path, target: Path, change: dict[str, Any]
) -> None:
    report = with_record(source, target, record(LIMIT) | change)
    assert report.section("margins").is_empty
    assert report.faults == (
        "Event 2 (calculation-saved) is not one this coach knows; it is left out.",
    )


def test_a_record_without_limits_is_counted_and_has_no_margin(source: Path, target: Path) -> None:
    margins = with_record(source, target, record()).section("margins")
    assert (margins.lead, margins.tables, margins.chart) == ("1 calculation saved.", (), None)


def test_what_fails_in_a_forged_record_is_told_by_its_limits(source: Path, target: Path) -> None:
    made = record({**LIMIT, "verdict": "fail", "message": "Level 0 V. Short by 1 V."})
    report = with_record(source, target, made)
    assert "Fails: level check. Level 0 V." in words_of(report.section("to-change"))


@pytest.mark.parametrize(
    "curve",
    [
        {"x": [1.0, 1.0], "y": [1.0, 2.0]},
        {"x": [0.0, 1.0], "y": [2.0, 2.0]},
        {"x": [0.0, 1.0], "y": [1e18, -1e18]},
        {"x": [-1.0, 1.0], "y": [0.0, 0.0], "log": True},
        {"x": [1.0, 2.0], "y": [0.0, 1.0], "at": 9.0, "bound": [5.0, 5.0]},
    ],
)
def test_a_curve_that_is_odd_is_drawn_or_left_out(source: Path, target: Path, curve: Any) -> None:
    of = {"title": "Level", "x_unit": "furlong", "y_unit": "V"}
    report = with_record(source, target, record(LIMIT, curve={**of, **curve}))
    assert html_of(report).count("<figcaption>") == (curve["x"] != [1.0, 1.0])


def test_texts_of_a_record_are_cleaned(source: Path, target: Path) -> None:
    for hostile in HOSTILE:
        made = record(
            {**LIMIT, "name": hostile, "message": hostile, "scenario": hostile},
            parts=[{"role": "R", "what": hostile, "where": "x"}],
            curve={
                "title": hostile,
                "x": [1.0, 2.0],
                "y": [1.0, 2.0],
                "x_unit": "V",
                "y_unit": "V",
            },
        )
        assert with_record(source, target, made).faults == ()


# ---- absurd figures ----------------------------------------------------------------------------


@pytest.mark.parametrize("odd", [math.nan, math.inf, -math.inf, 1e308, -1e308])
@pytest.mark.parametrize("name", ["deadline", "speed"])
def test_a_cut_off_and_a_speed_that_are_none_are_refused(
    source: Path, target: Path, name: str, odd: float
) -> None:
    def change(header: dict[str, Any], events: list[dict[str, Any]]) -> None:
        header["run"][name] = odd

    with pytest.raises(Refusal, match="header cannot be used"):
        reported(forged(source, target, change))


@pytest.mark.parametrize(
    "event",
    [
        {"what": "cut-off-moved", "deadline": math.nan, "message": "moved"},
        {"what": "cut-off-moved", "deadline": 1e308, "message": "moved"},
        {"what": "clock-stepped", "seconds": math.inf, "kind": "step", "deadline": 1.0},
        {
            "what": "clock-stepped",
            "seconds": 1.0,
            "kind": "step",
            "deadline": 1.0,
            "shift": math.nan,
        },
        {"what": "interrupted", "since": math.nan},
        {"what": "interrupted", "since": -1e308},
        {"what": "resumed", "gap": math.nan},
        {"what": "resumed", "gap": -1e308},
        {
            "what": "forecast-made",
            "checkpoint": 25,
            "chance_essentials": math.nan,
            "chance_all": 7.0,
            "expected": math.inf,
            "low": 1e308,
            "high": -1e308,
            "pace": 1.0,
            "draws": 1,
            "seed": 1,
        },
        {
            "what": "forecast-made",
            "checkpoint": 50,
            "chance_essentials": 0.5,
            "chance_all": 0.5,
            "expected": 1e29,
            "low": -1e29,
            "high": 1e29,
            "pace": 1.0,
            "draws": 1,
            "seed": 1,
        },
    ],
    ids=lambda event: f"{event['what']}, {list(event.values())[1]}",
)
def test_an_event_with_a_figure_that_no_clock_shows_is_left_out_and_said(
    source: Path, target: Path, event: dict[str, Any]
) -> None:
    report = sound(reported(forged(source, target, added(event))))
    assert [fault for fault in report.faults if "is not one this coach knows" in fault] == [
        *report.faults
    ]
    assert len(report.faults) == 1


@pytest.mark.parametrize(
    "event",
    [
        {"what": "cut-off-moved", "deadline": -1e9, "message": "moved"},
        {"what": "cut-off-moved", "deadline": 1e10, "message": "moved"},
        {"what": "interrupted", "since": -1e9},
        {"what": "interrupted", "since": 1e9},
        {"what": "resumed", "gap": 1e9},
        {"what": "resumed", "gap": -1e9},
        {
            "what": "forecast-made",
            "checkpoint": 25,
            "chance_essentials": 1.0,
            "chance_all": 0.0,
            "expected": -1e9,
            "low": 1e9,
            "high": -1e9,
            "pace": 1.0,
            "draws": 1,
            "seed": 1,
        },
        {"what": "habits-recalled", "items": {"nothing": [3, 8], "debug-pins": [-1, 0]}},
        {"what": "phase-entered", "phase": "nowhere", "previous": "elsewhere"},
        {"what": "stage-reached", "stage": "moon"},
        {"what": "item-met", "item": "nothing@nowhere", "evidence": "inspected"},
        {"what": "item-reopened", "item": "nothing", "because": ""},
        {"what": "item-reopened", "item": "debug-pins", "because": ""},
        {"what": "walked", "of": "moon", "asked": -3, "closed": 2**62},
        {"what": "call-made", "cause": "x", "message": "", "items": ["nothing"]},
        {"what": "part-drawn", "id": "nothing", "role": "x", "words": "y"},
        {"what": "subject-dropped", "id": "nothing"},
        {"what": "fact-set", "fact": "layers", "value": -3.0},
        {"what": "undone", "command": -1, "message": ""},
        {"what": "ended", "accepted": True},
        {"what": "finding-noted", "number": -(2**62), "fault": "", "item": "nothing"},
        {"what": "finding-noted", "number": 7, "fault": "", "item": "debug-pins", "minutes": 0.0},
        {
            "what": "point-measured",
            "board": "1",
            "point": "x",
            "title": "x",
            "text": "x",
            "unit": "furlong",
            "low": 3.0,
            "high": 1e18,
            "value": 1.0,
            "verdict": "outside",
        },
        {
            "what": "point-measured",
            "board": "1",
            "point": "x",
            "title": "",
            "text": "",
            "unit": "V",
            "verdict": "inside",
        },
    ],
    ids=lambda event: f"{event['what']}, {list(event.values())[1]}",
)
@pytest.mark.parametrize(
    "early",
    [False, pytest.param(True, marks=pytest.mark.long)],
    ids=["at the end", "at the begin"],
)
def test_a_well_formed_event_that_no_coach_wrote_leaves_a_report(
    source: Path, target: Path, event: dict[str, Any], early: bool
) -> None:
    def change(header: dict[str, Any], events: list[dict[str, Any]]) -> None:
        if early:
            del events[2:]
        added(event)(header, events)

    sound(reported(forged(source, target, change)))


def test_a_fact_of_a_kind_it_cannot_have_is_left_out(source: Path, target: Path) -> None:
    event = {"what": "fact-set", "fact": "layers", "value": "many"}
    report = reported(forged(source, target, added(event)))
    sound(report)
    assert any("contradicts itself" in fault or "knows" in fault for fault in report.faults)


def test_what_no_coach_can_have_written_is_one_sentence(
    source: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def torn(account: Account) -> Section:
        raise LookupError("a phase there is not")

    monkeypatch.setattr("coach.report.report.SECTIONS", (torn,))
    with pytest.raises(Refusal, match=r"cannot be told \(LookupError\)"):
        reported(source)


@pytest.mark.parametrize("t", [1e308, -1e308, math.nan, -1.0, 1e9])
def test_a_moment_that_is_none_is_left_out_or_told(source: Path, target: Path, t: float) -> None:
    def change(header: dict[str, Any], events: list[dict[str, Any]]) -> None:
        events[len(events) // 2]["t"] = t

    sound(reported(forged(source, target, change)))


@pytest.mark.parametrize("seed", seeds(20))
def test_odd_values_anywhere_leave_a_report_or_one_sentence(
    seed: int, source: Path, target: Path
) -> None:
    path = forged(source, target, odd_values(Random(f"odd:{seed}"), 12))
    try:
        report = reported(path)
    except Refusal as refusal:
        assert refusal.what
        assert "cannot be told" not in refusal.what
    else:
        sound(report)


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
    report = sound(reported(bench.path))
    assert report.faults == ()
    reason = session.state.items["supply-contacts"].reason
    assert reason in words_of(report.section("waived"))
    assert session.state.findings[1].fault in words_of(report.section("findings"))


def test_hostile_texts_in_any_event_stay_text(source: Path, target: Path) -> None:
    for n, hostile in enumerate(HOSTILE):

        def change(header: Any, events: list[Any], n: int = n, hostile: str = hostile) -> None:
            chance = Random(n)
            for event in events:
                for path in list(places(event)):
                    if path[0] not in ("n", "at", "what", "t", "by") and chance.random() < 0.05:
                        put(event, path, hostile)
                        break

        sound(reported(forged(source, target, change)))


def test_a_title_is_one_clean_line(source: Path, target: Path) -> None:
    def change(header: dict[str, Any], events: list[dict[str, Any]]) -> None:
        header["brief"]["title"] = "a\x1b[2J <b>\nb"
        header["run"]["title"] = "a\x1b[2J <b>\nb"

    assert sound(reported(forged(source, target, change))).title == "a <b> b"


def test_the_odd_values_can_be_written_at_all(target: Path) -> None:
    """Else the test above would try less than it says."""
    path = written(target, {"run": {}}, [{"what": "x", "value": one} for one in ODD])
    assert path.read_text(encoding="utf-8").count("[[event]]") == len(ODD)
