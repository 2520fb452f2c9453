"""Each number of the sprint screen is explained, with the number the screen itself shows."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest

from coach.sprint.commands import (
    Command,
    DropFeature,
    End,
    EnterPhase,
    Interrupt,
    Meet,
    MoveCutOff,
    Park,
    SaveCalculation,
    Undo,
)
from coach.sprint.pace.forecast import forecast_of
from coach.sprint.session import Session
from coach.terminal.drawing.why_lines import HEADING, MOST_LINES
from coach.terminal.screens.help import HelpScreen
from coach.terminal.screens.sprint import SprintScreen
from phases.kit.items import CLOSING_ID
from tests.terminal.driving import Driven, begun, clock_of, driven

BRIEFS = ("usb-bench-meter", "orchard-radio-tag", "pump-driver-24v")


def nothing(session: Session) -> None:
    """The first second."""


def in_a_phase(session: Session) -> None:
    """Half an hour in, something skipped, something to draw, something parked."""
    done(session, 6, EnterPhase("power-entry"), SaveCalculation("load-budget"))
    done(session, 12, EnterPhase("regulation"))
    done(session, 9, EnterPhase("debug-access"), Park("ask about stock"))


def moved(session: Session) -> None:
    in_a_phase(session)
    done(session, 3, MoveCutOff("+15 min", "the display came late"))
    clock_of(session).step(240)
    session.tick()


def interrupted(session: Session) -> None:
    in_a_phase(session)
    done(session, 8, Interrupt())
    done(session, 2, EnterPhase("clock-boot"), Meet("supply-contacts"))


def without_a_feature(session: Session) -> None:
    in_a_phase(session)
    done(
        session, 1, DropFeature(next(f.id for f in session.setup.brief.features if not f.required))
    )


def closing(session: Session) -> None:
    in_a_phase(session)
    done(session, 60, EnterPhase(CLOSING_ID))


def late(session: Session) -> None:
    closing(session)
    done(session, 200)


def ended(session: Session) -> None:
    closing(session)
    done(session, 1, End(False))


MOMENTS = (
    nothing,
    in_a_phase,
    moved,
    interrupted,
    without_a_feature,
    closing,
    late,
    ended,
)


def done(session: Session, minutes: float, *commands: Command) -> None:
    clock_of(session).advance(minutes * 60)
    for command in commands:
        session.do(command)


def said(drive: Driven) -> list[str]:
    """The section of the numbers, a sentence each."""
    assert isinstance(drive.screen, HelpScreen)
    lines: Sequence[str] = [one.text for one in drive.screen.rows.lines]
    section = lines[lines.index(f" {HEADING}") + 1 : lines.index("")]
    sentences: list[str] = []
    for one in section:
        if one.startswith("    "):
            sentences[-1] += f" {one.strip()}"
        else:
            sentences.append(one.strip())
    return sentences


def one_that_says(sentences: list[str], begin: str) -> str:
    return next((one for one in sentences if one.startswith(begin)), "")


@pytest.mark.parametrize(
    ("moment", "brief"),
    [
        pytest.param(moment, brief, marks=[pytest.mark.long] * ((n - k) % len(BRIEFS) != 0))
        for n, moment in enumerate(MOMENTS)
        for k, brief in enumerate(BRIEFS)
    ],
    ids=lambda one: one if isinstance(one, str) else one.__name__,
)
async def test_on_a_strip_each_is_two_short_lines_that_are_whole(
    tmp_path: Path, brief: str, moment: Callable[[Session], None]
) -> None:
    session = begun(tmp_path, brief)
    moment(session)
    async with driven(session, size=(40, 12)) as drive:
        await drive.press("question_mark")
        sentences = said(drive)
        assert sentences
        assert [one for one in sentences if one[-1] != "."] == []
        lines = [one.text for one in drive.screen.rows.lines]  # type: ignore[attr-defined]
        section = lines[1 : lines.index("")]
        assert max(len(one) for one in section) <= 40
        runs = re.findall(r"(?:^|\n)  \S.*(?:\n    .*)*", "\n".join(section))
        assert max(run.strip("\n").count("\n") + 1 for run in runs) <= MOST_LINES


async def test_every_number_of_the_head_is_asked_why(tmp_path: Path) -> None:
    session = begun(tmp_path)
    in_a_phase(session)
    done(session, 1, SaveCalculation("type-c-sink", "j-usb"))
    async with driven(session, size=(100, 40)) as drive:
        head = drive.text
        await drive.press("question_mark")
        sentences = said(drive)
        chance = r"on time (?:\d in 10|under 1 in 20|over 19 in 20)"
        shown = (
            r"\d+ h \d+ min left",
            r"\d\d:\d\d",
            chance,
            r"ends \d\d:\d\d .. \d\d:\d\d",
            r"gate \d of \d",
            r"parked \d",
            r"\d+ more checks",
        )
        for pattern in shown:
            number = re.search(pattern, head)
            assert number is not None, pattern
            begin = number[0][:1].upper() + number[0][1:]
            assert one_that_says(sentences, begin), number[0]
        box = re.search(r"box (\d+)  used (\d+)", head)
        assert box is not None
        assert one_that_says(sentences, f"Box {box[1]} min: ")
        assert one_that_says(sentences, f"Used {box[2]} min: ")
        for word in ("SKIPPED", "DRAW"):
            count = next(one for one in head.splitlines() if one.startswith(f" {word}")).split()[-1]
            assert one_that_says(sentences, f"{word.capitalize()} {count}: "), word
        thing = session.state.by_key[drive.app.screen_stack[-2].row.key]  # type: ignore[attr-defined]
        missed = f"If missed: {thing.item.severity}, {thing.item.left_out_min:g} min: "
        assert one_that_says(sentences, missed)


async def test_the_cut_off_says_who_moved_it_when_and_why(tmp_path: Path) -> None:
    session = begun(tmp_path)
    done(session, 5, MoveCutOff("+20 min", "the display is late"), MoveCutOff("-90 min"), Undo())
    async with driven(session) as drive:
        await drive.press("question_mark")
        told = said(drive)
        assert one_that_says(told, "2 h 15 min left: ").endswith("cut-off 11:20, as it was moved.")
        assert "Cut-off now 11:20, +20 min: moved by you at 09:05." in told
        assert "Reason: the display is late." in told


async def test_a_wall_clock_that_was_set_is_told(tmp_path: Path) -> None:
    session = begun(tmp_path)
    clock_of(session).step(240)
    session.tick()
    async with driven(session) as drive:
        await drive.press("question_mark")
        told = one_that_says(said(drive), "Wall clock: ")
        assert told == "Wall clock: at 09:04 set forward by 4 min; the time left stayed."


async def test_the_chance_is_so_many_of_so_many_runs(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        drive.session.take_forecast(forecast_of(drive.state, drive.session.t))
        await drive.press("question_mark")
        forecast = drive.session.forecast
        assert forecast is not None
        before = round(forecast.chance_essentials * forecast.draws)
        assert forecast.draws == 20_000
        runs = f"{before:,} of 20 000 simulated runs make the cut-off".replace(",", " ")
        assert runs in one_that_says(said(drive), "On time ")
        assert one_that_says(said(drive), "Target 8 in 10: from the brief")
        for reason in forecast.reasons():
            assert reason in said(drive)


async def test_a_box_is_the_usual_drawing_scaled_and_the_confirming(tmp_path: Path) -> None:
    session = begun(tmp_path, "pump-driver-24v")
    done(session, 5, EnterPhase("layout"))
    async with driven(session) as drive:
        await drive.press("escape", "question_mark")
        told = said(drive)
        box = re.match(
            r"Box (\d+) min: ([\d.]+) min of drawing and ([\d.]+) min to",
            "\n".join(one for one in told if one.startswith("Box ")),
        )
        assert box is not None
        assert round(float(box[2]) + float(box[3]), 1) == pytest.approx(int(box[1]), abs=0.6)
        made = one_that_says(told, f"{box[2]} min: ")
        usual, scale = map(float, re.findall(r"([\d.]+) usual × ([\d.]+) for this", made)[0])
        assert usual * scale * 1.3 == pytest.approx(float(box[2]), rel=0.02)
        assert one_that_says(told, f"{scale:.2f}: ")


async def test_what_was_taken_out_and_what_went_elsewhere_is_said(tmp_path: Path) -> None:
    session = begun(tmp_path)
    interrupted(session)
    async with driven(session) as drive:
        await drive.press("question_mark")
        told = said(drive)
        assert "8 min of the sprint not counted: interrupted." in told
    assert session.state.elsewhere == {} or one_that_says(told, "2 min of it went")


async def test_what_waits_for_its_place_is_named(tmp_path: Path) -> None:
    session = begun(tmp_path)
    done(session, 5, EnterPhase("decoupling"))
    async with driven(session) as drive:
        await drive.press("question_mark")
        told = " ".join(said(drive))
        assert re.search(r"\d rows? waits? for placement", told)


async def test_before_the_first_forecast_the_plan_is_explained(tmp_path: Path) -> None:
    async with driven(begun(tmp_path)) as drive:
        drive.session.forecast = None
        screen = drive.screen
        assert isinstance(screen, SprintScreen)
        words = " ".join(" ".join(one.text for one in screen.numbers(80)).split())
        assert "Plan ends " in words
        assert "boxes, skipped essentials and closing list still take" in words
        assert "a forecast follows" in words


async def test_it_comes_first_and_the_rest_can_be_scrolled_to(tmp_path: Path) -> None:
    async with driven(begun(tmp_path), size=(40, 12)) as drive:
        await drive.press("question_mark")
        assert drive.lines[0].strip() == "The sprint"
        assert drive.lines[1].strip() == HEADING
        for _ in range(25):
            await drive.press("space")
        assert drive.line_with("Quit; the sprint goes on")
