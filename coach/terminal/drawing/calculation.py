"""A calculation as lines: its verdict, inputs, outputs, limits, and what to do about them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from coach.terminal.drawing.figures import output_lines
from coach.terminal.drawing.input_lines import InputLine, input_lines, lines_of_readings
from coach.terminal.drawing.lines import BLANK, Line, Span, fit, line, wrapped
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
_WORD = 10
_MOST_LINES = 6


@dataclass(frozen=True, slots=True)
class Advice:
    """What follows a judgement a moment later."""

    remedies: tuple[Remedy, ...]
    drivers: tuple[Driver, ...]


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
) -> list[Line]:
    """Everything a calculation says.

    judgement: None where nothing could be judged yet; then only `inputs` are shown. cursor_field:
    the key of the line being typed in. unread: why what stands there now is not what was judged.
    inputs: the lines of input where they are being typed. headline: the verdict goes on top.
    source: with formulas and where they are from.
    """
    found = headline_lines(judgement, width, unread) if headline else []
    if inputs is None:
        inputs = _read_inputs(judgement)
    if inputs:
        kind = _kind_of(judgement)
        found.append(line(Span("Inputs", "title")))
        found += input_lines(kind, inputs, width, cursor_field) if kind else []
    if judgement is None:
        return found
    found += output_lines(judgement, width)
    found += limit_lines(judgement, width)
    found += advice_lines(judgement, advice, width)
    found += _parts_and_notes(judgement, width)
    if source:
        found += source_lines(judgement, width)
    return found
