"""A cut-off of the brief, on the two nights of the year when the clocks change: the head says how
long there really is, and the times of day are those the clocks will show."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from pathlib import Path

import pytest

from coach.sprint.brief.loading import parse_brief
from coach.sprint.clock import ManualClock
from coach.sprint.session import start_sprint
from phases.kit.shared_data import shared_dir
from tests.terminal.driving import driven


@pytest.mark.parametrize(
    ("start", "heads"),
    [
        # 00:30 +01:00; at 02:00 the clocks go to 03:00
        (
            datetime(2026, 3, 28, 23, 30, tzinfo=UTC),
            ["00:30  3 h 0 min left", "01:30  2 h 0 min left", "03:30  1 h 0 min left"],
        ),
        # 00:30 +02:00; at 03:00 the clocks go back to 02:00
        (
            datetime(2026, 10, 24, 22, 30, tzinfo=UTC),
            [
                "00:30  5 h 0 min left",
                "01:30  4 h 0 min left",
                "02:30  3 h 0 min left",
                "02:30  2 h 0 min left",
                "03:30  1 h 0 min left",
            ],
        ),
    ],
    ids=["to summer time", "back"],
)
async def test_the_head_says_the_true_time_left_and_the_time_the_clocks_show(
    tmp_path: Path, start: datetime, heads: list[str]
) -> None:
    text = (shared_dir() / "briefs" / "usb-bench-meter.toml").read_text(encoding="utf-8")
    own = 'cut_off = "04:30"\nzone = "Europe/Berlin"'
    text, changed = re.subn(r"^minutes = 120$", own, text, count=1, flags=re.MULTILINE)
    assert changed == 1
    brief = parse_brief(text, where="own.toml")
    session = start_sprint(brief, tmp_path / "night.toml", ManualClock(start))
    async with driven(session, size=(100, 30)) as drive:
        for number, head in enumerate(heads):
            if number:
                await drive.later(3600.0)
            (clock,) = (line for line in drive.lines if re.match(r" \d\d:\d\d  ", line))
            assert clock.startswith(f" {head}   cut-off 04:30 ")
        await drive.later(3600.0 + 120.0)
        assert drive.line_with(" 04:32  2:00 min past the cut-off")
