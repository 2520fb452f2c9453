"""Trends for other programs: one row an item as CSV, everything as JSON."""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import is_dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from coach.debrief.trends.counting import ItemCount, Trends
from coach.debrief.trends.learning import Curve
from coach.debrief.trends.line import SprintLine
from coach.sprint.whole_file import write_over_own

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
        one.item, known.statement, known.phase, known.severity, known.essential, one.sprints,
        one.forgotten, low, high, one.cautious, *reversed(one.own), one.asked, one.again,
        *one.recent, one.late, one.waived, one.reopened, one.dismissed, one.escapes,
        one.asked_first,
    )  # fmt: skip


def _cell(value: object) -> str:
    """A cell. A text that a spreadsheet would take for a formula gets an apostrophe in front."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.4f}"
    text = str(value)
    return f"'{text}" if isinstance(value, str) and text.startswith(_FORMULA) else text


def json_of(trends: Trends, lines: Sequence[SprintLine]) -> str:
    """Everything: the counts, and a line for each sprint. Times are seconds from its start; one
    `given_up` at once is in no count; of the items of a sprint, numbers that are nought are left
    out."""
    counts = {**_plain(trends), "enough_for_a_trend": trends.enough}
    head = f'{{"format": {_dumped(FORMAT)},\n"counts": {_dumped(counts)},\n"sprints": ['
    rows = (f"\n{_dumped(_sprint(one))}" for one in lines)
    return f"{head}{','.join(rows)}\n]}}\n"


def _dumped(plain: object) -> str:
    return json.dumps(plain, ensure_ascii=False, allow_nan=False)


def _sprint(one: SprintLine) -> dict[str, Any]:
    plain = {
        name: _plain(getattr(one, name))
        for name in SprintLine.__dataclass_fields__
        if name not in ("about", "names")
    }
    plain["items"] = [{k: v for k, v in one.items() if v} for one in plain["items"]]
    return {**plain, "forgotten": one.forgotten, "due": one.due, "pace": _plain(one.pace)}


def _plain(value: Any) -> Any:
    """As JSON has it; what is no number in it becomes null."""
    if isinstance(value, Curve):
        ends = _plain(value.rates)
        return {**_fields(value), "rate": _plain(value.rate), "rates": ends, "claim": value.claim}
    if isinstance(value, ItemCount):
        return {
            **_fields(value), "cautious": value.cautious, "asked_first": value.asked_first,
        }  # fmt: skip
    if is_dataclass(value) and not isinstance(value, type):
        return _fields(value)
    if hasattr(value, "_asdict"):
        return {name: _plain(one) for name, one in value._asdict().items()}
    if isinstance(value, Mapping):
        return {str(key): _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    if isinstance(value, datetime):
        return value.isoformat()
    return str(value) if isinstance(value, Path) else value


def _fields(value: Any) -> dict[str, Any]:
    return {name: _plain(getattr(value, name)) for name in value.__dataclass_fields__}


def write_table(path: Path, text: str) -> None:
    """Puts a CSV or JSON of trends at `path`: whole or not at all; an earlier one gives way.

    Raises Refusal, and changes nothing, where another file stands there (a journal, a brief) and
    where it cannot be written.
    """
    write_over_own(path, text, what="The table", none="holds no trends", own=_is_table)


def _is_table(head: bytes, end: bytes) -> bool:
    # The first columns only: an older coach had fewer of them.
    heads = (",".join([*COLUMNS][:7]).encode(), f'{{"format": "{FORMAT}"'.encode())
    return head.startswith(heads)
