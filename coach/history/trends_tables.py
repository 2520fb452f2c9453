"""Trends for other programs: one row an item as CSV, everything as JSON."""

from __future__ import annotations

import csv
import io
import json
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from coach.history.ended import EndedSprint
from coach.history.learning_curve import Curve
from coach.history.trends import ItemCount, Trends, pace_drawn
from coach.sprint.atomic_write import overwrite_own
from coach.sprint.events.summary import SummedUp

COLUMNS: Mapping[str, str] = {
    "item": "its id",
    "statement": "what must be so",
    "phase": "the phase it belongs to",
    "severity": "what missing it costs",
    "essential": "yes, or no for one of the more checks",
    "sprints": "sprints known to have it on the board; of an essential, when its turn came",
    "forgotten": "of these, in which it was still open at the end",
    "rate_low": "true rate of forgetting, lower end of Wilson's 95 % interval",
    "rate_high": "and the upper end",
    "cautious_rate": "(forgotten + 1) / (sprints + 9): what the rows are ranked by",
    "own_sprints": "of these sprints, those that were not rehearsed",
    "own_forgotten": "in which of these it was forgotten",
    "only_asked": "sprints in which nobody ever said whether it is on the board; else not counted",
    "again": "sprints in which it was forgotten after the first such one",
    "recent_forgotten": "forgotten in the last eight sprints",
    "recent_sprints": "of the last eight sprints, those in which its turn came",
    "late": "sprints in which it was closed late",
    "waived": "sprints in which it was waived",
    "reopened": "sprints in which it was opened again",
    "dismissed": "sprints in which the person said that it is not on this board",
    "escapes": "late findings it let through",
    "asked_first": "yes where the next sprint asks it first",
}
"""The columns of the CSV, and what each holds."""

FORMAT = "coach trends 1"
_ALSO = {
    Trends: ("enough_for_a_trend",),
    ItemCount: ("cautious", "asked_first"),
    Curve: ("rate", "rates", "claim"),
}
"""What the JSON has beside the fields."""

_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def csv_of(trends: Trends) -> str:
    """One row an item, as ranked; the first row names the columns (RFC 4180)."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for one in trends.items:
        writer.writerow([_cell(value) for value in _row(one)])
    return out.getvalue()


def _row(one: ItemCount) -> Sequence[object]:
    low, high = one.interval if one.interval is not None else ("", "")
    known = one.about
    return (
        one.item,
        known.statement,
        known.phase,
        known.severity,
        known.essential,
        one.sprints,
        one.forgotten,
        low,
        high,
        one.cautious,
        *reversed(one.own),
        one.asked,
        one.again,
        *one.recent,
        one.late,
        one.waived,
        one.reopened,
        one.dismissed,
        one.escapes,
        one.asked_first,
    )


def _cell(value: object) -> str:
    """A cell. A text that a spreadsheet would take for a formula gets an apostrophe in front."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.4f}"
    text = str(value)
    return f"'{text}" if isinstance(value, str) and text.startswith(_FORMULA) else text


def json_of(trends: Trends, sprints: Sequence[EndedSprint]) -> str:
    """Everything: the counts, and a line for each sprint. Times are seconds from its start; one
    `given_up` at once is in no count; of the items of a sprint, numbers that are nought are left
    out."""
    head = f'{{"format": {_dumped(FORMAT)},\n"counts": {_dumped(trends)},\n"sprints": ['
    rows = (f"\n{_dumped(_sprint(one))}" for one in sprints)
    return f"{head}{','.join(rows)}\n]}}\n"


def _sprint(one: EndedSprint) -> dict[str, object]:
    run, summary = one.run, one.summary
    return {
        "path": one.path,
        "title": run.title,
        "started": run.started,
        "rehearsed": run.rehearsed,
        "speed": run.speed,
        "deadline": summary.deadline,
        "ended_at": summary.ended_at,
        "accepted": summary.accepted,
        "given_up": summary.given_up,
        "in_time": summary.in_time,
        "items": [*_items(summary)],
        "phases": summary.phases,
        "forecasts": summary.forecasts,
        "findings": summary.findings,
        "faults": one.faults,
        "forgotten": summary.forgotten,
        "due": summary.due,
        "pace": pace_drawn(summary),
    }


def _items(summary: SummedUp) -> Iterator[dict[str, object]]:
    escapes = Counter(found.item for found in summary.findings if found.item)
    for item in dict.fromkeys([*summary.by_item, *escapes]):
        went = _fields(summary.by_item[item]) if item in summary.by_item else {}
        numbers = {**went, "items": 0, "escapes": escapes[item]}
        yield {"item": item, **{name: number for name, number in numbers.items() if number}}


def _dumped(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False, default=_plain)


def _plain(value: Any) -> object:
    """What JSON has no form of its own for."""
    if isinstance(value, datetime):
        return value.isoformat()
    return str(value) if isinstance(value, Path) else _fields(value)


def _fields(value: Any) -> dict[str, object]:
    names = [*value.__dataclass_fields__, *_ALSO.get(type(value), ())]
    return {name: getattr(value, name) for name in names}


def write_table(path: Path, text: str) -> None:
    """Puts a CSV or JSON of trends at `path`: whole or not at all; an earlier one gives way.

    Raises Refusal, and changes nothing, where another file stands there (a journal, a brief) and
    where it cannot be written.
    """
    overwrite_own(path, text, what="The table", none="holds no trends", own=_is_table)


def _is_table(head: bytes, end: bytes) -> bool:
    # The first columns only: an older coach had fewer of them.
    heads = (",".join([*COLUMNS][:7]).encode(), f'{{"format": "{FORMAT}"'.encode())
    return head.startswith(heads)
