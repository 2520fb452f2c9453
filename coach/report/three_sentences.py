"""Three sentences that a person would say at the table: one on the items, one on the time, one on
judgement (calls, forecasts, margins). Each names its evidence.

Each subject offers the sentence that weighs most by `RANKING`; the three come in that order. The
same journal gives the same sentences.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice

from coach.history.call_outcomes import CallOutcome
from coach.report.account import Account, is_closed
from coach.report.after_production import findings
from coach.report.calls_and_forecasts import judged, marks_in_words
from coach.report.item_outcomes import late, short_name, to_fix
from coach.report.margins import by_margin, fails_by
from coach.report.phase_times import PhaseActual
from coach.report.review import drawn_until, reserve_eaten
from coach.report.sections import Point, Section
from coach.sprint.chances import in_ten, per_cent
from coach.sprint.durations import duration, elapsed
from coach.sprint.ending import from_the_cut_off, how_it_ended
from coach.sprint.pace.scoring import all_essentials_in_time
from coach.sprint.state import WAIVED, Row
from phases.kit.grammar import are, capital, clause, count, listed, listed_clauses, sentence, was
from phases.kit.items import Severity

RANKING = (
    "a hazard was forgotten",
    "there is no order",
    "the order came after the cut-off",
    "a fault was found late",
    "what kills the board was forgotten",
    "a calculation fails",
    "a call that rang was not acted on",
    "open again and not looked at",
    "an essential was forgotten",
    "an essential was left open",
    "a part was never drawn",
    "the reserve was eaten",
    "the forecast misjudged it",
    "a box was overrun",
    "a grave item was waived",
    "closed late",
    "a margin is thin",
    "it is running",
    "the time was enough",
    "a call was not acted on",
    "calls were acted on",
    "nothing was forgotten",
    "how many",
)
"""What matters most, first. A forgotten hazard outranks everything."""

SURE, UNSURE = 0.8, 0.3
"""A chance from which, and up to which, a forecast that was wrong had misjudged the sprint."""

THIN = 0.1
"""The share under which a margin is worth a sentence."""

_OVERRUN = 180.0  # seconds over a box, or into the reserve, that are worth a sentence

Offer = tuple[str, str, str]
"""What a sentence is about (one of RANKING), the sentence, its evidence."""


def sentences(account: Account) -> Section:
    """Three of different subjects, the one that matters most first."""
    subjects = (_of_items(account), _of_time(account), _of_judgement(account))
    best = sorted((min(offers, key=_rank) for offers in subjects), key=_rank)
    points = tuple(Point(capital(text), evidence) for _, text, evidence in best)
    return Section("sentences", "In three sentences", points=points, numbered=True)


def _rank(offer: Offer) -> int:
    return RANKING.index(offer[0])


# ---- what was forgotten, or found ------------------------------------------------------------


def _of_items(account: Account) -> Iterator[Offer]:
    if still := account.forgotten if account.state.ended else account.open_by_now:
        yield _forgotten(account, still)
    elif account.still_open:
        yield _left_open(account)
    if account.state.findings:
        said = [f"finding {n}: {one.fault}" for n, one in account.state.findings.items()]
        yield "a fault was found late", findings(account).lead, listed_clauses(said, 2)
    if failing := account.failing:
        fail = "fails" if len(failing) == 1 else "fail"
        names = [account.names.calculation(one.id) for one in failing]
        yield (
            "a calculation fails",
            f"{count(len(failing), 'calculation')} still {fail}: {listed(names)}.",
            clause(fails_by(failing[0])),
        )
    if again := account.reopened:
        yield (
            "open again and not looked at",
            f"{count(len(again), 'item')} {was(len(again))} opened again and never looked at"
            f"{_worst(again)}",
            f"reopened at {listed([elapsed(row.state.t) for row in again if row.state])}",
        )
    if account.undrawn:
        parts = [part.message for one in account.undrawn.values() for part in one]
        yield (
            "a part was never drawn",
            f"{count(len(parts), 'part')} {was(len(parts))} calculated and never drawn.",
            listed_clauses(parts),
        )
    yield from _closed(account)


def _forgotten(account: Account, still: Sequence[Row]) -> Offer:
    """The worst kind that is open: how many, and the worst of them by name."""
    about, first, kind, kinds = "an essential was forgotten", still, "essential", ""
    if hazards := [row for row in still if row.item.severity == Severity.HAZARD]:
        about, first, kind = "a hazard was forgotten", hazards, "hazard"
    elif grave := [row for row in still if row.item.grave]:
        about, first = "what kills the board was forgotten", grave
        kind, kinds = "item that can kill the board", "items that can kill the board"
    ended, number = account.state.ended, len(first)
    be = f"{was(number)} forgotten" if ended else f"{are(number)} open"
    mild = "" if first[0].item.grave else ", none that can hurt somebody or kill the board"
    return (
        about,
        f"{count(number, kind, kinds)} {be}{mild}{_worst(first)}",
        f"{len(still)} {'forgotten' if ended else 'open'} in all; {to_fix(still)}",
    )


def _left_open(account: Account) -> Offer:
    """Where nothing was forgotten: what was never reached, or never answered."""
    rows = account.still_open
    asked = all(row.applies is None for row in rows)
    how = "never answered" if asked else "left open and never reached"
    return (
        "an essential was left open",
        f"{count(len(rows), 'essential')} {was(len(rows))} {how}{_worst(rows)}",
        to_fix(rows),
    )


def _worst(rows: Sequence[Row]) -> str:
    """The end of a sentence about these rows: the only one by its title, else the worst."""
    return sentence(f"{', the worst' if len(rows) > 1 else ''}: {short_name(rows[0])}")


def _closed(account: Account) -> Iterator[Offer]:
    """What there is to say where nothing is open."""
    there = [row for row in account.essentials if is_closed(row)]
    clean = bool(there) and len(there) == len(account.essentials)
    waived = [row for row in there if row.status == WAIVED]
    if grave := [row for row in waived if row.item.grave]:
        yield (
            "a grave item was waived",
            f"{count(len(grave), 'essential')} that can hurt somebody or kill the board "
            f"{was(len(grave))} waived{_worst(grave)}",
            listed_clauses([row.state.reason for row in grave if row.state], 2),
        )
    if account.late:
        yield (
            "closed late",
            late(account).lead,
            listed_clauses([row.name for row in account.late], 2),
        )
    if clean:
        yield (
            "nothing was forgotten",
            f"No essential was forgotten: all {len(there)} are closed.",
            f"{len(there) - len(waived)} met, {len(waived)} waived",
        )
    yield (
        "how many",
        f"{count(len(there), 'essential')} {are(len(there))} closed.",
        f"of {len(account.essentials)} on the board",
    )


# ---- time ------------------------------------------------------------------------------------


def _of_time(account: Account) -> Iterator[Offer]:
    state, when = account.state, from_the_cut_off(account.state)
    if not state.ended:
        yield (
            "it is running",
            how_it_ended(state),
            f"last entry {elapsed(account.end)}, cut-off {elapsed(state.deadline)}",
        )
        return
    worst = max(account.phases, key=lambda one: one.over)
    overrun = worst if worst.over >= _OVERRUN else None
    why = f"{clause(overrun.why)}; " if overrun and overrun.why else ""
    evidence = f"{why}{_moments(account)}"
    if not state.accepted:
        box = f", and {overrun.in_a_box}" if overrun else ""
        yield "there is no order", f"There is no order: it ended {when}{box}.", evidence
    elif not account.in_time:
        begin = f"{overrun.in_a_box}, and the" if overrun else "the"
        text = f"{begin} order was accepted {when}."
        yield "the order came after the cut-off", text, evidence
    else:
        yield from _in_time(account, overrun, when, evidence)


def _in_time(
    account: Account, overrun: PhaseActual | None, when: str, evidence: str
) -> Iterator[Offer]:
    eaten = reserve_eaten(account)
    if eaten >= _OVERRUN:
        yield (
            "the reserve was eaten",
            f"Drawing ate {duration(eaten)} of the reserve of {duration(account.setup.reserve)}; "
            f"the order was accepted {when}.",
            f"drawing until {elapsed(drawn_until(account))}, reserve from "
            f"{elapsed(account.reserve_begins)}; {_moments(account)}",
        )
    if overrun:
        text = f"{overrun.in_a_box}; the order was still accepted {when}."
        yield "a box was overrun", text, evidence
    most = max(one.over for one in account.phases)
    more = f" by more than {duration(most)}" if most >= 60 else ""
    yield (
        "the time was enough",
        f"The time was enough: the order was accepted {when}, and no box was overrun{more}.",
        _moments(account),
    )


def _moments(account: Account) -> str:
    how = "accepted" if account.state.accepted else "ended"
    return f"{how} {elapsed(account.end)}, cut-off {elapsed(account.state.deadline)}"


# ---- calls, forecasts, margins -----------------------------------------------------------------


def _of_judgement(account: Account) -> Iterator[Offer]:
    asking = account.asking
    missed = [one for one in asking if not one.acted_on]
    if missed:
        yield _not_acted_on(asking, missed)
    elif asking:
        yield (
            "calls were acted on",
            f"Every call that asked for something was acted on: {len(asking)}.",
            listed([f"{elapsed(one.t)} {one.call.cause}" for one in asking]),
        )
    yield from _forecasts(account)
    for saved, limit in islice(by_margin(account), 1):
        if limit.share is not None and 0 <= limit.share < THIN:
            name = account.names.calculation(saved.id)
            text = f"The thinnest margin is {per_cent(limit.share)}, at {name}."
            yield "a margin is thin", text, clause(limit.message)
    signed = [one.name for one in account.phases if one.signed_off]
    phases = count(len(account.setup.phases), "phase")
    yield (
        "how many",
        f"{len(signed)} of {phases} {was(len(signed))} signed off.",
        listed(signed, 7) or "none signed off",
    )


def _not_acted_on(asking: Sequence[CallOutcome], missed: Sequence[CallOutcome]) -> Offer:
    """One that rang and named items is told before one that did not."""
    one = max(missed, key=lambda each: (each.call.rings, len(each.call.items), -each.t))
    named = len(one.call.items)
    what = f"named {count(named, 'item')}" if named else f"said: {one.call.cause}"
    silent = "" if one.call.rings else ", a silent one,"
    text = (
        f"{len(missed)} of {count(len(asking), 'call')} that asked for something "
        f"{was(len(missed))} not acted on; the one at {elapsed(one.t)}{silent} {what}."
    )
    rang = one.call.rings and named
    about = "a call that rang was not acted on" if rang else "a call was not acted on"
    return about, text, f"{elapsed(one.t)}: {clause(one.call.message)}"


def _forecasts(account: Account) -> Iterator[Offer]:
    scores = [score for _, score in judged(account) if score]
    if not scores:
        return
    came = all_essentials_in_time(account.state)
    said = marks_in_words(account)
    chances = [(one.checkpoint, one.chance) for one in scores]
    wrong = [pair for pair in chances if (pair[1] <= UNSURE if came else pair[1] >= SURE)]
    if wrong:
        mark, chance = wrong[-1]
        yield (
            "the forecast misjudged it",
            f"At {mark} % of the time the forecast gave {in_ten(chance)} for every essential by "
            f"the cut-off; it {'happened' if came else 'did not happen'}.",
            said,
        )
