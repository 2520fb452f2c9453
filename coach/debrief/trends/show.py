"""Trends as plain text for a terminal of 80 columns."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from textwrap import wrap

from coach.debrief.trends.counting import Calibration, ItemCount, PhaseCount, Trends
from coach.debrief.trends.learning import LEAST, Curve
from coach.sprint.durations import duration as span
from phases.kit.grammar import count, times, was

WIDTH = 80
MOST_ITEMS = 15
"""Items that the text lists; the tables have all."""

_NAME = 27


def trends_text(trends: Trends) -> list[str]:
    """What the sprints say together, in lines."""
    if not trends.sprints:
        return _nothing(trends)
    found = _opening(trends)
    mixed = ", own and rehearsed together" if trends.mixed else ""
    for title, lines in (
        (f"Forgotten{mixed}", _items(trends)),
        (f"Pace, used over planned{mixed}", _phases(trends.phases)),
        (f"Forecasts{mixed}", _forecasts(trends.calibration)),
        ("Late findings", _findings(trends)),
        ("Better or worse", _learning(trends)),
    ):
        found += _section(title, lines)
    return found


def _nothing(trends: Trends) -> list[str]:
    """What is said where no sprint counts."""
    if not trends.given_up:
        return ["No sprint has ended yet: there is nothing to count."]
    return [*_given_up(trends), *_section("Late findings", _findings(trends))]


def _section(title: str, lines: Sequence[str]) -> list[str]:
    return ["", title, *(f"  {one}".rstrip() for one in lines)] if lines else []


def _opening(trends: Trends) -> list[str]:
    assert trends.first is not None
    assert trends.last is not None
    days = [f"{trends.first:%Y-%m-%d}", f"{trends.last:%Y-%m-%d}"]
    when = f"on {days[0]}" if days[0] == days[1] else f"from {days[0]} to {days[1]}"
    missed, of = trends.forgotten
    found = [
        f"{count(trends.sprints, 'sprint')} {when}{_rehearsed(trends)}.",
        f"Orders accepted: {trends.accepted}, by the cut-off: {trends.in_time}.",
        f"{count(missed, 'essential')} {was(missed)} forgotten, of {of} that were due.",
    ]
    if trends.mixed:
        own, accepted, missed, of = trends.own
        found.append(
            f"Your own {count(own, 'sprint')} alone: orders accepted {accepted}, "
            f"forgotten {missed} of {of}."
        )
    if trends.asked:
        number = count(trends.asked, "more", "more")
        asked = f"{number} {was(trends.asked)} only asked, never answered"
        found.append(f"{asked}: not counted as forgotten.")
    return [*(part for one in found for part in wrap(one, WIDTH)), *_given_up(trends)]


def _rehearsed(trends: Trends) -> str:
    """How many of the sprints are rehearsed, and of which kind."""
    if not trends.rehearsed:
        return ""
    faster, simulated = trends.faster, trends.rehearsed - trends.faster
    kinds = [
        *([f"{simulated} simulated"] if simulated else []),
        *([f"{faster} faster than life"] if faster else []),
    ]
    number = "all" if trends.rehearsed == trends.sprints else f"{trends.rehearsed} of them"
    return f", {number} rehearsed ({', '.join(kinds)})"


def _given_up(trends: Trends) -> list[str]:
    if not trends.given_up:
        return []
    number, are = count(trends.given_up, "sprint"), was(trends.given_up)
    text = (
        f"{number} {are} given up at once, within the first tenth of the time and without an "
        "order: left out of rates, pace and claims."
    )
    return wrap(text, WIDTH)


def rate(interval: tuple[float, float] | None) -> str:
    """An interval of a rate, in per cent."""
    if interval is None:
        return "–"
    low, high = (round(100 * end) for end in interval)
    return f"{low} to {high} %"


# ---- items -----------------------------------------------------------------------------------


def _items(trends: Trends) -> list[str]:
    worth = [
        one for one in trends.items
        if one.forgotten or one.late or one.escapes or (one.waived and one.about.essential)
    ]  # fmt: skip
    if not worth:
        return ["No essential was forgotten, late or waived, and none let a fault through."]
    head = f"{'':{_NAME}} {'forgotten':>11} {'true rate':>12} {'late':>4} {'waived':>6} "
    found = [f"{head}{'off':>3} {'escapes':>7}"]
    for one in worth[:MOST_ITEMS]:
        found += _item(one, mixed=trends.mixed)
    if (more := len(worth) - MOST_ITEMS) > 0:
        found.append(f"and {more} more: --csv has all")
    found += [
        "",
        "of: sprints that were known to have it on the board when its turn came.",
        "True rate: what the count is compatible with (95 %). Off: you said it is not",
        "on this board. Escapes: late findings it let through. *: the next sprint asks",
        "it first in its phase, the worst first (the closing list keeps its order).",
    ]
    return found


def _item(one: ItemCount, *, mixed: bool) -> list[str]:
    name = f"{one.item[: _NAME - 2]}{' *' if one.yours else ''}"
    missed = f"{one.forgotten} of {one.sprints}"
    line = f"{name:{_NAME}} {missed:>11} {rate(one.interval):>12} {_some(one.late):>4} "
    line += f"{_some(one.waived):>6} {_some(one.dismissed):>3} {_some(one.escapes):>7}"
    more = [
        *([f"again {times(one.again)}"] if one.again else []),
        *([f"your own {one.own[0]} of {one.own[1]}"] if mixed else []),
        *([f"only asked in {one.asked}"] if one.asked else []),
    ]
    told = f" ({', '.join(more)})" if more else ""
    return [line, *(f"  {part}" for part in _wrapped(f"{one.about.statement}{told}", 4))]


def _some(number: int) -> str:
    return str(number) if number else "·"


def _wrapped(text: str, indent: int) -> list[str]:
    return wrap(text, WIDTH - indent - 2) or [""]


# ---- phases and forecasts --------------------------------------------------------------------


def _phases(phases: Sequence[PhaseCount]) -> list[str]:
    if not phases:
        return []
    found = [f"{'':18} {'sprints':>7} {'median':>6} {'half lie in':>14} {'used':>8} {'planned':>8}"]
    for one in phases:
        half = f"{one.low:.2f} to {one.high:.2f}"
        found.append(
            f"{one.name[:18]:18} {one.sprints:>7} {one.middle:>6.2f} {half:>14} "
            f"{span(one.used):>8} {span(one.planned):>8}"
        )
    return found


def _forecasts(calibration: Iterable[Calibration]) -> list[str]:
    listed = list(calibration)
    if not listed:
        return []
    found = [
        f"{'':8} {'said':>5} {'came':>12} {'Brier':>6} {'base':>6} {'80 % band held':>15} "
        f"{'true share':>12} {'loss':>7}"
    ]
    for one in listed:
        when = f"at {one.mark} %" if one.mark else "in all"
        came = f"{one.happened} of {one.forecasts}"
        held = f"{one.covered} of {one.judged}" if one.judged else "–"
        loss = span(one.loss) if one.loss is not None else "–"
        found.append(
            f"{when:8} {one.chance:>5.2f} {came:>12} {one.brier:>6.3f} {one.base:>6.3f} "
            f"{held:>15} {rate(one.interval):>12} {loss:>7}"
        )
    return [
        *found,
        "",
        "Said: the mean chance of all essentials in time; came: in how many they were.",
        "Brier: 0 is best; base: the score of always saying how often it came.",
        "Loss: how far the ends of the band were off, pinball loss of both.",
    ]


def _findings(trends: Trends) -> list[str]:
    if not trends.findings:
        return []
    cost = [one.minutes for one in trends.findings if one.minutes is not None]
    time = f" They cost {span(60 * sum(cost))}." if cost else ""
    number = count(len(trends.findings), "fault")
    found = [f"{number} found late, {len(trends.let_through)} let through by an item.{time}"]
    words = trends.statements
    now = [f"{one.fault}: {words.get(one.made) or one.made}" for one in trends.asked_now]
    found += _faults("No item asked for; a house rule of yours asks for it now:", now)
    return found + _faults("No item asks for:", [one.fault for one in trends.strays])


def _faults(title: str, faults: Sequence[str]) -> list[str]:
    found = [title] if faults else []
    for one in faults[:MOST_ITEMS]:
        found += [f"  {part}" for part in _wrapped(one, 4)]
    if (more := len(faults) - MOST_ITEMS) > 0:
        found.append(f"and {more} more: --json has all")
    return found


# ---- better or worse -------------------------------------------------------------------------


def _learning(trends: Trends) -> list[str]:
    own = trends.own[0]
    found = [part for one in _why_own(trends) for part in _wrapped(one, 2)]
    if not own:
        return found
    if not trends.enough:
        number = f"{count(own, 'sprint')}{' of your own' if trends.mixed else ''}"
        says = f"{number}: counts only. Under {LEAST} it is not said whether it gets better."
        return found + _wrapped(says, 2)
    told = (_claim("Pace", trends.pace), _claim("Essentials forgotten", trends.missing))
    return found + [part for text in told for part in _wrapped(text, 2)]


def _why_own(trends: Trends) -> list[str]:
    """Why rehearsed sprints claim nothing."""
    if not trends.rehearsed:
        return []
    simulated, faster = trends.rehearsed > trends.faster, trends.faster > 0
    why = [
        *(["a simulated engineer learns nothing"] if simulated else []),
        *(["a clock that runs faster shows nobody's pace"] if faster else []),
    ]
    claims = "Told of your own sprints alone" if trends.mixed else "Not told of rehearsed sprints"
    return [f"{claims}: {', and '.join(why)}."]


def _claim(what: str, curve: Curve | None) -> str:
    if curve is None or not curve.claim:
        number = count(curve.sprints if curve else 0, "sprint")
        return f"{what}: {number} tell it, and under {LEAST} nothing is said of it."
    low, high = curve.rates
    between = f"{_cent(low)} to {_cent(high)} %"
    if curve.claim == "no trend":
        number = count(curve.sprints, "sprint")
        return f"{what}: no trend in {number}; twice as many leave it at {between} of before."
    by = f"{_cent(curve.rate)} % of before ({between})"
    return f"{what}: it gets {curve.claim}; twice as many sprints bring it to {by}."


def _cent(rate: float) -> str:
    return f"{100 * rate:.0f}" if rate < 10 else "over 1000"
