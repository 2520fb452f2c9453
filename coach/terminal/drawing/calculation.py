"""A calculation as lines: its verdict, inputs, outputs, limits, and what to do about them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from coach.terminal.drawing.figures import output_lines
from coach.terminal.drawing.input_lines import NARROW, InputLine, input_lines, lines_of_readings
from coach.terminal.drawing.lines import Line, Span, cut, fit, line, spread_out, wrapped
from phases.kit.bounds import FAIL, MARGINAL, NOT_APPLICABLE, PASS, VERDICTS, Finding
from phases.kit.calculator import Calculator
from phases.kit.drivers import Driver
from phases.kit.fields import Quantity
from phases.kit.frame import CORNERS, TYPICAL
from phases.kit.inputs import Given
from phases.kit.judging import Judgement, Verdict, figures_of
from phases.kit.remedies import Remedy
from phases.kit.say import show
from phases.kit.sentences import margin_words, verdict_sentence

VERDICT_ROLES = {PASS: "done", MARGINAL: "doubt", FAIL: "due", NOT_APPLICABLE: "quiet"}
FORMULAS = "Formulas"
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
    unread: str = "",
    inputs: Sequence[InputLine] | None = None,
    headline: bool = True,
    source: bool = False,
    curve: str = "",
) -> list[Line]:
    """Everything a calculation says.

    judgement: None where nothing could be judged yet; then only `inputs` are shown. cursor_field:
    the key of the line being typed in. unread: why what is typed now is not what was judged.
    inputs: the lines of input where they are being typed. headline: the verdict goes on top.
    source: with formulas and where they are from. curve: in words, where it is not drawn.
    """
    found = headline_lines(judgement, width, unread) if headline else []
    if inputs is None:
        kind = type(judgement.calculation) if judgement is not None else None
        read = lines_of_readings(kind, judgement.readings) if kind and judgement else ()
        inputs = [one for one in read if one.row is None or one.cells]
    if inputs:
        found += [line(Span("Inputs", "title")), *input_lines(inputs, width, cursor_field)]
    if judgement is None:
        return found
    found += output_lines(judgement, width, advice.listings if advice is not None else None)
    found += limit_lines(judgement, width)
    found += advice_lines(judgement, advice, width)
    found += _parts(judgement, width)
    if curve:
        found += [line(Span("Curve", "title")), *_hanging(Span(""), curve, width)]
    found += _notes(judgement, width)
    return [*found, *(source_lines(judgement, width) if source else [])]


def name_line(kind: type[Calculator], subject: str, status: str, width: int) -> Line:
    """Which calculation this is. status: whether it is saved."""
    spans = [Span(kind.title, "title"), Span(f"  {subject}" if subject else "", "title")]
    question = (kind.__doc__ or "").strip().partition("\n")[0]
    if width >= 70:
        spans.append(Span(f"   {question}", "quiet"))
    return spread_out(spans, (Span(status, "quiet"),), width)


# ---- the verdict ---------------------------------------------------------------------------------


def verdict_words(judgement: Judgement) -> tuple[str, str]:
    """(sentence, role): whether everything holds, with the limit that decides it."""
    verdict = judgement.verdict
    told = sorted(
        (v for v in judgement.verdicts if v.verdict == verdict), key=lambda v: _thin(v.share)
    )
    if verdict == NOT_APPLICABLE:
        return "No limits to check.", "quiet"
    if verdict == PASS:
        numbers = [v for v in told if math.isfinite(v.margin)]
        if not numbers:
            return "Passes.", "done"
        least = f"{_named(numbers[0])}, {margin_words(numbers[0])}"
        return f"Passes; tightest margin: {least}.", "done"
    word = "Fails" if verdict == FAIL else "Marginal"
    more = f" And {len(told) - 1} more." if len(told) > 1 else ""
    return f"{word}: {verdict_sentence(told[0])}{more}", VERDICT_ROLES[verdict]


def _thin(share: float) -> float:
    """Thinnest first; what has no margin at all before anything that has one."""
    return -math.inf if math.isnan(share) else share


def _named(verdict: Verdict) -> str:
    title = verdict.title
    if title[:1].isupper() and title[1:2].islower():
        title = title[0].lower() + title[1:]
    return f"{title} ({verdict.scenario})" if verdict.scenario else title


def headline_lines(judgement: Judgement | None, width: int, unread: str = "") -> list[Line]:
    """The verdict in a sentence, marked where what is typed now could not be judged."""
    if judgement is None:
        return [line(Span(part, "due")) for part in wrapped(f"Not judged. {unread}", width, 3)]
    words, role = verdict_words(judgement)
    if unread:
        words, role = f"Last valid result; current entry not understood: {words}", "quiet"
    return [line(Span(part, role)) for part in wrapped(words, width, 3)]


_NO_CURE = "No single input change fixes it."


def cure_line(judgement: Judgement, advice: Advice | None, width: int) -> list[Line]:
    """What would fix it in one line, for under the verdict; none where nothing has to be."""
    if judgement.verdict not in (FAIL, MARGINAL):
        return []
    if advice is None:
        return [line(Span("Looking for what would fix it ..", "quiet"))]
    if not advice.remedies:
        return [line(Span(_NO_CURE, "quiet"))]
    own_first = sorted(advice.remedies, key=lambda remedy: remedy.owner is not None)
    first, *others = (remedy.words for remedy in own_first[:3])
    also = [way.removeprefix("Passes with ") for way in others]
    return [line(Span(cut(", or ".join((first, *also)), width), "next"))]


# ---- limits --------------------------------------------------------------------------------------


def limit_lines(judgement: Judgement, width: int) -> list[Line]:
    """Each limit in a sentence with its verdict in front, the worst first."""
    if not judgement.verdicts:
        return []
    found = [line(Span("Limits", "title"))]
    order = sorted(judgement.verdicts, key=lambda v: -VERDICTS.index(v.verdict))
    for verdict in order:
        if verdict.verdict != NOT_APPLICABLE:
            word = Span(fit(verdict.verdict, _WORD), VERDICT_ROLES[verdict.verdict])
            found += _hanging(word, verdict_sentence(verdict), width)
    return found + _not_applying([v for v in order if v.verdict == NOT_APPLICABLE], width)


def _not_applying(verdicts: Sequence[Verdict], width: int) -> list[Line]:
    """The limits that do not apply: one line for all rows of one reason."""
    rows: dict[tuple[str, str], list[str]] = {}
    for verdict in verdicts:
        rows.setdefault((verdict.title, verdict.reason), []).append(verdict.scenario or "")
    found: list[Line] = []
    for (title, reason), names in rows.items():
        where = f" ({'; '.join(names)})" if any(names) else ""
        found += _hanging(Span(fit("n/a", _WORD), "quiet"), f"{title}{where}: {reason}", width)
    return found


def _hanging(first: Span, text: str, width: int, role: str = "plain") -> list[Line]:
    """A word and a text beside it, broken where the line ends; on a strip also below the word."""
    word, indent = first.text, len(first.text) + 2
    if width < NARROW and word:
        word, indent = f"{word.rstrip()}  ", 4
    lead = "·" * (len(word) + 2 - indent)  # stands in for what the word takes of the first line
    parts = wrapped(lead + text, max(width - indent, 12), _MOST_LINES)
    parts[0] = parts[0].removeprefix(lead)
    rest = [line(" " * indent, Span(part, role)) for part in parts[1:]]
    return [line("  ", Span(word, first.role), Span(parts[0], role)), *rest]


# ---- what follows --------------------------------------------------------------------------------


def advice_lines(judgement: Judgement, advice: Advice | None, width: int) -> list[Line]:
    """What would fix it, then what drives it; a word while it is still being looked for."""
    ails = judgement.verdict in (FAIL, MARGINAL)
    found: list[Line] = []
    if ails:
        found.append(line(Span("What would fix it", "title")))
        if advice is None:
            found.append(line(Span("  looking ..", "quiet")))
        elif not advice.remedies:
            found.append(line(f"  {_NO_CURE}"))
    if advice is None:
        return found
    for remedy in advice.remedies:
        found += _hanging(Span(""), remedy.words, width, "next")
    return found + _driver_lines(judgement, advice.drivers, width)


def _driver_lines(judgement: Judgement, drivers: Sequence[Driver], width: int) -> list[Line]:
    """For the thinnest limits the inputs whose spread costs most of the margin."""
    if not drivers:
        return []
    limits = type(judgement.calculation).limits
    words = "  margin lost to the spread of each" if width >= 60 else ""
    found = [line(Span("Largest contributors", "title"), Span(words, "quiet"))]
    for name in list(dict.fromkeys(driver.limit for driver in drivers))[:_MOST_DRIVEN]:
        costs = ", ".join(
            f"{d.title} {show(d.gain, 'K' if d.unit == '°C' else d.unit)}"
            for d in drivers
            if d.limit == name
        )
        found += _hanging(Span(""), f"{limits[name].title}: {costs}", width)
    return found


def _parts(judgement: Judgement, width: int) -> list[Line]:
    if not judgement.parts:
        return []
    found = [line(Span("To draw", "title"))]
    for part in judgement.parts:
        found += _hanging(Span(""), part.words, width)
    return found


def _notes(judgement: Judgement, width: int) -> list[Line]:
    if not judgement.notes:
        return []
    found = [line(Span("Notes", "title"))]
    for note in judgement.notes:
        word = ("fault", "due") if note.serious else ("caution", "doubt")
        found += _hanging(Span(fit(word[0], _WORD), word[1]), _finding_words(note), width)
    return found


def _finding_words(finding: Finding) -> str:
    cure = f" {finding.cure}." if finding.cure else ""
    return f"{finding.where}: {finding.what}.{cure}"


# ---- formulas and source -------------------------------------------------------------------------


def source_lines(judgement: Judgement, width: int) -> list[Line]:
    """The formulas, the corners that decided, the notes on inputs, and where it all is from."""
    kind = type(judgement.calculation)
    found = [line(Span(FORMULAS, "title"))]
    for name, out in kind.outputs.items():
        found += _hanging(Span(fit(name, _WORD + 4), "quiet"), out.formula or out.title, width)
    for declared in kind.limits.values():
        if declared.formula:
            title = Span(fit(declared.title, _WORD + 4), "quiet")
            found += _hanging(title, declared.formula, width)
    found += _corner_lines(judgement, width)
    noted = [field for field in kind.fields.values() if field.note]
    if noted:
        found.append(line(Span("Notes on the inputs", "title")))
    for one in noted:
        found += _hanging(Span(""), f"{one.title}: {one.note}", width)
    found.append(line(Span("Source", "title")))
    return found + _hanging(Span(""), kind.source, width)


def _corner_lines(judgement: Judgement, width: int) -> list[Line]:
    """Where in the spreads each limit is nearest to its bound."""
    fields = type(judgement.calculation).fields
    found: list[Line] = []
    for verdict in judgement.verdicts:
        ends = [
            f"{fields[name].title} {show(value, field.unit)}"
            for name, value in verdict.corner.items()
            if isinstance(field := fields.get(name), Quantity)
        ]
        if ends and verdict.verdict != NOT_APPLICABLE:
            found += _hanging(Span(""), f"{_named(verdict)}: {', '.join(ends)}", width)
    return [line(Span("Worst at", "title")), *found] if found else []


# ---- in one line ---------------------------------------------------------------------------------


def short_answer(judgement: Judgement) -> str:
    """A calculation in one line: "620 Ω ± 5 %  1.94 mA  pass"."""
    words = list(judgement.picks.values())
    words += _figures_of_picks(judgement) if words else _first_figures(judgement)
    verdict = judgement.verdict
    if verdict in (FAIL, MARGINAL):
        sentence = verdict_words(judgement)[0]
        return "  ".join((*words, sentence[0].lower() + sentence[1:]))
    return "  ".join((*words, verdict))


def _first_figures(judgement: Judgement) -> list[str]:
    plain = [out for out in judgement.outputs if out.along is None][:2]
    return [f"{out.title} {show(out.figures[0].typ, out.unit)}" for out in plain]


def _figures_of_picks(judgement: Judgement) -> list[str]:
    """The first output that hangs on what was picked: unknown while the pick is blank."""
    blank = {name: Given("") for name in judgement.picks}
    bare = judgement.calculation.with_given(blank)
    typical, corners = bare.under(TYPICAL), bare.under(CORNERS)
    for out in judgement.outputs:
        typ, declared = out.figures[0].typ, type(bare).outputs[out.name]
        if out.along is not None or math.isnan(typ):
            continue
        if math.isnan(figures_of(declared, typical, corners)[0].typ):
            return [show(typ, out.unit)]
    return []
