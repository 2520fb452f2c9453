"""A calculation as lines: its verdict, inputs, outputs, limits, and what to do about them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from coach.terminal.drawing.input_lines import (
    NARROW,
    InputLine,
    column_sizes,
    in_columns,
    input_lines,
    lines_of_readings,
)
from coach.terminal.drawing.lines import (
    Line,
    Span,
    cut,
    fit,
    line,
    paragraph,
    right,
    spread_out,
    wrapped,
)
from phases.kit.answers import headline, limit_named
from phases.kit.bounds import FAIL, MARGINAL, NOT_APPLICABLE, PASS, VERDICTS, Finding
from phases.kit.calculator import Calculator
from phases.kit.drivers import Driver
from phases.kit.fields import Quantity
from phases.kit.grammar import yes_or_no
from phases.kit.judging import Figure, Judgement
from phases.kit.remedies import Remedy
from phases.kit.say import show
from phases.kit.sentences import verdict_sentence
from phases.kit.units import PREFIXES, UNITS

VERDICT_ROLES = {PASS: "done", MARGINAL: "doubt", FAIL: "due", NOT_APPLICABLE: "quiet"}
FORMULAS = "Formulas"
_NO_CURE = "No single input change fixes it."
_WORD = 10
_MOST_LINES = 8
_MOST_DRIVEN = 3


@dataclass(frozen=True, slots=True)
class Advice:
    """What follows a judgement a moment later."""

    remedies: tuple[Remedy, ...]
    drivers: tuple[Driver, ...]
    listings: Mapping[str, list[dict[str, Any]]] = field(default_factory=dict)


def calculation_lines(
    judgement: Judgement | None,
    *,
    width: int,
    cursor_field: str = "",
    advice: Advice | None = None,
    inputs: Sequence[InputLine] | None = None,
    source: bool = False,
    curve: str = "",
) -> list[Line]:
    """Everything a calculation says below its verdict.

    judgement: None where nothing could be judged yet; then only `inputs` are shown. cursor_field:
    the key of the line being typed in. inputs: the lines of input where they are being typed.
    source: with formulas and where they are from. curve: in words, where it is not drawn.
    """
    if inputs is None and judgement is not None:
        read = lines_of_readings(type(judgement.calculation), judgement.readings)
        inputs = [one for one in read if one.row is None or one.cells]
    found = _section("Inputs", input_lines(inputs or (), width, cursor_field))
    if judgement is None:
        return found
    found += _outputs(judgement, width)
    found += _listings(judgement, advice, width)
    found += _section("Limits", _limits(judgement, width))
    found += _advice(judgement, advice, width)
    found += _section("To draw", _all_hanging([p.words for p in judgement.parts], width))
    found += _section("Curve", _all_hanging([curve] if curve else (), width))
    found += _section("Notes", [row for note in judgement.notes for row in _note(note, width)])
    return found + (_source(judgement, width) if source else [])


def _section(title: str, lines: Iterable[Line], words: str = "") -> list[Line]:
    """Lines under their heading; nothing where there are none."""
    found = list(lines)
    return [line(Span(title, "title"), Span(words, "quiet")), *found] if found else []


def _hanging(first: Span, text: str, width: int, role: str = "plain") -> list[Line]:
    """A word and a text beside it, broken where the line ends; on a strip also below the word."""
    word, indent = first.text, len(first.text) + 2
    if width < NARROW and word:
        word, indent = f"{word.rstrip()}  ", 4
    lead = "·" * (len(word) + 2 - indent)  # takes the room of the word in the first line
    parts = wrapped(lead + text, max(width - indent, 12), _MOST_LINES)
    parts[0] = parts[0].removeprefix(lead)
    rest = [line(" " * indent, Span(part, role)) for part in parts[1:]]
    return [line("  ", Span(word, first.role), Span(parts[0], role)), *rest]


def _all_hanging(texts: Iterable[str], width: int, role: str = "plain") -> list[Line]:
    return [row for text in texts for row in _hanging(Span(""), text, width, role)]


def name_line(kind: type[Calculator], subject: str, status: str, width: int) -> Line:
    """Which calculation this is. status: whether it is saved."""
    spans = [Span(kind.title, "title"), Span(f"  {subject}" if subject else "", "title")]
    if width >= 70:
        spans.append(Span(f"   {kind.question}", "quiet"))
    return spread_out(spans, (Span(status, "quiet"),), width)


# ---- the verdict ---------------------------------------------------------------------------------


def headline_lines(judgement: Judgement | None, width: int, unread: str = "") -> list[Line]:
    """The verdict in a sentence, marked where what is typed now could not be judged."""
    words, role = f"Not judged. {unread}", "due"
    if judgement is not None:
        words, role = headline(judgement), VERDICT_ROLES[judgement.verdict]
        if unread:
            words, role = f"Last valid result; current entry not understood: {words}", "quiet"
    return paragraph(words, width, 3, role, indent=0)


def cure_line(judgement: Judgement, advice: Advice | None, width: int) -> list[Line]:
    """What would fix it in one line, for under the verdict; none where nothing has to be."""
    if judgement.verdict not in (FAIL, MARGINAL):
        return []
    if advice is None:
        return [line(Span("Looking for what would fix it", "quiet"))]
    if not advice.remedies:
        return [line(Span(_NO_CURE, "quiet"))]
    first, *others = (remedy.words for remedy in advice.remedies[:3])
    also = [way.removeprefix("Passes with ") for way in others]
    return [line(Span(cut(", or ".join((first, *also)), width), "next"))]


# ---- outputs -------------------------------------------------------------------------------------


def scaled(values: Sequence[float], symbol: str) -> tuple[list[str], str]:
    """Values in SI as numbers under one prefix, that of the largest, and the unit with it."""
    finite = [abs(value) for value in values if math.isfinite(value)]
    label, unit = show(max(finite, default=0.0), symbol).partition(" ")[2], UNITS[symbol]
    prefix = PREFIXES.get(label.removesuffix(unit.si), 1.0)
    scale = unit.factor if unit.ladder == ("",) else prefix
    return [show(value / scale, "1") for value in values], label


def _outputs(judgement: Judgement, width: int) -> list[Line]:
    """Min, typ and max of each under one prefix, aligned on the unit; on a strip the typical value
    gives way."""
    heads = ("min", "typ", "max") if width >= NARROW else ("min", "max")
    number = 10 if width >= 64 else 8 if width >= 54 else 7
    room = max(width - len(heads) * number - 6, 10)

    def row(name: Span, numbers: Sequence[str], unit: str, role: str = "plain") -> Line:
        title = Span(fit(cut(name.text, room - 1), room), name.role)
        cells = "".join(right(word, number) for word in numbers)
        return line(title, Span(cells, role), Span(f" {unit}", "quiet"))

    found: list[Line] = []
    for out in judgement.outputs:
        found += [line(f"  {out.title}")] if out.along is not None else []
        for one in out.figures:
            name = f"  {out.title}" if out.along is None else f"    {one.row or ''}"
            found.append(row(Span(name), *_numbers(one, out.unit, len(heads))))
    return [row(Span("Outputs", "title"), heads, "", "quiet"), *found] if found else []


def _numbers(figure: Figure, symbol: str, count: int) -> tuple[Sequence[str], str]:
    """The three or two numbers of a figure, one where it is exact; and their unit."""
    (low, typ, high), unit = scaled((figure.low, figure.typ, figure.high), symbol)
    exact = figure.low == figure.high or math.isnan(figure.typ)
    if count == 2:
        return ("", typ) if exact else (low, high), unit
    return ("", typ, "") if exact else (low, typ, high), unit


def _listings(judgement: Judgement, advice: Advice | None, width: int) -> list[Line]:
    """Answers that are lists; some follow a moment later."""
    found: list[Line] = []
    made = {**(advice.listings if advice is not None else {}), **judgement.listings}
    for name, declared in type(judgement.calculation).listings.items():
        if name in made:
            rows = _table(made[name], width) or [line(Span("  none", "quiet"))]
            found += _section(declared.title, rows)
        elif advice is None:
            found += _section(declared.title, [line(Span("  looking", "quiet"))])
    return found


def _table(rows: Sequence[Mapping[str, Any]], width: int) -> list[Line]:
    """Rows in columns, the names of the columns above them."""
    names = list(rows[0]) if rows else []
    words = [[_word(row.get(name)) for name in names] for row in rows]
    sizes, roles = column_sizes(names, words, width - 2), ("quiet", *["plain"] * len(rows))
    return [
        line(Span(f"  {cut(in_columns(cells, sizes), width - 2)}", role))
        for cells, role in zip((names, *words) if rows else (), roles, strict=False)
    ]


def _word(value: Any) -> str:
    number = isinstance(value, float)
    return f"{value:.4g}" if number else "" if value is None else yes_or_no(value)


# ---- limits --------------------------------------------------------------------------------------


def _limits(judgement: Judgement, width: int) -> list[Line]:
    """Each limit in a sentence with its verdict in front, the worst first; those that do not apply
    in one line for all rows of one reason."""
    found: list[Line] = []
    rows: dict[tuple[str, str], list[str]] = {}
    for one in sorted(judgement.verdicts, key=lambda v: -VERDICTS.index(v.verdict)):
        if one.verdict == NOT_APPLICABLE:
            rows.setdefault((one.title, one.reason), []).append(one.scenario or "")
        else:
            word = Span(fit(one.verdict, _WORD), VERDICT_ROLES[one.verdict])
            found += _hanging(word, verdict_sentence(one), width)
    for (title, reason), names in rows.items():
        where = f" ({'; '.join(names)})" if any(names) else ""
        found += _hanging(Span(fit("n/a", _WORD), "quiet"), f"{title}{where}: {reason}", width)
    return found


# ---- what follows --------------------------------------------------------------------------------


def _advice(judgement: Judgement, advice: Advice | None, width: int) -> list[Line]:
    """What would fix it, then what drives it; a word while it is still being looked for."""
    ails = judgement.verdict in (FAIL, MARGINAL)
    if advice is None:
        return _section("What would fix it", [line(Span("  looking", "quiet"))] if ails else ())
    ways = _all_hanging([remedy.words for remedy in advice.remedies], width, "next")
    words = "  margin lost to the spread of each" if width >= 60 else ""
    return [
        *_section("What would fix it", (ways or [line(f"  {_NO_CURE}")]) if ails else ways),
        *_section("Largest contributors", _drivers(judgement, advice.drivers, width), words),
    ]


def _drivers(judgement: Judgement, drivers: Sequence[Driver], width: int) -> list[Line]:
    """For the tightest limits the inputs whose spread costs most of the margin."""
    limits = type(judgement.calculation).limits
    costs: dict[str, list[str]] = {}
    for one in drivers:
        cost = show(one.gain, "K" if one.unit == "°C" else one.unit)
        costs.setdefault(one.limit, []).append(f"{one.title} {cost}")
    shown = list(costs.items())[:_MOST_DRIVEN]
    return _all_hanging([f"{limits[name].title}: {', '.join(told)}" for name, told in shown], width)


def _note(note: Finding, width: int) -> list[Line]:
    word, role = ("fault", "due") if note.serious else ("caution", "doubt")
    cure = f" {note.cure}." if note.cure else ""
    return _hanging(Span(fit(word, _WORD), role), f"{note.where}: {note.what}.{cure}", width)


# ---- formulas and source -------------------------------------------------------------------------


def _source(judgement: Judgement, width: int) -> list[Line]:
    """The formulas, the corners that decided, the notes on inputs, and where it all is from."""
    kind = type(judgement.calculation)
    formulas = [(name, out.formula or out.title) for name, out in kind.outputs.items()]
    formulas += [(one.title, one.formula) for one in kind.limits.values() if one.formula]
    told = [
        row
        for name, formula in formulas
        for row in _hanging(Span(fit(name, _WORD + 4), "quiet"), formula, width)
    ]
    notes = [f"{one.title}: {one.note}" for one in kind.fields.values() if one.note]
    return [
        *_section(FORMULAS, told),
        *_section("Worst at", _all_hanging(_corners(judgement), width)),
        *_section("Notes on the inputs", _all_hanging(notes, width)),
        *_section("Source", _all_hanging([kind.source], width)),
    ]


def _corners(judgement: Judgement) -> list[str]:
    """Where in the spreads each limit is nearest to its bound."""
    fields, found = type(judgement.calculation).fields, []
    for verdict in judgement.verdicts:
        ends = [
            f"{fields[name].title} {show(value, field.unit)}"
            for name, value in verdict.corner.items()
            if isinstance(field := fields.get(name), Quantity)
        ]
        if ends and verdict.verdict != NOT_APPLICABLE:
            found.append(f"{limit_named(verdict)}: {', '.join(ends)}")
    return found
