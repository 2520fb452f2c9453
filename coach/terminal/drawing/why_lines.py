"""Each number of the sprint screen asked why: what it is made of, as it is now.

The numbers are taken from the functions that draw the screen, never worked out another way; each
is said in one sentence, of two short lines on a strip.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from coach.sprint.chances import in_ten
from coach.sprint.durations import duration, tenths
from coach.sprint.events.event import Stamped
from coach.sprint.events.run import ClockStepped, CutOffMoved
from coach.sprint.fold import taken_back
from coach.sprint.gates.advice import ASK, CLOSE, CONFIRM
from coach.sprint.gates.gates import gate_rows, skipped
from coach.sprint.ledger.to_draw import drawable, to_draw
from coach.sprint.pace.forecast import BAND
from coach.sprint.pace.pace import observations
from coach.sprint.pace.plan import (
    CHOOSING,
    CHOOSING_MINUTES,
    PRIOR_PACE,
    Box,
    expected_minutes,
    sizes,
    used_of,
)
from coach.sprint.pace.work import left_behind_at
from coach.sprint.state import State
from coach.terminal.drawing.head import (
    Moment,
    band_words,
    chance_words,
    gate_words,
    left_words,
    parked_count,
    will_it_do,
)
from coach.terminal.drawing.item_list import further_count, further_words
from coach.terminal.drawing.item_words import of_day, short_name
from coach.terminal.drawing.lines import Line, Span, line, wrapped
from phases.kit.grammar import capital, clause, count
from phases.kit.items import CLOSING_ID, REFERENCE_BOARD

HEADING = "The numbers on this screen"
MOST_LINES = 2

Why = tuple[str, str]
"""A number as the screen shows it, and what it is made of; number "" goes on with the last."""


def why_lines(moment: Moment, history: Sequence[Stamped], width: int) -> list[Line]:
    """Every number under its heading, those of the head first. history: of this sprint, because
    the state does not say who moved the cut-off and when."""
    found = [line(Span(f" {HEADING}", "quiet"))]
    for number, words in _whys(moment, history):
        text = f"{capital(number)}: {words}." if number else f"{words}."
        first, *more = wrapped(text, max(width - 4, 12), MOST_LINES)
        head = len(number) if first.startswith(capital(number)) else 0
        found.append(line("  ", Span(first[:head], "title"), first[head:]))
        found += [line(f"    {part}") for part in more]
    return found


def _whys(moment: Moment, history: Sequence[Stamped]) -> Iterator[Why]:
    """All of them, in the order in which the screen shows them."""
    if not moment.state.ended:
        yield from _time_left(moment, history)
        yield from _will_it_do(moment)
    yield from _next(moment)
    yield from _skipped(moment)
    yield from _draw(moment.state)
    yield from _gate(moment.state)
    yield from _box(moment.state, moment.plan.box(moment.state.phase))
    yield from _used(moment)
    if not moment.state.ended:
        yield from _pace(moment)
        yield from _reserve(moment)


# ---- how long ----------------------------------------------------------------------------------


def _time_left(moment: Moment, history: Sequence[Stamped]) -> Iterator[Why]:
    state = moment.state
    undone = taken_back(history)
    valid = [stamped for stamped in history if not stamped.is_void(undone)]
    moves = [(s, s.event) for s in valid if isinstance(s.event, CutOffMoved)]
    steps = [(s, s.event) for s in valid if isinstance(s.event, ClockStepped)]
    cut_off = f"cut-off {moment.cut_off}" if moment.progress.left >= 0 else moment.cut_off
    yield left_words(moment), f"{cut_off}, {'as it was moved' if moves else _set_by(state)}"
    for stamped, moved in moves[-1:]:
        who = " by you" if stamped.by else ""
        last = f", the last of {len(moves)} moves" if len(moves) > 1 else ""
        yield moved.message, f"moved{who} at {of_day(stamped.at)}{last}"
        yield "", f"Reason: {clause(moved.why)}" if moved.why else "No reason was given"
    for stamped, step in steps[-1:]:
        yield "Wall clock", f"at {of_day(stamped.at)} {_step_words(step)}"
    yield of_day(moment.now), f"the time now, {duration(moment.progress.t)} after the start"
    if state.setup.speed != 1.0:
        yield f"{state.setup.speed:g} times", "as fast as the wall clock: a rehearsal"


def _set_by(state: State) -> str:
    minutes = state.setup.brief.deadline.minutes
    if minutes is None:
        return "as the brief says"
    return f"the brief's {duration(60 * minutes)}"


def _step_words(step: ClockStepped) -> str:
    if step.kind == "sleep":
        return f"the machine had slept {duration(step.seconds)}; that time is gone"
    way = "forward" if step.seconds > 0 else "back"
    stayed = "the cut-off kept its time of day" if step.shift else "the time left stayed"
    return f"set {way} by {duration(step.seconds)}; {stayed}"


# ---- will it do --------------------------------------------------------------------------------


def _will_it_do(moment: Moment) -> Iterator[Why]:
    forecast, remaining = moment.forecast, duration(moment.progress.remaining)
    if forecast is None:
        ends, spare = (clause(span.text.rstrip(", ")) for span in will_it_do(moment))
        yield ends, f"boxes, skipped essentials and closing list still take {remaining}"
        yield spare, "between that and the cut-off; a forecast follows"
        return
    draws, before = forecast.draws, round(forecast.chance_essentials * forecast.draws)
    runs = f"{before:_} of {draws:_} simulated runs".replace("_", " ")
    yield chance_words(forecast), f"{runs} make the cut-off"
    yield "One run", "a random duration for each remaining task, one pace for all"
    then = "; below it, W suggests what to drop" if forecast.fallen else ""
    yield f"Target {in_ten(forecast.threshold)}", f"from the brief{then}"
    mean = of_day(moment.at(forecast.expected))
    ends = band_words(forecast, moment.at)
    yield ends, f"{in_ten(BAND)} runs finish in this range; mean ● {mean}"
    for reason in forecast.reasons():
        yield "", clause(reason)


# ---- next, skipped, to draw --------------------------------------------------------------------


def _next(moment: Moment) -> Iterator[Why]:
    thing = moment.next
    if thing is None or not thing.severity:
        return
    minutes = duration(60 * thing.minutes)
    number = f"If missed: {thing.severity}, {minutes}"
    if thing.kind == CLOSE:
        yield f"Takes {minutes}", "this line of the closing list; no pace on it"
    elif thing.kind == ASK:
        yield number, "if NEXT is needed and left out; one key answers"
    elif thing.kind == CONFIRM and thing.row is not None:
        yield number, f"to fix NEXT later; {duration(thing.row.item.confirm_s)} to confirm now"
    else:
        yield number, "to calculate and draw NEXT later"
    if thing.part is not None:
        yield thing.answer, f"from {thing.part.calculation}, as it was saved"
    elif moment.answer and not thing.answer:
        yield "Its answer", "calculated with what is known now; not saved yet"
    yield "Severities", "hazard, dead board, degraded, rework: the worst first"


def _skipped(moment: Moment) -> Iterator[Why]:
    rows = skipped(moment.state)
    if rows:
        longest = max(moment.progress.t - left_behind_at(moment.state, row) for row in rows)
        yield f"Skipped {len(rows)}", f"essentials, the first {duration(longest)} ago"
        yield "", "The minutes beside each: what it takes to add by itself"


def _draw(state: State) -> Iterator[Why]:
    waiting, fail = len(drawable(state)), len(to_draw(state)) - len(drawable(state))
    if waiting:
        yield f"Draw {waiting}", "parts of saved calculations not marked drawn"
    if fail:
        yield f"{fail} more", "not shown, because their calculation fails"


# ---- the phase ---------------------------------------------------------------------------------


def _gate(state: State) -> Iterator[Why]:
    if state.phase == CLOSING_ID:
        yield gate_words(state), "lines that are closed"
    elif gate := gate_words(state):
        yield gate, "essentials closed, of those that can be checked by now"
    later = [
        row
        for row in gate_rows(state, state.phase)
        if not any(map(state.reached, row.cells)) and state.phase != CLOSING_ID
    ]
    if later:
        stages = " and ".join(dict.fromkeys(str(row.item.stage) for row in later))
        waiting = "1 row waits" if len(later) == 1 else f"{len(later)} rows wait"
        first = " first" if len(later) > 1 else ""
        yield "", f"{waiting} for {stages}: {short_name(later[0].cells[0])}{first}"
    further, still = further_count(state, state.phase)
    if further:
        yield further_words(state, state.phase), f"outside the gate; {still} of them open"


def _box(state: State, box: Box) -> Iterator[Why]:
    number = f"Box {duration(box.seconds)}"
    if box.phase == CLOSING_ID:
        yield number, "the minutes of all its lines, none scaled"
    elif box.phase == CHOOSING:
        parts = f"{sizes(state)['parts']:g} parts"
        usual = f"{duration(60 * CHOOSING_MINUTES)} for {REFERENCE_BOARD['parts']:g}"
        yield number, f"choosing {parts}, {usual}, at pace {PRIOR_PACE:g}"
    else:
        yield number, f"{tenths(box.drawing)} of drawing and {tenths(box.walk)} to confirm its gate"
        yield from _drawing(state, box)


def _drawing(state: State, box: Box) -> Iterator[Why]:
    """The drawing of a box: that of the usual board, scaled to this one and to a pace."""
    drawing, by = state.setup.phase(box.phase).drawing, sizes(state)
    usual, here = expected_minutes(drawing, REFERENCE_BOARD), expected_minutes(drawing, by)
    scale, kept = f"{here / usual:.2f}", box.drawing / (60 * PRIOR_PACE * here)
    made = f"{usual:.1f} usual × {scale} for this board × pace {PRIOR_PACE:g}"
    yield tenths(box.drawing), made
    if kept < 0.995:
        yield "", f"× {kept:.2f} for what was dropped"
    counts = ", ".join(count(int(by[size]), size.removesuffix("s")) for size in drawing.grows_with)
    if counts:
        usually = ", ".join(f"{REFERENCE_BOARD[size]:g}" for size in drawing.grows_with)
        yield scale, f"{counts} here; the usual board has {usually}"


def _used(moment: Moment) -> Iterator[Why]:
    state = moment.state
    used = used_of(state, moment.progress.t, state.phase)
    yield f"Used {duration(used)}", "time spent in this phase"
    if elsewhere := state.elsewhere.get(state.phase, 0.0):
        yield "", f"{duration(elsewhere)} of it went into items of other phases"
    if state.interrupted:
        yield "", f"{duration(state.interrupted)} of the sprint not counted: interrupted"
    if parked := parked_count(state):
        yield f"Parked {parked}", "notes put aside and not done; p lists them"


# ---- behind the forecast -----------------------------------------------------------------------


def _pace(moment: Moment) -> Iterator[Why]:
    forecast, state = moment.forecast, moment.state
    if forecast is None:
        return
    low, high = forecast.pace.within(BAND)
    yield f"Pace {forecast.pace.median:.1f}", f"times the estimate of drawing, {forecast.known()}"
    yield f"Pace {low:.1f} .. {high:.1f}", "80 % range"
    yield "", f"Before anything is seen: from your earlier sprints, else {PRIOR_PACE:g}"
    seen = [one for one in observations(state, moment.progress.t) if one.phase != CHOOSING]
    if seen:
        told = ", ".join(f"{state.setup.phase(o.phase).name} {o.ratio:.1f}" for o in seen[-2:])
        yield "", f"Seen last: {told}"


def _reserve(moment: Moment) -> Iterator[Why]:
    reserve = moment.state.setup.reserve
    if reserve:
        begins = of_day(moment.at(moment.state.deadline - reserve))
        closing = duration(moment.progress.phases[CLOSING_ID])
        yield f"Reserve {duration(reserve)}", f"from {begins} on; the closing list takes {closing}"
