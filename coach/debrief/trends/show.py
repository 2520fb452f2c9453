"""Trends as plain text for a terminal of 80 columns."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from textwrap import wrap

from coach.debrief.account.words import count, times, was
from coach.debrief.report.figures import span
from coach.debrief.trends.counting import Calibration, ItemCount, PhaseCount, Trends
from coach.debrief.trends.learning import LEAST, Curve

WIDTH = 80
MOST_ITEMS = 15
"""Items that the text lists; the tables have all."""

_NAME = 27


def trends_text(trends: Trends) -> list[str]:
    """What the sprints say together, in lines."""
    if not trends.sprints:
        return ["No sprint has ended yet: there is nothing to count."]
    found = _opening(trends)
    for title, lines in (
        ("Forgotten", _items(trends)),
        ("Pace, used over planned", _phases(trends.phases)),
        ("Forecasts", _forecasts(trends.calibration)),
        ("Late findings", _findings(trends)),
        ("Better or worse", _learning(trends)),
    ):
        if lines:
            found += ["", title, *(f"  {one}".rstrip() for one in lines)]
    return found


def _opening(trends: Trends) -> list[str]:
    assert trends.first is not None
    assert trends.last is not None
    days = [f"{trends.first:%Y-%m-%d}", f"{trends.last:%Y-%m-%d}"]
    when = f"on {days[0]}" if days[0] == days[1] else f"from {days[0]} to {days[1]}"
    rehearsed = f", {trends.rehearsed} of them rehearsed" if trends.rehearsed else ""
    missed, of = trends.forgotten
    return [
        f"{count(trends.sprints, 'sprint')} {when}{rehearsed}.",
        f"Orders accepted: {trends.accepted}, by the cut-off: {trends.in_time}.",
        f"{count(missed, 'essential')} {was(missed)} forgotten, of {of} that were due.",
    ]


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
        found += _item(one)
    if (more := len(worth) - MOST_ITEMS) > 0:
        found.append(f"and {more} more: --csv has all")
    found += [
        "",
        "of: sprints that had it on the board when its turn came. True rate: what the",
        "count is compatible with (95 %). Off: you said it is not on this board.",
        "Escapes: late findings it let through. *: the next sprint asks it first.",
    ]
    return found


def _item(one: ItemCount) -> list[str]:
    name = f"{one.item[: _NAME - 2]}{' *' if one.yours else ''}"
    missed = f"{one.forgotten} of {one.sprints}"
    line = f"{name:{_NAME}} {missed:>11} {rate(one.interval):>12} {_some(one.late):>4} "
    line += f"{_some(one.waived):>6} {_some(one.dismissed):>3} {_some(one.escapes):>7}"
    again = f" (again {times(one.again)})" if one.again else ""
    return [line, *(f"  {part}" for part in _wrapped(f"{one.about.statement}{again}", 4))]


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
    let_through = len(trends.findings) - len(trends.strays)
    cost = [one.minutes for one in trends.findings if one.minutes is not None]
    time = f" They cost {span(60 * sum(cost))}." if cost else ""
    number = count(len(trends.findings), "fault")
    found = [f"{number} found late, {let_through} let through by an item.{time}"]
    if trends.strays:
        found.append("No item asks for:")
    for one in trends.strays[:MOST_ITEMS]:
        found += [f"  {part}" for part in _wrapped(one.fault, 4)]
    if (more := len(trends.strays) - MOST_ITEMS) > 0:
        found.append(f"and {more} more: --json has all")
    return found


# ---- better or worse -------------------------------------------------------------------------


def _learning(trends: Trends) -> list[str]:
    if not trends.enough:
        number = count(trends.sprints, "sprint")
        return [f"{number}: counts only. Under {LEAST} it is not said whether it gets better."]
    told = (_claim("Pace", trends.pace), _claim("Essentials forgotten", trends.missing))
    return [part for text in told for part in _wrapped(text, 2)]


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
