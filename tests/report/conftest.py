"""Rehearsed sprints whose script is known, made once; and a small sprint to be made by hand."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from coach.history.read_sprint import read_sprint
from coach.report.account import Account
from coach.report.report import report_of
from coach.report.sections import Point, Report, Section
from coach.sprint.clock import ManualClock
from coach.sprint.commands import (
    DropFeature,
    End,
    EnterPhase,
    FinishWalk,
    Interrupt,
    MeasurePoint,
    Meet,
    MoveCutOff,
    NoteChange,
    NoteFinding,
    Park,
    ReachStage,
    SetFact,
    Undo,
    Waive,
)
from coach.sprint.rehearsal.rehearse import Report as Rehearsal
from coach.sprint.session import Session
from phases.kit.catalogue import calculators
from tests.rehearsals import Rehearsals, Script
from tests.sprint.conftest import (  # noqa: F401  # begin and bench are fixtures
    NINE,
    Bench,
    begin,
    bench,
    bench_setup,
)
from tests.sprint.lamp import CALCULATORS, CLOSING, PHASES, lamp_brief

Rehearsed = Callable[[Script], tuple[Rehearsal, Account]]
Debriefed = Callable[[Script], Report]


@pytest.fixture(scope="session")
def rehearsed(rehearsed_once: Rehearsals) -> Rehearsed:
    """What is known of who followed a script, and what the journal shows."""

    @cache
    def of(script: Script) -> tuple[Rehearsal, Account]:
        known = rehearsed_once(**script.options)
        return known, told(known.path)

    return of


@pytest.fixture(scope="session")
def debriefed(rehearsed: Rehearsed) -> Debriefed:
    """The whole report on who followed a script."""
    return cache(lambda script: report_of(rehearsed(script)[1].read))


@pytest.fixture(scope="session")
def lamp_journal(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The journal of the bench lamp with something of everything in it, read over and over."""
    path = tmp_path_factory.mktemp("lamp") / "lamp.toml"
    with pytest.MonkeyPatch.context() as patch:
        for kind in CALCULATORS:
            patch.setitem(calculators(), kind.name, kind)
        clock = ManualClock(NINE)
        setup = bench_setup(lamp_brief(), phases=PHASES, closing=CLOSING)
        _something_of_everything(Bench(Session.start(path, setup, clock), clock, path))
    return path


def _something_of_everything(bench: Bench) -> None:  # noqa: F811
    into(bench, "power-entry", 5)
    bench.do(Meet("entrance-clamp", "data sheet", "page 3"))
    bench.save("sum-of-loads")
    into(bench, "regulation", 15)
    bench.session.recall({"debug-pins": (2, 5)})
    bench.save("series-resistor", "3v3")
    bench.draw_all()
    bench.do(Waive("output-seen@1v8", "Fed by the tested one"))
    bench.do(Meet("output-seen@3v3", figure="1.8 mm"))
    bench.at(27)
    bench.session.tick()
    bench.do(Interrupt())
    bench.do(NoteChange("regulator-part"))
    bench.do(Park("Which cable"))
    into(bench, "layout", 40)
    bench.do(ReachStage("placement"))
    bench.do(Meet("supply-contacts"))
    bench.do(FinishWalk("schematic", 3, 1))
    bench.do(Waive("debug-pins", "the wrong row"))
    bench.do(Undo())
    bench.save("pull-up")
    bench.do(SetFact("second_supply", True))
    bench.do(DropFeature("talk"))
    bench.do(MoveCutOff("+10 min", "The courier is late"))
    bench.at(68)
    bench.session.tick()
    into(bench, "closing", 100)
    bench.do(Meet("accepted-and-paid"))
    bench.do(End(accepted=True))
    bench.session.close()
    session = Session.afterwards(bench.path, bench.clock)
    session.do(NoteFinding("R5 is 10 kΩ", "output-seen@3v3", "1", "25", "Swapped"))
    session.do(NoteFinding("Hole too small"))
    session.do(MeasurePoint("1", "rail.3v3", "Main supply", "3.61 V", "V", 3.2, 3.4))
    session.close()


def told(path: Path) -> Account:
    """What the journal at a path shows."""
    return Account(read_sprint(path))


def told_of(bench: Bench) -> Account:  # noqa: F811
    return told(bench.path)


def reported(path: Path) -> Report:
    return report_of(read_sprint(path))


def plain(section: Section) -> list[tuple[str, str]]:
    """The sentences of a section, each with its evidence."""
    return [(one.text, one.evidence) for one in section.points]


def texts(section: Section) -> list[str]:
    return [one.text for one in section.points]


def words_of(section: Section) -> str:
    """Everything its sentences say, what is below them too."""

    def said(point: Point) -> str:
        return " ".join((point.mark, point.text, point.evidence, *map(said, point.below)))

    return " ".join(map(said, section.points))


def into(bench: Bench, phase: str, minutes: float) -> None:  # noqa: F811
    """Enters a phase when so many minutes have elapsed."""
    bench.at(minutes)
    bench.session.do(EnterPhase(phase))
