"""What stands side by side adds up as it is printed, in the terminal, in Markdown and in HTML."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import pytest

from coach.history.read_sprint import read_sprint
from coach.report.html import html_of
from coach.report.markdown import markdown_of
from coach.report.report import report_of
from coach.sprint.ending import from_the_cut_off
from coach.terminal.drawing.debrief_lines import debrief_text

SAMPLES = sorted((Path(__file__).parents[2] / "sessions").glob("sample-*.toml"))
SPAN = re.compile(r"(\d+):(\d\d) to (\d+):(\d\d)")

every_sample = pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)


def length(words: str) -> int:
    """ "1 h 12 min" in minutes; what is under a minute is none."""
    found = {unit: int(number) for number, unit in re.findall(r"(\d+) (h|min|s)\b", words)}
    return 60 * found.get("h", 0) + found.get("min", 0)


def minutes(spans: str) -> int:
    """ "0:07 to 0:24, 1:02 to 1:04" in minutes: 19."""
    return sum(
        60 * (int(hour) - int(hours)) + int(minute) - int(least)
        for hours, least, hour, minute in SPAN.findall(spans)
    )


class Cells(HTMLParser):
    """The cells of every table of a page, row by row."""

    def __init__(self) -> None:
        super().__init__()
        self.rows: list[list[str]] = []
        self._open = False

    def handle_starttag(self, tag: str, attrs: object) -> None:
        if tag == "tr":
            self.rows.append([])
        elif tag in ("td", "th"):
            self.rows[-1].append("")
            self._open = True

    def handle_endtag(self, tag: str) -> None:
        if tag in ("td", "th"):
            self._open = False

    def handle_data(self, data: str) -> None:
        if self._open:
            self.rows[-1][-1] += data


def printed(path: Path, show: str) -> list[tuple[str, str, str, str, str]]:
    """Of each phase as it is shown: planned, actual, box, used, difference."""
    report = report_of(read_sprint(path))
    if show == "terminal":
        text = debrief_text(report)
        below = text.partition("Phases, planned against actual")[2]
        table = re.split(r"\n\n \d ", below)[0]
        found = []
        for block in re.split(r"\n   (?=\S)", table)[1:]:
            head, _, below = block.partition("\n")
            box, used, difference = re.split(r"  +", head.strip())[1:]
            said = " ".join(below.split())
            planned = said.partition("planned ")[2].partition(";")[0]
            actual = said.partition("actual ")[2].partition(";")[0]
            found.append((planned, actual, box, used, difference))
        return found
    if show == "markdown":
        table = markdown_of(report).partition("### Phases, planned against actual")[2]
        rows = [
            [cell.strip() for cell in line.strip("|").split("|")]
            for line in table.partition("\n## ")[0].splitlines()
            if line.startswith("|")
        ][2:]
    else:
        page = Cells()
        page.feed(html_of(report))
        heads = [n for n, row in enumerate(page.rows) if row[:3] == ["phase", "planned", "actual"]]
        rows = [[" ".join(cell.split()) for cell in row] for row in page.rows[heads[0] + 1 :]]
        rows = rows[:9]
    return [(planned, actual, box, used, diff) for _, planned, actual, box, used, diff, *_ in rows]


@every_sample
@pytest.mark.parametrize("show", ["terminal", "markdown", "html"])
def test_what_a_phase_used_is_the_sum_of_the_times_beside_it(path: Path, show: str) -> None:
    rows = printed(path, show)
    assert len(rows) == 9
    for planned, actual, box, used, difference in rows:
        assert minutes(planned) == length(box)
        assert minutes(actual) == length(used)
        if used != "–":
            over = {"+": 1, "−": -1}.get(difference[0], 0) * length(difference)
            assert length(used) - length(box) == over
    for (before, *_), (after, *_) in pairwise(rows[:-1]):
        assert before.split()[-1] == after.split()[0]  # the closing list ends at the cut-off


@every_sample
def test_the_phases_and_what_was_not_counted_are_the_whole_sprint(path: Path) -> None:
    report = report_of(read_sprint(path))
    frame = dict(report.frame)
    away = minutes(report.section("timeline").lead)
    used = sum(length(row[3]) for row in printed(path, "terminal"))
    assert used + away == minutes(f"0:00 to {frame['ended']}")


@every_sample
def test_the_end_is_as_far_from_the_cut_off_as_the_two_times_say(path: Path) -> None:
    read = read_sprint(path)
    frame = dict(report_of(read).frame)
    apart = minutes(f"{frame['ended']} to {frame['cut-off']}")
    side = "before" if apart > 0 else "after"
    assert from_the_cut_off(read.state).endswith(f" {side} the cut-off")
    assert length(from_the_cut_off(read.state)) == abs(apart)
