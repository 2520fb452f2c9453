"""The bring-up sheet on a terminal: steps in order, the one under the cursor with all it says."""

from __future__ import annotations

from collections.abc import Sequence

from coach.debrief.bringup.figures import expected_words, typical_words, window_words
from coach.debrief.bringup.judging import apart_from, of_others, read_back, settles
from coach.debrief.bringup.power import before_power
from coach.debrief.bringup.printing import how_words, verdict_words
from coach.debrief.bringup.sheet import Reading, Sheet, Step
from coach.terminal.drawing.lines import (
    BLANK,
    Line,
    Span,
    cut,
    fit,
    line,
    spread_out,
    width_of,
    wrapped,
)

CAUTIONS = "cautions"
"""The key of the first line, below which stands what to heed before anything else."""

_WINDOW, _READING = 22, 12
"""Cells of the two columns on a screen that is wide enough for both."""

_WIDE, _WIDEST = 72, 116
_MARKS = {"inside": ("✓", "done"), "outside": ("!", "due"), "noted": ("·", "plain")}


def step_key(step: Step) -> str:
    return f"step/{step.id}"


def step_of(sheet: Sheet, key: str) -> Step | None:
    """The step of a line; None on a line that is none."""
    kind, _, point = key.partition("/")
    return sheet.by_id.get(point) if kind == "step" else None


def answered(sheet: Sheet, step: Step, board: str) -> bool:
    """Whether this board has a reading of the step, and not only a remark."""
    reading = sheet.readings.get((board, step.id))
    return reading is not None and settles(step, reading)


def bringup_title(sheet: Sheet, board: str, boards: Sequence[str], width: int) -> list[Line]:
    """The board, the board's number among those of the sheet, and how far it is."""
    done = sum(answered(sheet, step, board) for step in sheet.steps)
    outside = sum(
        one.verdict == "outside" for (on, _), one in sheet.readings.items() if on == board
    )
    wrong = f", {outside} outside" if outside else ""
    right_spans = (Span(f"board {board}", "next"),
                   Span(f" {done} of {len(sheet.steps)}{wrong} ", "quiet"))  # fmt: skip
    found = [spread_out((Span(f" Bring-up: {sheet.title}", "title"),), right_spans, width)]
    if width >= _WIDE:
        listed = "  ".join(f"[{one}]" if one == board else one for one in boards)
        found.append(line(Span(f" boards  {listed}", "quiet")))
    if not sheet.ended:
        said = "The sprint goes on: to look at and to print, nothing is entered yet"
        found += [line(Span(f" {part}", "doubt")) for part in wrapped(said, width - 2, 2)]
    return found


def bringup_lines(sheet: Sheet, board: str, at: str, width: int) -> list[Line]:
    """Every step; at: the key of the line under the cursor, which is unfolded."""
    found = _cautions(sheet, at, width)
    for section, steps in sheet.sections:
        found += [BLANK, line(Span(f" {cut(section.title, width - 2)}", "title"))]
        power = before_power(sheet, section, (board,))
        if power:
            found += [line(Span(f" {part}", "due")) for part in wrapped(power, width - 2, 3)]
        if section.note:
            found += [line(Span(f" {part}", "quiet"))
                      for part in wrapped(section.note, width - 2, 3)]  # fmt: skip
        for step in steps:
            found.append(_step(sheet, step, board, width))
            if at == step_key(step):
                found += _unfolded(sheet, step, board, width)
    return [*found, *_rest(sheet, width)]


def _cautions(sheet: Sheet, at: str, width: int) -> list[Line]:
    count = f"{len(sheet.cautions)} cautions"
    found = [spread_out((Span(" Before anything else", "due"),), (Span(f"{count} ", "quiet"),),
                        width, CAUTIONS)]  # fmt: skip
    if at in (CAUTIONS, ""):
        for caution in (*sheet.cautions, sheet.last_word):
            first, *more = wrapped(caution, width - 6, 8)
            found.append(line(Span("   - "), Span(first)))
            found += [line(Span(f"     {part}")) for part in more]
    return found


def _step(sheet: Sheet, step: Step, board: str, width: int) -> Line:
    reading = sheet.readings.get((board, step.id))
    mark, role = _MARKS.get(reading.verdict, (" ", "plain")) if reading else (" ", "plain")
    if reading and reading.verdict == "inside" and apart_from(step, reading, sheet.readings):
        mark, role = "?", "due"
    if reading and not settles(step, reading):
        mark, role = "-", "due"
    window = window_words(step.expected) or step.expected.words
    said = read_back(step, reading) if reading else ""
    left = (Span(f" {mark} ", role), Span(step.title, "plain" if reading is None else role))
    if width < _WIDE:
        shown = (
            Span(f" {cut(said, 16)} ", role) if reading else Span(f" {cut(window, 16)} ", "quiet")
        )
        return spread_out(left, (shown,), width, step_key(step))
    room = _WINDOW if width < 100 else _WINDOW + 14
    columns = [Span(f" {fit(window, room)} ", "quiet"), Span(fit(said, _READING), role)]
    if width >= _WIDEST:
        others = of_others(step.id, board, sheet.readings)
        words = ", ".join(f"{one.board}: {read_back(step, one)}" for one in others)
        columns.append(Span(f" {fit(words, (width - _WIDEST) // 2 + 20)}", "quiet"))
    return spread_out(left, columns, width, step_key(step))


def _unfolded(sheet: Sheet, step: Step, board: str, width: int) -> list[Line]:
    room = width - 6
    reading = sheet.readings.get((board, step.id))
    found: list[Line] = []
    if reading is not None and reading.verdict == "outside" and step.first:
        found += _part(f"look first at: {step.first}", room, "due")
    if reading is not None and not settles(step, reading):
        found += _part(f"{read_back(step, reading)}: {verdict_words(step, reading)}", room, "due")
    found += _part(how_words(step), room)
    if step.caution:
        found += _part(f"caution: {step.caution}", room, "due")
    typical = typical_words(step.expected)
    usual = f", typical {typical}" if typical else ""
    found += _part(f"expect {expected_words(step.expected)}{usual}", room, "next")
    if step.missing:
        found += _part(f"missing: {step.missing}", room, "doubt")
    if step.why:
        found += _part(f"{step.basis}: {step.why}", room, "quiet")
    if step.tool:
        found += _part(f"with: {step.tool}", room, "quiet")
    others = of_others(step.id, board, sheet.readings)
    if others:
        found += _part("; ".join(_other(step, one) for one in others), room, "quiet")
    return found


def _other(step: Step, reading: Reading) -> str:
    return f"board {reading.board} read {read_back(step, reading)}, {reading.verdict}"


def _part(text: str, room: int, role: str = "plain") -> list[Line]:
    return [line(Span(f"     {part}", role)) for part in wrapped(text, room, 8)]


def _rest(sheet: Sheet, width: int) -> list[Line]:
    found: list[Line] = []
    if sheet.others:
        found += [BLANK, line(Span(" Measured at other points", "title"))]
        for one in sheet.others:
            said = read_back(None, one)
            found += _part(f"board {one.board}, {one.title}: {said}, {one.verdict}", width - 6)
    if sheet.faults:
        found += [BLANK, line(Span(" Not whole", "due"))]
        for fault in sheet.faults:
            found += _part(fault, width - 6, "quiet")
    return found


def unfolded_height(lines: Sequence[Line], at: int) -> int:
    """How many lines the one at `at` takes, with what stands below it and belongs to it."""
    after = next(
        (n for n in range(at + 1, len(lines)) if lines[n].key or not width_of(lines[n].text)),
        len(lines),
    )
    return after - at
