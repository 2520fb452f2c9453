"""One calculation as text for a person: inputs, outputs, verdicts, what fixes it, what to draw."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from coach.cli.columns import columns
from phases.kit.bounds import FAIL, MARGINAL, NOT_APPLICABLE, PASS
from phases.kit.drivers import drivers
from phases.kit.fields import Table
from phases.kit.grammar import yes_or_no
from phases.kit.judging import Judgement
from phases.kit.remedies import remedies
from phases.kit.say import show, show_difference
from phases.kit.sentences import verdict_sentence

_RIGHT = frozenset((2, 3, 4))
_CLOSING = {
    FAIL: "Fails.",
    MARGINAL: "All limits pass, with less margin than asked.",
    PASS: "All limits pass.",
    NOT_APPLICABLE: "No limits to check.",
}


def calculation_lines(judgement: Judgement) -> list[str]:
    """The whole calculation; sections that have nothing to say are left out."""
    kind = type(judgement.calculation)
    limits, listings = kind.limits, {**judgement.listings, **judgement.later_listings()}
    sections = {
        "Inputs": _inputs(judgement),
        "Outputs": _outputs(judgement),
        **{kind.listings[name].title.capitalize(): _table(rows) for name, rows in listings.items()},
        "Limits": columns([(one.verdict, verdict_sentence(one)) for one in judgement.verdicts]),
        "What would fix it": [f"  {remedy.words}." for remedy in remedies(judgement)],
        "Largest contributors": columns(
            [
                (limits[d.limit].title, d.title, f"{show_difference(d.gain, d.unit)} of margin")
                for d in drivers(judgement)
            ]
        ),
        "To draw": columns([(part.role, part.words) for part in judgement.parts]),
        "Notes": [f"  {note.words}" for note in judgement.notes],
    }
    lines = [f"{kind.title} ({kind.name})"]
    for title, section in sections.items():
        lines += ["", title, *section] if section else []
    return [*lines, "", f"Source: {kind.source}", _CLOSING[judgement.verdict]]


def _inputs(judgement: Judgement) -> list[str]:
    """Each input by its name and title, then the rows of those that are tables."""
    fields = type(judgement.calculation).fields
    read = [(fields[one.field], one) for one in judgement.readings]
    lines = columns([(field.name, field.title, one.text or "-", one.origin) for field, one in read])
    for field, one in read:
        if isinstance(field, Table) and one.value is not None:
            rows = _table(one.value.texts, indent="    ")
            lines += ["", f"  {field.name}, {field.title}", *rows]
    return lines


def _outputs(judgement: Judgement) -> list[str]:
    rows = [
        (
            out.name,
            f"{out.title} ({figure.row})" if figure.row else out.title,
            *(show(value, out.unit) for value in (figure.low, figure.typ, figure.high)),
        )
        for out in judgement.outputs
        for figure in out.figures
    ]
    return columns([("", "", "min", "typ", "max"), *rows], right=_RIGHT) if rows else []


def _table(rows: Sequence[Mapping[str, Any]], indent: str = "  ") -> list[str]:
    """Rows of cells under the names of their columns."""
    names = list(dict.fromkeys(name for row in rows for name in row))
    cells = [[_cell(row.get(name)) for name in names] for row in rows]
    return columns([names, *cells], indent=indent) if names else []


def _cell(value: Any) -> str:
    if value is None or value == "":
        return "-"
    return f"{value:.4g}" if isinstance(value, float) else yes_or_no(value)
