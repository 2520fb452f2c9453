"""The report of one sprint: every section that has something to say, in the order of the page."""

from __future__ import annotations

from coach.history.read_sprint import FORGED, SprintRead
from coach.report.account import Account
from coach.report.after_production import findings, measured, put_aside
from coach.report.calls_and_forecasts import calls, forecasts
from coach.report.item_outcomes import forgotten, items, late, reopened, waived
from coach.report.margins import curves, margins
from coach.report.recommendations import recommendations
from coach.report.review import happened, planned, variance
from coach.report.sections import Report
from coach.report.three_sentences import sentences
from coach.report.timeline import timeline
from coach.report.to_change import to_change
from coach.sprint.durations import duration, elapsed
from coach.sprint.ending import how_it_ended
from phases.kit.refusals import Refusal
from phases.kit.text import one_line

SECTIONS = (
    to_change,
    forgotten,
    sentences,
    planned,
    happened,
    variance,
    recommendations,
    timeline,
    late,
    waived,
    reopened,
    items,
    margins,
    curves,
    calls,
    forecasts,
    findings,
    measured,
    put_aside,
)


def report_of(read: SprintRead) -> Report:
    """What there is to say of a sprint, running or ended. Raises Refusal where its journal is well
    formed and yet no coach can have written it."""
    try:
        return _told(Account(read))
    except FORGED as fault:
        raise Refusal(
            f"This journal cannot be told ({type(fault).__name__})",
            where=one_line(str(read.path)),
            do="See what is intact with coach verify",
        ) from fault


def _told(account: Account) -> Report:
    sections = [make(account) for make in SECTIONS]
    return Report(
        title=account.setup.brief.title,
        path=account.read.path,
        started=account.setup.started,
        kind=account.setup.kind,
        ending=how_it_ended(account.state),
        in_time=account.in_time if account.state.ended else None,
        frame=_frame(account),
        faults=account.read.faults,
        sections=tuple(one for one in sections if not one.is_empty),
    )


def _frame(account: Account) -> tuple[tuple[str, str], ...]:
    state = account.state
    return (
        ("cut-off", elapsed(state.deadline)),
        ("reserve", duration(account.setup.reserve)),
        ("ended" if state.ended else "last entry", elapsed(account.end)),
        ("order", "accepted" if state.accepted else "not accepted"),
    )
