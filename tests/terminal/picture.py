"""The pictures of README.md, drawn by the app itself in a sprint of its own.

python -m tests.terminal.picture shared/pictures
"""

from __future__ import annotations

import asyncio
import re
import sys
import tempfile
from pathlib import Path

from coach.sprint.commands import Draw, EnterPhase, Meet, Park, SaveCalculation, SignOff, Waive
from coach.sprint.keys import CalculationKey
from coach.sprint.ledger.to_draw import to_draw
from coach.sprint.session import Session
from coach.terminal.app import CoachApp
from coach.terminal.screens.calculator import CalculatorPane, CalculatorScreen
from tests.terminal.driving import Driven, begun, clock_of, driven

SIZE = (100, 26)
WIDE = (120, 28)
"""Columns from which a calculator opens beside the items."""


def half_way(session: Session) -> None:
    """A believable sprint up to the middle of clock and boot."""
    clock = clock_of(session)

    def work(minutes: float) -> None:
        clock.advance(minutes * 60)

    work(6)
    session.do(EnterPhase("power-entry"))
    work(7)
    session.do(SaveCalculation("type-c-sink", "j-usb"))
    session.do(SaveCalculation("load-budget"))
    session.do(SaveCalculation("drop-chain", "vbus"))
    for key in ("supply-contacts", "usb-data-pairs", "source-maximum"):
        if key in session.state.by_key:
            session.do(Meet(key))
    session.do(Draw(tuple((p.calculation, p.role) for p in to_draw(session.state))))
    work(3)
    session.do(SignOff("power-entry"))
    session.do(EnterPhase("regulation"))
    work(11)
    session.do(SaveCalculation("linear-regulator", "3v3"))
    session.do(Draw(tuple((p.calculation, p.role) for p in to_draw(session.state))))
    work(2)
    session.do(EnterPhase("debug-access"))
    work(5)
    session.do(EnterPhase("clock-boot"))
    work(6)
    session.do(SaveCalculation("strap"))
    session.do(SaveCalculation("indicator", "3v3"))
    session.do(Park("ask whether the display comes with its own pull-ups"))
    session.do(Meet("reset-defined"))
    session.do(Waive("bus-pull-ups@i2c1", "the display module brings them"))
    work(1)


async def draw(folder: Path) -> None:
    """sprint.svg and calculator.svg, both of the same moment."""
    with tempfile.TemporaryDirectory() as journals:
        async with driven(half_done(Path(journals), "one"), size=SIZE) as drive:
            write(drive.app, folder / "sprint.svg")
        async with driven(half_done(Path(journals), "other"), size=WIDE) as drive:
            await drive.show(CalculatorScreen(CalculationKey.of("linear-regulator", "3v3")))
            await too_hot(drive)
            write(drive.app, folder / "calculator.svg")


def half_done(folder: Path, name: str) -> Session:
    session = begun(folder, name=f"{name}.toml")
    half_way(session)
    return session


async def too_hot(drive: Driven) -> None:
    """A package in which the regulator fails, and all that is said of it has come."""
    pane = drive.screen.query_one(CalculatorPane)
    while "junction to ambient" not in drive.line_with("▸"):
        await drive.press("down")
    pane.entry.value = "220 K/W"
    for _ in range(40):
        await drive.pilot.pause(0.05)
        await drive.settled()


def write(app: CoachApp, path: Path) -> None:
    svg = app.export_screenshot(title="coach", simplify=True)
    # The picture names no address: any monospaced font will do.
    svg = re.sub(r"@font-face\s*{[^}]*}", "", svg)
    svg = re.sub(r"<!-- .*? -->", "", svg)
    svg = re.sub(r'<g transform="translate\(26,22\)">.*?</g>', "", svg, flags=re.DOTALL)
    svg = svg.replace("<svg ", '<svg xml:space="preserve" ', 1)
    svg = re.sub(r"font-family: ?[^;]*;", "font-family: monospace;", svg)
    # One name for the styles of both: the app makes a new one each time.
    svg = re.sub(r"terminal-\d+", "screen", svg)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(svg, encoding="utf-8")


if __name__ == "__main__":
    asyncio.run(draw(Path(sys.argv[1])))
