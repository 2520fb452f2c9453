"""One calculation as text for a person: inputs, outputs, verdicts, what cures, what to draw."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from coach.cli.columns import columns
from phases.kit.bounds import FAIL, MARGINAL, NOT_APPLICABLE, PASS, Finding
from phases.kit.drivers import drivers
from phases.kit.fields import Table
from phases.kit.inputs import Reading
from phases.kit.judging import Judgement, Output
from phases.kit.remedies import remedies
from phases.kit.say import show
from phases.kit.sentences import verdict_sentence

_RIGHT = frozenset((2, 3, 4))
_CLOSING = {
    FAIL: "Fails.",
    MARGINAL: "All limits hold, with less margin than asked.",
    PASS: "All limits hold.",
    NOT_APPLICABLE: "No limit applies here.",
}


def calculation_lines(judgement: Judgement) -> list[str]:
    """The whole calculation; sections that have nothing to say are left out."""
    kind = type(judgement.calculation)
    listings = {**judgement.listings, **judgement.later_listings()}
    sections = [
        ("Inputs", _inputs(judgement)),
        ("Outputs", _outputs(judgement.outputs)),
        *((kind.listings[name].title.capitalize(), _rows(rows))
          for name, rows in listings.items()),
        ("Limits", columns([(v.verdict, verdict_sentence(v)) for v in judgement.verdicts])),
        ("What would cure it", [f"  {remedy.words}." for remedy in remedies(judgement)]),
        ("What costs most of the margin", _drivers(judgement)),
        ("To draw", columns([(part.role, part.words) for part in judgement.parts])),
        ("Worth knowing", [f"  {_finding(note)}" for note in judgement.notes]),
    ]  # fmt: skip
    lines = [f"{kind.title} ({kind.name})"]
    for title, section in sections:
        if section:
            lines += ["", title, *section]
    return [*lines, "", f"Source: {kind.source}", _CLOSING[judgement.verdict]]


def _inputs(judgement: Judgement) -> list[str]:
    kind = type(judgement.calculation)
    lines = columns(
        [(r.field, kind.fields[r.field].title, r.text or "-", r.origin) for r in judgement.readings]
    )
    for reading in judgement.readings:
        field = kind.fields[reading.field]
        if isinstance(field, Table) and reading.value is not None:
            lines += ["", f"  {field.name}, {field.title}", *_table(reading)]
    return lines


def _table(reading: Reading) -> list[str]:
    return _rows([dict(row) for row in reading.value.texts], indent="    ")


def _rows(rows: Sequence[Mapping[str, Any]], indent: str = "  ") -> list[str]:
    """Rows of words under the names of their columns."""
    names = list(dict.fromkeys(name for row in rows for name in row))
    if not names:
        return []
    cells = [[_cell(row.get(name)) for name in names] for row in rows]
    return columns([[name.replace("_", " ") for name in names], *cells], indent=indent)


def _cell(value: Any) -> str:
    if value is None or value == "":
        return "-"
    return f"{value:.4g}" if isinstance(value, float) else str(value)


def _outputs(outputs: Sequence[Output]) -> list[str]:
    if not outputs:
        return []
    rows = [["", "", "min", "typ", "max"]]
    for out in outputs:
        for figure in out.figures:
            title = f"{out.title} ({figure.row})" if figure.row else out.title
            values = (figure.low, figure.typ, figure.high)
            rows.append([out.name, title, *(show(value, out.unit) for value in values)])
    return columns(rows, right=_RIGHT)


def _drivers(judgement: Judgement) -> list[str]:
    limits = type(judgement.calculation).limits
    return columns(
        [
            (limits[one.limit].title, one.title, f"{_margin(one.gain, one.unit)} of margin")
            for one in drivers(judgement)
        ]
    )


def _margin(value: float, unit: str) -> str:
    return show(value, "K" if unit == "°C" else unit)


def _finding(finding: Finding) -> str:
    words = f"{finding.where}: {finding.what}".rstrip(".")
    return f"{words}. {finding.cure.rstrip('.')}." if finding.cure else f"{words}."
