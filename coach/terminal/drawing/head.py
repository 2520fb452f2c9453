"""The head of the sprint screen: time left, will it do, what is next, what was skipped, what to
draw. The same answers in the same order at every width; a strip of 40 columns shows nothing else.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from coach.sprint.chances import in_ten
from coach.sprint.durations import countdown, duration, minutes_of
from coach.sprint.gates.advice import ASK, CLOSE, Next
from coach.sprint.gates.gates import gate_count, skipped
from coach.sprint.ledger.to_draw import drawable
from coach.sprint.pace.plan import Plan, Progress, used_of
from coach.sprint.state import State
from coach.terminal.drawing.item_words import of_day, severity_role, short_name
from coach.terminal.drawing.lines import (
    BLANK,
    Line,
    Span,
    cut,
    line,
    spread_out,
    width_of_all,
    wrapped,
)
from coach.terminal.drawing.time_line import time_line
from phases.kit.items import CLOSING_ID

if TYPE_CHECKING:
    from coach.sprint.pace.forecast import Forecast

AtTime = Callable[[float], datetime]
"""The wall time at which so many seconds will have elapsed: `Session.wall_of`."""

_NARROW = 60
"""Cells below which the head is all there is."""


@dataclass(frozen=True, slots=True)
class Moment:
    """Everything the head is drawn from. now: the wall time. planned: when each phase was to end
    when the sprint began. forecast: none until the first is made."""

    state: State
    plan: Plan
    progress: Progress
    next: Next | None
    now: datetime
    at: AtTime
    planned: tuple[float, ...] = ()
    forecast: Forecast | None = None
    answer: str = ""
    trouble: str = ""

    @property
    def cut_off(self) -> str:
        return of_day(self.at(self.state.deadline))


def head_lines(moment: Moment, width: int) -> list[Line]:
    """The head for a width, without the call line above it."""
    found = [_clock(moment, width)]
    found += time_line(
        moment.state,
        moment.plan,
        moment.progress,
        max(width, 12),
        planned=moment.planned,
        forecast=moment.forecast,
    )
    if width >= _NARROW:
        return [*found, BLANK, *_next(moment, width), _skipped(moment, width), _draw(moment, width)]
    found += [_will_it_do(moment, width), *_next_narrow(moment, width)]
    return [*found, _skipped(moment, width), _draw(moment, width), *phase_lines(moment, width)]


# ---- how long, and will it do ------------------------------------------------------------------


def left_words(moment: Moment) -> str:
    left = moment.progress.left
    return f"{countdown(left)} left" if left >= 0 else f"{countdown(-left)} past the cut-off"


def _clock(moment: Moment, width: int) -> Line:
    over = moment.progress.left < 0
    words = Span(left_words(moment), "due" if over else "title")
    if moment.state.ended:
        words = Span("Ended", "title")
    cut_off = Span(f"cut-off {moment.cut_off}", "quiet")
    if width < 34:
        return line(" ", words)
    if width < _NARROW:
        return spread_out((Span(" "), words), (cut_off, Span(" ")), width)
    now = Span(f" {of_day(moment.now)}  ", "quiet")
    saved = (Span("   NOT SAVED", "due"),) if moment.trouble else ()
    verdict = (*will_it_do(moment), *saved, Span(" "))
    room = width - width_of_all(verdict) - 1
    # Where it does not all fit, the cut-off is said shorter, then goes; the time of day stays.
    kept = [(now, words, Span("   "), cut_off), (now, words)]
    if not over and not moment.state.ended:
        short = Span(countdown(moment.progress.left), "title")
        until = Span(f" to {moment.cut_off}", "quiet")
        kept = [kept[0], (now, short, until), (now, words), (now, short)]
    spans = next((spans for spans in kept if width_of_all(spans) <= room), (Span(" "), words))
    return spread_out(spans, verdict, width)


def chance_words(forecast: Forecast) -> str:
    return f"on time {in_ten(forecast.chance_essentials)}"


def band_words(forecast: Forecast, at: AtTime) -> str:
    """When it will be done, as the 80 % band: "ends 15:18 .. 15:49"."""
    low, high = of_day(at(forecast.low)), of_day(at(forecast.high))
    return f"ends {low}" if low == high else f"ends {low} .. {high}"


def will_it_do(moment: Moment) -> tuple[Span, ...]:
    """Chance and band of the forecast; before the first, where the plan ends and what it is short
    or has to spare."""
    if moment.state.ended:
        return ()
    forecast = moment.forecast
    if forecast is not None:
        chance = Span(chance_words(forecast), "due" if forecast.fallen else "done")
        return chance, Span(f", {band_words(forecast, moment.at)}")
    ends, spare = of_day(moment.at(moment.progress.ends)), moment.progress.spare
    words = f"{duration(spare)} to spare" if spare >= 0 else f"short by {duration(spare)}"
    return Span(f"plan ends {ends}, "), Span(words, "done" if spare >= 0 else "due")


def _will_it_do(moment: Moment, width: int) -> Line:
    """On one line: where both words and times do not fit, "ends" goes."""
    spans = will_it_do(moment)
    if width_of_all(spans) >= width:
        spans = tuple(Span(span.text.replace("ends ", ""), span.role) for span in spans)
    return line(" ", *spans) if spans else BLANK


# ---- next --------------------------------------------------------------------------------------


def _costs(thing: Next | None, to_add: str) -> tuple[Span, ...]:
    """What the thing takes, or what it costs later if it is missed."""
    if thing is None or not thing.severity:
        return ()
    if thing.kind == CLOSE:
        return (Span(f"takes {duration(60 * thing.minutes)}"),)
    severity = Span(thing.severity, severity_role(thing.severity))
    return Span("if missed: ", "quiet"), severity, Span(f", {duration(60 * thing.minutes)}{to_add}")


def _words(moment: Moment) -> tuple[str, str, str]:
    """(what is next, what that is in a sentence, its answer): of an item its short title."""
    thing = moment.next
    if thing is None:
        return "Review what was missed, then quit", "", ""
    answer = thing.answer or moment.answer
    if thing.row is None or thing.kind == ASK:
        return thing.message, "", answer
    return short_name(thing.row), thing.message, answer


def _next(moment: Moment, width: int) -> list[Line]:
    """The thing with what it costs, then its answer, else what it is in a sentence. Where both do
    not fit on the first line, the costs go to the end of the last."""
    title, sentence, answer = _words(moment)
    costs, key = _costs(moment.next, " to add"), Span("  ↵ ", "key")
    first = [Span(" NEXT     ", "next"), Span(title, "title"), *_why(moment.next)]
    room = width - width_of_all((*first, key)) - 2
    if width_of_all(costs) > room >= width_of_all(_costs(moment.next, "")):
        costs = _costs(moment.next, "")
    above = width_of_all(costs) <= room
    room = width - 11 - (0 if above else width_of_all(costs))
    told = [(part, "next") for part in wrapped(answer, room, 2)] or [(cut(sentence, room), "plain")]
    *found, last = ([Span(" " * 10), Span(*one)] for one in told)
    at_first, at_last = ((*costs, key), ()) if above else ((key,), (*costs, Span(" ")))
    return [
        spread_out(first, at_first, width),
        *(line(*spans) for spans in found),
        spread_out(last, at_last, width),
    ]


def _next_narrow(moment: Moment, width: int) -> list[Line]:
    title, sentence, answer = _words(moment)
    says = title if answer or not sentence else sentence
    told = [(part, "title") for part in wrapped(says, width - 7, 1 if answer else 2)]
    told += [(part, "next") for part in wrapped(answer, width - 7, 2)]
    labels = (" NEXT ", *["      "] * len(told))
    found = [line(Span(at, "next"), Span(*one)) for at, one in zip(labels, told, strict=False)]
    if costs := _costs(moment.next, ""):
        why = _why(moment.next)
        fits = width_of_all((*costs, *why)) <= width - 6
        found.append(line("      ", *costs, *(why if fits else ())))
    return found


def _why(thing: Next | None) -> list[Span]:
    """Why this is asked first."""
    return [Span(f"   {thing.why}", "doubt")] if thing is not None and thing.why else []


# ---- skipped and to draw -----------------------------------------------------------------------


def _skipped(moment: Moment, width: int) -> Line:
    rows = skipped(moment.state)
    label = Span(" SKIPPED  ", "due" if rows else "quiet")
    if not rows:
        return line(label, Span("none", "quiet"))
    spans = [label]
    for index, row in enumerate(rows):
        spans.append(Span(" · " if index else "", "quiet"))
        spans.append(Span(short_name(row), severity_role(row.item.severity)))
        if width >= _NARROW:
            spans.append(Span(f" ({row.item.severity}, {duration(60 * row.item.left_out_min)})"))
    return spread_out(spans, (Span(f" {len(rows)} ", "due"),), width)


def _draw(moment: Moment, width: int) -> Line:
    parts = drawable(moment.state)
    label = " DRAW     " if width >= _NARROW else " DRAW "
    if not parts:
        return line(Span(label, "quiet"), Span("nothing to draw", "quiet"))
    words, count = " · ".join(part.message for part in parts), f" {len(parts)} "
    if width < _NARROW:
        words, count = parts[0].message, f" + {len(parts) - 1} " if len(parts) > 1 else " "
    return spread_out((Span(label, "next"), Span(words)), (Span(count, "quiet"),), width)


# ---- the phase ---------------------------------------------------------------------------------


def gate_words(state: State) -> str:
    """How far the gate of the phase is, or the closing list."""
    phase = state.phase
    word, (closed, rows) = "gate", gate_count(state, phase)
    if phase == CLOSING_ID:
        listed = [r for r in state.rows_of(CLOSING_ID) if r.applies is not False]
        word, closed, rows = "list", sum(r.closed for r in listed), len(listed)
    return f"{word} {closed} of {rows}" if rows else ""


def parked_count(state: State) -> int:
    return sum(not note.settled for note in state.notes)


def phase_lines(moment: Moment, width: int) -> list[Line]:
    """The phase one is in, its gate and its box."""
    state, phase = moment.state, moment.state.phase
    titles = {one.id: (str(n), one.title) for n, one in enumerate(state.setup.phases, start=1)}
    box = moment.plan.box(phase)
    number, title = titles.get(phase, ("8" if phase == CLOSING_ID else "0", box.name))
    used = minutes_of(used_of(state, moment.progress.t, phase))
    time = Span(
        f"box {minutes_of(box.seconds)}  used {used}",
        "due" if moment.progress.overrun > 60 else "plain",
    )
    gate = ("signed off  " if phase in state.signed_off else "") + gate_words(state)
    parked = f"parked {count}" if (count := parked_count(state)) else ""
    if width < _NARROW:
        key, name = Span(f" {number} ", "key"), Span(box.name, "title")
        return [
            spread_out((key, name), (Span(f"{gate} "),), width),
            spread_out((Span(" "), time), (Span(f"{parked} "),), width),
        ]
    notes = Span(f"{parked}      " if parked else "", "quiet")
    tail: Sequence[Span] = (notes, Span(f"{gate}      "), time, Span(" "))
    return [spread_out((Span(f" {number}  ", "key"), Span(title, "title")), tail, width)]
