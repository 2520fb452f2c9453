"""How a sprint ended, and what was forgotten in it, is worded once, for every show of it."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.history.describe import outcome
from coach.history.ended import ended_sprint
from coach.history.read_sprint import read_sprint
from coach.history.trends import trends_of
from coach.history.trends_text import trends_text
from coach.report.report import report_of
from coach.sprint.commands import End
from coach.sprint.ending import how_it_ended
from coach.sprint.events.naming import Naming
from coach.sprint.events.summary import SummedUp, forgotten_words
from coach.sprint.gates.forgotten import due, forgotten, never_answered, not_reached
from coach.sprint.gates.gates import open_essentials
from phases.kit.items import CLOSING_ID
from tests.report.conftest import reported
from tests.sprint.conftest import Bench


@pytest.mark.parametrize(
    ("minutes", "end", "says"),
    [
        (30, None, "Still running, 1 h 30 min before the cut-off: nothing here is final."),
        (123, None, "Still running, 3 min after the cut-off: nothing here is final."),
        (117, True, "The order was accepted and paid 3 min before the cut-off."),
        (123, True, "The order was accepted and paid 3 min after the cut-off."),
        (90, False, "The sprint ended without an order 30 min before the cut-off."),
    ],
)
def test_every_show_of_a_sprint_says_alike_how_it_ended(
    bench: Bench, minutes: float, end: bool | None, says: str
) -> None:
    bench.at(minutes)
    if end is None:
        bench.session.tick()
        bench.session.leave()
    else:
        bench.session.do(End(accepted=end))
    assert how_it_ended(bench.state) == says
    assert outcome(bench.state)[0] == says
    report = reported(bench.path)
    assert report.ending == says
    assert report.section("happened").points[0].text == says


# ---- what was forgotten --------------------------------------------------------------------------

SAMPLES = sorted((Path(__file__).parents[2] / "sessions").glob("sample-*.toml"))


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_every_show_of_a_sprint_counts_alike_what_was_forgotten(path: Path) -> None:
    """The journal told, its summary, the debrief and trends; whoever stops early forgets less than
    stays open."""
    read = read_sprint(path)
    missed, of = len(forgotten(read.state)), len(due(read.state))
    words = forgotten_words(missed, of)
    assert any(line.startswith(words) for line in outcome(read.state))
    summaries = [one.event for one in read.counted if isinstance(one.event, SummedUp)]
    assert (summaries[-1].forgotten, summaries[-1].due) == (missed, of)
    assert words in summaries[-1].told(Naming(read.setup, read.history))
    report = report_of(read)
    assert report.section("forgotten").lead.startswith(words)
    assert trends_of([ended_sprint(path)]).forgotten == (missed, of)
    assert f"{words}." in " ".join(trends_text(trends_of([ended_sprint(path)])))
    still = open_essentials(read.state)
    counted = missed + len(not_reached(read.state)) + len(never_answered(read.state))
    closing = sum(row.item.phase == CLOSING_ID for row in forgotten(read.state))
    assert counted - closing == len(still)  # no sample has anything open again at its end


def test_a_sprint_given_up_forgot_what_lay_behind_and_never_reached_the_rest() -> None:
    (path,) = (one for one in SAMPLES if one.stem.endswith("hurried"))
    said = report_of(read_sprint(path)).section("forgotten").lead
    assert said.startswith("6 essentials were forgotten, of 40 that were due: ")
    assert " 9 more never reached. 1 never answered. " in said
