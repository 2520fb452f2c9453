"""The head of the sprint screen: time left, will it do, what is next, what is open, what to draw.

The same four answers in the same order at every width; a strip of 40 columns shows nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from coach.sprint.board import gate_count, skipped
from coach.sprint.events.run import CallMade
from coach.sprint.next_thing import CLOSE, Next
from coach.sprint.pace.forecast import Forecast
from coach.sprint.plan import Course, Plan, used_of
from coach.sprint.state import Row, State
from coach.sprint.to_draw import to_draw
from coach.terminal.drawing.forecast_lines import AtTime, forecast_spans
from coach.terminal.drawing.lines import BLANK, Line, Span, line, spread_out, width_of, wrapped
from coach.terminal.drawing.time_line import time_line
from coach.terminal.drawing.words import duration, minutes, of_day, severity_role
from phases.kit.items import CLOSING_ID


@dataclass(frozen=True, slots=True)
class Moment:
    """Everything the head is drawn from. now, cut_off, ends: wall times. planned: when each
    phase was to end when the sprint began. forecast: none until the first is made; at: the wall
    time of elapsed seconds."""

    state: State
    plan: Plan
    course: Course
    next: Next | None
    now: datetime
    cut_off: datetime
    ends: datetime
    planned: tuple[float, ...] = ()
    forecast: Forecast | None = None
    at: AtTime | None = None
    answer: str = ""
    trouble: str = ""


def head_lines(moment: Moment, width: int) -> list[Line]:
    """The head for a width, without the call line above it."""
    narrow = width < 60
    found = [_clock(moment, width)]
    found += time_line(
        moment.state, moment.plan, moment.course, max(width, 12),
        planned=moment.planned, forecast=moment.forecast,
    )  # fmt: skip
    if narrow:
        found.append(_will_it_do(moment, width))
        found += _next_narrow(moment, width)
        found += [*_open_narrow(moment, width), _draw(moment, width)]
        found += phase_lines(moment, width)
        return found
    found += [BLANK, *_next(moment, width), _open(moment, width), _draw(moment, width)]
    return found


def _clock(moment: Moment, width: int) -> Line:
    left = moment.course.left
    if moment.state.ended:
        words = Span("The sprint has ended", "title")
    elif left >= 0:
        words = Span(f"{duration(left)} left", "title")
    else:
        words = Span(f"{duration(-left)} past the cut-off", "due")
    cut_off = Span(f"cut-off {of_day(moment.cut_off)}", "quiet")
    until = Span(f" to {of_day(moment.cut_off)}", "quiet")
    if width < 34:
        return line(Span(" "), words)
    if width < 60:
        return spread_out((Span(" "), words), (cut_off, Span(" ")), width)
    now = Span(f" {of_day(moment.now)}  ", "quiet")
    verdict = (*_verdict(moment), Span(_saved(moment), "quiet"), Span(" "))
    room = width - sum(width_of(s.text) for s in verdict) - 1
    # Where it does not all fit, the cut-off is said shorter, then goes; the time of day stays.
    kept = [(now, words, Span("   "), cut_off), (now, words)]
    if left >= 0 and not moment.state.ended:
        short = Span(duration(left), "title")
        kept = [kept[0], (now, short, until), (now, words), (now, short)]
    for spans in kept:
        if sum(width_of(s.text) for s in spans) <= room:
            return spread_out(spans, verdict, width)
    return spread_out((Span(" "), words), verdict, width)


def _saved(moment: Moment) -> str:
    return "   not on disk" if moment.trouble else ""


def _verdict(moment: Moment) -> tuple[Span, ...]:
    """Where the plan ends, and what it is short or has to spare."""
    if moment.state.ended:
        return ()
    if moment.forecast is not None and moment.at is not None:
        return forecast_spans(moment.forecast, moment.at)
    spare = moment.course.spare
    ends = Span(f"plan ends {of_day(moment.ends)}, ", "plain")
    if spare >= 0:
        return (ends, Span(f"{minutes(spare)} to spare", "done"))
    return (ends, Span(f"short by {minutes(-spare)}", "due"))


def _will_it_do(moment: Moment, width: int) -> Line:
    """On one line: where both words and times do not fit, "ends" goes."""
    spans = _verdict(moment)
    if sum(width_of(span.text) for span in spans) >= width:
        spans = tuple(Span(span.text.replace("ends ", ""), span.role) for span in spans)
    return line(Span(" "), *spans) if not moment.state.ended else BLANK


# ---- next ------------------------------------------------------------------------------------


def next_words(moment: Moment) -> tuple[str, str]:
    """(the thing, its answer); the answer first where there is one to draw."""
    thing = moment.next
    if thing is None:
        return ("Look at what was forgotten, then leave", "")
    return thing.says, thing.answer or moment.answer


def _right_of_next(thing: Next | None) -> tuple[Span, ...]:
    if thing is None or not thing.severity:
        return (Span("↵ ", "key"),)
    role = severity_role(thing.severity)
    if thing.kind == CLOSE:
        return (Span(f"takes {thing.minutes:g} min", "plain"), Span("  ↵ ", "key"))
    return (
        Span("else ", "quiet"), Span(thing.severity, role),
        Span(f", {thing.minutes:g} min", "plain"), Span("  ↵ ", "key"),
    )  # fmt: skip


def _next(moment: Moment, width: int) -> list[Line]:
    """The thing and its answer below it, or the thing broken over two lines."""
    says, answer = next_words(moment)
    tail = _right_of_next(moment.next)
    room = width - 7 - sum(len(s.text) for s in tail) - 1
    parts = [says] if answer else wrapped(says, room, 2)
    first = spread_out((Span(" NEXT  ", "next"), Span(parts[0], "title")), tail, width)
    if answer:
        more = [(part, "next") for part in wrapped(answer, width - 8, 2)]
    else:
        more = [(part, "title") for part in parts[1:]] or [("", "plain")]
    found = [[Span("       "), Span(part, role)] for part, role in more]
    _add_why(found[-1], moment.next, width)
    return [first, *(line(*spans) for spans in found)]


def _add_why(spans: list[Span], thing: Next | None, width: int) -> None:
    """Why this is asked first, at the end of a line that has room for it."""
    used = sum(width_of(span.text) for span in spans)
    gap = "   " if any(span.text.strip() for span in spans) else ""
    if thing is not None and thing.why and used + len(gap) + len(thing.why) <= width:
        spans.append(Span(f"{gap}{thing.why}", "doubt"))


def _next_narrow(moment: Moment, width: int) -> list[Line]:
    says, answer = next_words(moment)
    thing = moment.next
    if answer and thing is not None and thing.row is not None:
        # On a strip the item's short name does, so that its answer can be read whole.
        parts = [short_name(thing.row)]
    else:
        parts = wrapped(says, width - 7, 2)
    found = [
        line(Span(" NEXT " if i == 0 else "      ", "next"), Span(p, "title"))
        for i, p in enumerate(parts)
    ]
    found += [line(Span("      "), Span(p, "next")) for p in wrapped(answer, width - 7, 2)]
    if thing is not None and thing.severity:
        costs = [
            Span(f"      {thing.minutes:g} min   ", "plain"),
            Span(thing.severity, severity_role(thing.severity)),
        ]
        _add_why(costs, thing, width)
        found.append(line(*costs))
    return found


# ---- open and to draw ------------------------------------------------------------------------


def short_name(row: Row) -> str:
    """An item in a few words, with its subject."""
    name = row.item.id.replace("-", " ")
    return f"{name} {row.subject}" if row.subject else name


def _open(moment: Moment, width: int) -> Line:
    rows = skipped(moment.state)
    label = Span(" OPEN  ", "due" if rows else "quiet")
    if not rows:
        return line(label, Span("nothing skipped", "quiet"))
    spans = [label]
    for index, row in enumerate(rows):
        spans.append(Span(" · " if index else "", "quiet"))
        spans.append(Span(short_name(row), severity_role(row.item.severity)))
        spans.append(Span(f" ({row.item.severity}, {row.item.left_out_min:g} min)", "plain"))
    return spread_out(spans, (Span(f" {len(rows)} ", "due"),), width)


def _open_narrow(moment: Moment, width: int) -> list[Line]:
    rows = skipped(moment.state)
    label = Span(" OPEN ", "due" if rows else "quiet")
    if not rows:
        return [line(label, Span("nothing skipped", "quiet"))]
    names = ", ".join(short_name(row) for row in rows)
    return [spread_out((label, Span(names, "due")), (Span(f" {len(rows)} ", "due"),), width)]


def _draw(moment: Moment, width: int) -> Line:
    parts = [part for part in to_draw(moment.state) if not part.fails]
    label = " DRAW  " if width >= 60 else " DRAW "
    if not parts:
        return line(Span(label, "quiet"), Span("nothing waiting", "quiet"))
    if width < 60:
        more = f" + {len(parts) - 1} " if len(parts) > 1 else " "
        return spread_out((Span(label, "next"), Span(parts[0].says)), (Span(more, "quiet"),), width)
    words = " · ".join(part.says for part in parts)
    return spread_out(
        (Span(label, "next"), Span(words)), (Span(f" {len(parts)} ", "quiet"),), width
    )


# ---- the phase -------------------------------------------------------------------------------


def phase_lines(moment: Moment, width: int) -> list[Line]:
    """The phase one is in, its gate and its box."""
    state, phase = moment.state, moment.state.phase
    numbers = {p.id: str(i) for i, p in enumerate(state.setup.phases, start=1)}
    numbers |= {CLOSING_ID: "8", "": "0"}
    box = moment.plan.box(phase)
    used = round(used_of(state, moment.course.t, phase) / 60)
    over = moment.course.overrun > 60
    time = f"box {round(box.seconds / 60)}  used {used}"
    closed, rows = gate_count(state, phase) if phase else (0, 0)
    if phase == CLOSING_ID:
        all_rows = [r for r in state.rows_of(CLOSING_ID) if r.applies is not False]
        closed, rows = sum(r.closed for r in all_rows), len(all_rows)
    word = "list" if phase == CLOSING_ID else "gate"
    gate = f"{word} {closed} of {rows}" if rows else ""
    if phase in state.signed_off:
        gate = f"signed off  {gate}"
    parked = sum(not thought.settled for thought in state.thoughts)
    aside = f"parked {parked}" if parked else ""
    if width < 60:
        first = spread_out(
            (Span(f" {numbers[phase]} ", "key"), Span(box.name, "title")),
            (Span(f"{gate} "),),
            width,
        )
        second = spread_out(
            (Span(f" {time}", "due" if over else "plain"),), (Span(f"{aside} "),), width
        )
        return [first, second]
    title = (
        state.setup.phase(phase).title
        if phase in numbers and phase not in ("", CLOSING_ID)
        else box.name
    )
    tail = (
        Span(aside + ("      " if aside else ""), "quiet"), Span(gate), Span("      "),
        Span(time, "due" if over else "plain"), Span(" "),
    )  # fmt: skip
    return [spread_out((Span(f" {numbers[phase]}  ", "key"), Span(title, "title")), tail, width)]


TALL_ENOUGH = 30
"""Lines of a screen from which a call may take three of them."""


def call_lines(call: CallMade | None, width: int, height: int) -> list[Line]:
    """A call at the top edge, whole where there is room."""
    if call is None:
        return []
    parts = wrapped(call.says, width - 4, 2 if height < TALL_ENOUGH else 3)
    return [
        line(Span(" ! " if i == 0 else "   ", "due"), Span(part, "due"))
        for i, part in enumerate(parts)
    ]
