"""Trends as plain text for a terminal of 80 columns."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import wrap

from coach.history.learning_curve import LEAST, Curve
from coach.history.trends import ItemCount, PhaseCount, Trends
from coach.sprint.chances import per_cent, per_cents
from coach.sprint.durations import duration
from coach.sprint.events.summary import forgotten_words
from phases.kit.grammar import count, times, was

WIDTH = 80
MOST_ITEMS = 15
"""Items that the text lists; the tables have all."""

_NAME = 27


def trends_text(trends: Trends) -> list[str]:
    """What the sprints say together, in lines."""
    found = [*_wrapped(_opening(trends), WIDTH)]
    mixed = ", own and rehearsed together" if trends.mixed else ""
    for title, lines in (
        (f"Forgotten{mixed}", _items(trends)),
        (f"Pace, used over planned{mixed}", _phases(trends.phases)),
        (f"Forecasts{mixed}", _forecasts(trends)),
        ("Late findings", _findings(trends)),
        ("Better or worse", _learning(trends)),
    ):
        body = [f"  {one}".rstrip() for one in _wrapped(lines, WIDTH - 2)]
        found += ["", title, *body] if body else []
    return found


def _wrapped(lines: Sequence[str], width: int) -> Iterator[str]:
    """Long sentences on several lines, as far in as they begin; rows of a table fit."""
    for one in lines:
        indent = " " * (len(one) - len(one.lstrip()))
        yield from wrap(one, width, subsequent_indent=indent) or [""]


def _opening(trends: Trends) -> list[str]:
    says = []
    if trends.first is not None and trends.last is not None:
        first, last = f"{trends.first:%Y-%m-%d}", f"{trends.last:%Y-%m-%d}"
        when = f"on {first}" if first == last else f"from {first} to {last}"
        missed, of = trends.forgotten
        says = [
            f"{count(trends.sprints, 'sprint')} {when}{_rehearsed(trends)}.",
            f"Orders accepted: {trends.accepted}, by the cut-off: {trends.in_time}.",
            f"{forgotten_words(missed, of)}.",
        ]
    elif not trends.given_up:
        says = ["No sprint has ended yet: there is nothing to count."]
    if trends.mixed:
        own, accepted, missed, of = trends.own
        alone = f"Your own {count(own, 'sprint')} alone: orders accepted {accepted}"
        says.append(f"{alone}, forgotten {missed} of {of}.")
    if trends.asked:
        says.append(f"{trends.asked} more {was(trends.asked)} never answered; not counted.")
    if trends.given_up:
        says.append(
            f"{count(trends.given_up, 'sprint')} {was(trends.given_up)} given up at once, within "
            "the first tenth of the time and without an order: left out of rates, pace and claims."
        )
    return says


def _rehearsed(trends: Trends) -> str:
    """How many of the sprints are rehearsed, and of which kind."""
    if not trends.rehearsed:
        return ""
    faster, simulated = trends.faster, trends.rehearsed - trends.faster
    kinds = (
        f"{simulated} simulated" if simulated else "",
        f"{faster} with a faster clock" if faster else "",
    )
    number = "all" if trends.rehearsed == trends.sprints else f"{trends.rehearsed} of them"
    return f", {number} rehearsed ({', '.join(filter(None, kinds))})"


def rate(interval: tuple[float, float] | None) -> str:
    """An interval of a rate, in per cent."""
    return per_cents(*interval) if interval else "–"


# ---- items -----------------------------------------------------------------------------------


def _items(trends: Trends) -> list[str]:
    if not trends.sprints:
        return []
    worth = [
        one
        for one in trends.items
        if one.forgotten or one.late or one.escapes or (one.waived and one.about.essential)
    ]
    if not worth:
        return ["No essential was forgotten, late or waived, and none let a fault through."]
    return [
        f"{'':{_NAME}} {'forgotten':>11} {'rate':>12} {'late':>4} {'waived':>6} {'N/A':>3} "
        f"{'escapes':>7}",
        *(line for one in worth[:MOST_ITEMS] for line in _item(one, mixed=trends.mixed)),
        *_more(len(worth), "--csv"),
        "",
        "of: sprints that were known to have it on the board when its turn came.",
        "Rate: 95 % interval. N/A: you said it is not on this board. Escapes: late",
        "findings it let through. *: the next sprint asks it first in its phase, the",
        "worst first (the closing list keeps its order).",
    ]


def _item(one: ItemCount, *, mixed: bool) -> tuple[str, str]:
    name = f"{one.item[: _NAME - 2]}{' *' if one.yours else ''}"
    missed = f"{one.forgotten} of {one.sprints}"
    late, waived, dismissed, escapes = (
        number or "·" for number in (one.late, one.waived, one.dismissed, one.escapes)
    )
    more = (
        f"again {times(one.again)}" if one.again else "",
        f"your own {one.own[0]} of {one.own[1]}" if mixed else "",
        f"only asked in {one.asked}" if one.asked else "",
    )
    told = ", ".join(filter(None, more))
    return (
        f"{name:{_NAME}} {missed:>11} {rate(one.interval):>12} {late:>4} {waived:>6} "
        f"{dismissed:>3} {escapes:>7}",
        f"  {one.about.statement}{f' ({told})' if told else ''}",
    )


def _more(number: int, where: str) -> list[str]:
    more = number - MOST_ITEMS
    return [f"and {more} more: {where} has all"] if more > 0 else []


# ---- phases and forecasts --------------------------------------------------------------------


def _phases(phases: Sequence[PhaseCount]) -> list[str]:
    head = f"{'':18} {'sprints':>7} {'median':>6} {'half lie in':>14} {'used':>8} {'planned':>8}"
    rows = [
        f"{one.name[:18]:18} {one.sprints:>7} {one.middle:>6.2f} "
        f"{f'{one.low:.2f} to {one.high:.2f}':>14} "
        f"{duration(one.used):>8} {duration(one.planned):>8}"
        for one in phases
    ]
    return [head, *rows] if rows else []


def _forecasts(trends: Trends) -> list[str]:
    rows = []
    for one in trends.calibration:
        when = f"at {one.checkpoint} %" if one.checkpoint else "in all"
        actual = f"{one.happened} of {one.forecasts}"
        held = f"{one.covered} of {one.judged}" if one.judged else "–"
        rows.append(
            f"{when:8} {one.chance:>6.2f} {actual:>11} {one.brier:>6.3f} {one.base:>6.3f} "
            f"{held:>15} {rate(one.interval):>12} {duration(one.loss):>7}"
        )
    if not rows:
        return []
    return [
        f"{'':8} {'chance':>6} {'actual':>11} {'Brier':>6} {'base':>6} {'80 % band held':>15} "
        f"{'rate':>12} {'loss':>7}",
        *rows,
        "",
        "Chance: mean forecast of all essentials in time; actual: how often they",
        "were. Brier: 0 is best; base: the score of always forecasting the actual share.",
        "Rate: 95 % interval. Loss: average miss of the ends of the band (pinball loss).",
    ]


# ---- late findings, better or worse ----------------------------------------------------------


def _findings(trends: Trends) -> list[str]:
    found = trends.findings
    if not found:
        return []
    minutes = [one.minutes for one in found if one.minutes is not None]
    cost = f" They cost {duration(60 * sum(minutes))}." if minutes else ""
    through = sum(bool(one.item) for one in found)
    words = {one.item: one.about.statement for one in trends.items}
    strays = [one for one in found if not one.item]
    asked_now = [f"{one.fault}: {words.get(one.made, one.made)}" for one in strays if one.made]
    return [
        f"{count(len(found), 'fault')} found late, {through} let through by an item.{cost}",
        *_faults("No item asked for; a house rule of yours asks for it now:", asked_now),
        *_faults("No item asks for:", [one.fault for one in strays if not one.made]),
    ]


def _faults(title: str, faults: Sequence[str]) -> list[str]:
    shown = [f"  {one}" for one in faults[:MOST_ITEMS]]
    return [title, *shown, *_more(len(faults), "--json")] if faults else []


def _learning(trends: Trends) -> list[str]:
    own = trends.own[0]
    says = []
    if trends.rehearsed:
        whose = "Shown for your own sprints alone." if own else "Not shown for rehearsed sprints."
        says.append(whose)
    if trends.enough_for_a_trend:
        says += [_claim("Pace", trends.pace), _claim("Essentials forgotten", trends.missing)]
    elif own:
        number = f"{count(own, 'sprint')}{' of your own' if trends.mixed else ''}"
        says.append(f"{number}: counts only, no trend under {LEAST}.")
    return says


def _claim(what: str, curve: Curve | None) -> str:
    number = count(curve.sprints if curve else 0, "sprint")
    if curve is None or not curve.claim or curve.rates is None:
        return f"{what}: known of {number}, no trend under {LEAST}."
    between = per_cents(*curve.rates)
    if curve.claim == "no trend":
        return f"{what}: no trend in {number}; twice as many leave it at {between} of before."
    by = f"{per_cent(curve.rate, 0)} of before ({between})"
    return f"{what}: it gets {curve.claim}; twice as many sprints bring it to {by}."
