"""The report of one sprint: every section that has something to say, in the order of the page; and
its file, complete or not at all, never over something else."""

from __future__ import annotations

from pathlib import Path

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
from coach.sprint.atomic_write import overwrite_own
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


# ---- a file of it ------------------------------------------------------------------------------

_HTML_HEAD, _HTML_TITLE = b"<!doctype html>", b"<title>debrief: "
_MARKDOWN_HEAD, _MARKDOWN_END = b"# Debrief: ", b"\nJournal: "


def write_report(path: Path, text: str) -> None:
    """Puts a debrief at `path`; an earlier one there gives way.

    Raises Refusal, and changes nothing, where another file is in its place (a journal, a brief) and
    where it cannot be written.
    """
    overwrite_own(path, text, what="The debrief", none="is not a debrief", own=_is_debrief)


def _is_debrief(head: bytes, end: bytes) -> bool:
    """Told by its beginning and its end."""
    if head.startswith(_MARKDOWN_HEAD):
        return b"\n" not in end.rpartition(_MARKDOWN_END)[2].rstrip() and _MARKDOWN_END in end
    lowered = head.lower()
    return lowered.startswith(_HTML_HEAD) and _HTML_TITLE in lowered
