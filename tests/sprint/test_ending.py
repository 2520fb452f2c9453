"""How a sprint ended is worded once, for every show of it."""

from __future__ import annotations

import pytest

from coach.history.describe import outcome
from coach.sprint.commands import End
from coach.sprint.ending import how_it_ended
from tests.report.conftest import reported
from tests.sprint.conftest import Bench


@pytest.mark.parametrize(
    ("minutes", "end", "says"),
    [
        (30, None, "Still running, 1 h 30 min before the cut-off: nothing here is final."),
        (123, None, "Still running, 3 min after the cut-off: nothing here is final."),
        (117, True, "The order was accepted and paid 3 min before the cut-off."),
        (123, True, "The order was accepted and paid 3 min after the cut-off."),
        (90, False, "It ended without an order, 30 min before the cut-off."),
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
