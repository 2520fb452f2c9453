"""Each number of the sprint screen asked why: what it is made of, as it stands now.

The numbers are taken from the functions that draw the screen, never worked out another way; each
is said in one sentence, of two short lines on a strip.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from coach.sprint import next_thing as nexts
from coach.sprint.board import gate_count, gate_rows, skipped
from coach.sprint.chances import in_ten
from coach.sprint.events.event import Stamped
from coach.sprint.events.run import ClockStepped, CutOffMoved
from coach.sprint.fold import taken_back
from coach.sprint.pace.forecast import BAND, Forecast
from coach.sprint.pace.learning import observations
from coach.sprint.pace.work import left_behind_at
from coach.sprint.plan import (
    CHOOSING,
    CHOOSING_MINUTES,
    PRIOR_PACE,
    Box,
    expected_minutes,
    sizes,
    used_of,
)
from coach.sprint.state import State
from coach.sprint.to_draw import to_draw
from coach.terminal.drawing.forecast_lines import AtTime, band_words, chance_words
from coach.terminal.drawing.head import Moment, short_name
from coach.terminal.drawing.item_list import further_count
from coach.terminal.drawing.lines import Line, Span, line, wrapped
from coach.terminal.drawing.words import duration, minutes, of_day
from phases.kit.items import CLOSING_ID, REFERENCE_BOARD

HEADING = "The numbers on this screen"
MOST_LINES = 2


@dataclass(frozen=True, slots=True)
class Why:
    """A number as the screen shows it, and what it is made of; number "" goes on with the last."""

    number: str
    words: str


def why_lines(moment: Moment, history: Sequence[Stamped], width: int) -> list[Line]:
    """Every number under its heading, those of the head first. history: of this sprint, because
    the state does not say who moved the cut-off and when."""
    found = [line(Span(f" {HEADING}", "quiet"))]
    for why in whys(moment, history):
        found += _lines(why, width)
    return found


def _lines(why: Why, width: int) -> list[Line]:
    text = f"{why.number}: {why.words}." if why.number else f"{why.words}."
    first, *more = wrapped(text, max(width - 3, 12), MOST_LINES)
    head = len(why.number) if first.startswith(why.number) else 0
    spans = (Span("  "), Span(first[:head], "title"), Span(first[head:]))
    return [line(*spans), *(line(Span(f"    {part}")) for part in more)]


def whys(moment: Moment, history: Sequence[Stamped]) -> list[Why]:
    """All of them, in the order in which the screen shows them."""
    return [
        *_time_left(moment, history), *_will_it_do(moment), *_next(moment), *_open(moment),
        *_draw(moment), *_gate(moment), *_box(moment), *_used(moment), *_aside(moment),
        *_pace(moment), *_reserve(moment),
    ]  # fmt: skip


# ---- how long ----------------------------------------------------------------------------------


def _time_left(moment: Moment, history: Sequence[Stamped]) -> Iterator[Why]:
    state, left = moment.state, moment.course.left
    if state.ended:
        return
    undone = taken_back(history)
    valid = [stamped for stamped in history if not stamped.is_void(undone)]
    moves = [(s, s.event) for s in valid if isinstance(s.event, CutOffMoved)]
    number = f"{duration(left)} left" if left >= 0 else f"{duration(-left)} past the cut-off"
    cut_off = f"cut-off {of_day(moment.cut_off)}" if left >= 0 else of_day(moment.cut_off)
    yield Why(number, f"{cut_off}, {_set_by(state, bool(moves))}")
    if moves:
        stamped, moved = moves[-1]
        who = " by you" if stamped.by else ""
        count = f", the last of {len(moves)} moves" if len(moves) > 1 else ""
        yield Why(moved.says, f"moved{who} at {of_day(stamped.at)}{count}")
        yield Why("", f"Reason: {moved.why.rstrip('.')}" if moved.why else "No reason was given")
    steps = [(s, s.event) for s in valid if isinstance(s.event, ClockStepped)]
    if steps:
        stamped, step = steps[-1]
        yield Why("Wall clock", f"at {of_day(stamped.at)} {_step_words(step)}")
    yield Why(of_day(moment.now), f"the time now, {minutes(moment.course.t)} after the start")
    if state.setup.speed != 1.0:
        yield Why(f"{state.setup.speed:g} times", "as fast as the wall clock: a rehearsal")


def _set_by(state: State, moved: bool) -> str:
    deadline = state.setup.brief.deadline
    if moved:
        return "as it was moved"
    if deadline.minutes is not None:
        return f"the brief's {deadline.minutes} min after the start"
    return "as the brief says"


def _step_words(step: ClockStepped) -> str:
    if step.kind == "sleep":
        return f"the machine had slept {minutes(step.seconds)}; that time is gone"
    way = "forward" if step.seconds > 0 else "back"
    stayed = "the cut-off kept its time of day" if step.shift else "the time left stayed"
    return f"set {way} by {minutes(abs(step.seconds))}; {stayed}"


# ---- will it do --------------------------------------------------------------------------------


def _will_it_do(moment: Moment) -> Iterator[Why]:
    if moment.state.ended:
        return
    if moment.forecast is not None and moment.at is not None:
        yield from _forecast(moment.forecast, moment.at)
        return
    spare = moment.course.spare
    yield Why(
        f"Plan ends {of_day(moment.ends)}",
        f"boxes, skipped essentials and closing list still take {minutes(moment.course.remaining)}",
    )
    number = f"{minutes(spare)} to spare" if spare >= 0 else f"Short by {minutes(-spare)}"
    yield Why(number, "between that and the cut-off; a forecast follows")


def _forecast(forecast: Forecast, at: AtTime) -> Iterator[Why]:
    before = round(forecast.chance_essentials * forecast.draws)
    yield Why(
        _upper(chance_words(forecast)),
        f"{before} of {forecast.draws} draws end before the cut-off",
    )
    yield Why("A draw", "all essentials and the order, each piece by chance, at one pace")
    yield Why(
        f"Wanted {forecast.threshold:.0%}",
        f"by the brief; {'below it, W says what to drop' if forecast.fallen else 'it is kept'}",
    )
    yield Why(
        _upper(band_words(forecast, at)),
        f"{in_ten(BAND)} draws end so; the mean, ●, is {of_day(at(forecast.expected))}",
    )
    for reason in forecast.reasons():
        yield Why("", reason.rstrip("."))


def _upper(words: str) -> str:
    return words[:1].upper() + words[1:]


# ---- next, open, to draw -----------------------------------------------------------------------


def _next(moment: Moment) -> Iterator[Why]:
    thing = moment.next
    if thing is None or not thing.severity:
        return
    number = f"{thing.minutes:g} min, {thing.severity}"
    if thing.kind == nexts.CLOSE:
        yield Why(f"Takes {thing.minutes:g} min", "this line of the closing list; no pace on it")
    elif thing.kind == nexts.ASK:
        yield Why(number, "NEXT, if it is needed and left out; one key answers")
    elif thing.kind == nexts.CONFIRM and thing.row is not None:
        confirm = f"{thing.row.item.confirm_s:g} s"
        yield Why(number, f"to make NEXT good afterwards; to confirm it now, {confirm}")
    else:
        yield Why(number, "to calculate and draw NEXT afterwards")
    if thing.part is not None:
        yield Why(thing.answer, f"from {thing.part.calculation}, as it was saved")
    elif moment.answer and not thing.answer:
        yield Why("Its answer", "calculated with what is known now; not saved yet")
    yield Why("Severities", "hazard, dead board, degraded, rework: the worst first")


def _open(moment: Moment) -> Iterator[Why]:
    rows = skipped(moment.state)
    if rows:
        longest = max(moment.course.t - left_behind_at(moment.state, row) for row in rows)
        yield Why(f"Open {len(rows)}", f"essentials skipped, the first {minutes(longest)} ago")
        yield Why("", "The minutes beside each: what it takes by itself")


def _draw(moment: Moment) -> Iterator[Why]:
    parts = to_draw(moment.state)
    waiting = [part for part in parts if not part.fails]
    if waiting:
        yield Why(f"Draw {len(waiting)}", "parts of saved calculations, not said to be drawn yet")
    if len(parts) > len(waiting):
        count = len(parts) - len(waiting)
        yield Why(f"{count} more", "not shown, because their calculation fails")


# ---- the phase ---------------------------------------------------------------------------------


def _gate(moment: Moment) -> Iterator[Why]:
    state, phase = moment.state, moment.state.phase
    if not phase:
        return
    if phase == CLOSING_ID:
        rows = [r for r in state.rows_of(CLOSING_ID) if r.applies is not False]
        yield Why(f"List {sum(r.closed for r in rows)} of {len(rows)}", "lines that are closed")
        return
    closed, count = gate_count(state, phase)
    yield Why(f"Gate {closed} of {count}", "rows closed, of those whose stage is reached")
    later = [g for g in gate_rows(state, phase) if not any(map(state.reached, g.cells))]
    if later:
        stages = " and ".join(dict.fromkeys(str(gate.item.stage) for gate in later))
        rows_wait = "1 row waits" if len(later) == 1 else f"{len(later)} rows wait"
        yield Why("", f"{rows_wait} for {stages}: {short_name(later[0].cells[0])}" + (
            " first" if len(later) > 1 else ""))  # fmt: skip
    further, still = further_count(state, phase)
    if further:
        yield Why(f"{further} more checks", f"outside the gate; {still} of them open")


def _box(moment: Moment) -> Iterator[Why]:
    state, box = moment.state, moment.plan.box(moment.state.phase)
    number = f"Box {round(box.seconds / 60)} min"
    if box.phase == CLOSING_ID:
        yield Why(number, "the minutes of all its lines, none scaled")
    elif box.phase == CHOOSING:
        parts = f"{sizes(state)['parts']:g} parts"
        usual = f"{CHOOSING_MINUTES:g} min for {REFERENCE_BOARD['parts']:g}"
        yield Why(number, f"choosing {parts}, {usual}, at pace {PRIOR_PACE:g}")
    else:
        drawing, walk = f"{box.drawing / 60:.1f}", f"{box.walk / 60:.1f}"
        yield Why(number, f"{drawing} min of drawing and {walk} min to confirm its gate")
        yield from _drawing(state, box)


def _drawing(state: State, box: Box) -> Iterator[Why]:
    """The drawing of a box: that of the usual board, scaled to this one and to a pace."""
    drawing, by = state.setup.phase(box.phase).drawing, sizes(state)
    usual, here = expected_minutes(drawing, REFERENCE_BOARD), expected_minutes(drawing, by)
    kept = box.drawing / (60 * PRIOR_PACE * here)
    yield Why(
        f"{box.drawing / 60:.1f} min",
        f"{usual:.1f} usual × {here / usual:.2f} for this board × pace {PRIOR_PACE:g}",
    )
    if kept < 0.995:
        yield Why("", f"And × {kept:.2f}: the rest went with what was dropped")
    counts = ", ".join(_counted(by[size], size) for size in drawing.grows_with)
    usually = ", ".join(f"{REFERENCE_BOARD[size]:g}" for size in drawing.grows_with)
    if counts:
        yield Why(f"{here / usual:.2f}", f"{counts} here; the usual board has {usually}")


def _counted(number: float, sizes_of: str) -> str:
    return f"{number:g} {sizes_of.removesuffix('s') if number == 1 else sizes_of}"


def _used(moment: Moment) -> Iterator[Why]:
    state, phase = moment.state, moment.state.phase
    used = round(used_of(state, moment.course.t, phase) / 60)
    yield Why(f"Used {used} min", "time in this phase, away from it not counted")
    elsewhere = state.elsewhere.get(phase, 0.0)
    if elsewhere:
        yield Why("", f"{_upper(minutes(elsewhere))} of it went into items of other phases")
    if state.interrupted:
        yield Why("", f"{minutes(state.interrupted)} of the sprint were taken out: interrupted")


def _aside(moment: Moment) -> Iterator[Why]:
    parked = sum(not thought.settled for thought in moment.state.thoughts)
    if parked:
        yield Why(f"Parked {parked}", "thoughts put aside and not settled; p lists them")


# ---- behind the forecast -----------------------------------------------------------------------


def _pace(moment: Moment) -> Iterator[Why]:
    forecast, state = moment.forecast, moment.state
    if forecast is None or state.ended:
        return
    pace = forecast.pace
    yield Why(f"Pace {pace.median:.1f}", f"times the estimate of drawing, {forecast.known()}")
    low, high = pace.within(BAND)
    yield Why(f"Pace {low:.1f} .. {high:.1f}", f"{in_ten(BAND)} of the paces it may be")
    yield Why("", f"Unseen, it is that of your earlier sprints, else {PRIOR_PACE:g}")
    seen = [one for one in observations(state, moment.course.t) if one.phase != CHOOSING]
    if seen:
        told = ", ".join(f"{state.setup.phase(o.phase).name} {o.ratio:.1f}" for o in seen[-2:])
        yield Why("", f"Seen last: {told}")


def _reserve(moment: Moment) -> Iterator[Why]:
    reserve = moment.state.setup.reserve
    if not reserve or moment.at is None or moment.state.ended:
        return
    begins = of_day(moment.at(moment.state.deadline - reserve))
    closing = minutes(moment.course.phases[CLOSING_ID])
    yield Why(
        f"Reserve {minutes(reserve)}", f"from {begins} on; the closing list still takes {closing}"
    )
