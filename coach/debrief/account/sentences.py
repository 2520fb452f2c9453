"""Three sentences that a person would say at the table: one on the items, one on the time, one on
judgement (calls, forecasts, margins). Each names its evidence.

Each subject offers the sentence that weighs most by `RANKING`; the three stand in that order. The
same journal gives the same sentences.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from coach.debrief.account.changeable import never_entered, open_essentials
from coach.debrief.account.data import Account, CallTold, ItemTold, PhaseTold, Said
from coach.debrief.account.items import A_WALK
from coach.debrief.account.words import to_make_good
from coach.sprint.durations import duration, elapsed
from coach.sprint.state import MET, OPEN, REOPENED, WAIVED
from phases.kit.bounds import FAIL
from phases.kit.grammar import are, capital, clause, count, listed, listed_clauses, was
from phases.kit.items import CLOSING_ID, Severity

RANKING = (
    "a hazard was forgotten",
    "there is no order",
    "the order came after the cut-off",
    "a fault was found late",
    "what kills the board was forgotten",
    "a calculation fails",
    "a call that rang was not heeded",
    "open again and not looked at",
    "an essential was forgotten",
    "a part was never drawn",
    "the reserve was eaten",
    "the forecast misjudged it",
    "a box was overrun",
    "a grave item was waived",
    "closed late",
    "a margin is thin",
    "it goes on",
    "the time was enough",
    "a call was not heeded",
    "calls were heeded",
    "nothing was forgotten",
    "what the forecasts said",
    "how many",
)
"""What matters most, first. A forgotten hazard outranks everything."""

SURE, UNSURE = 0.8, 0.3
"""A chance from which, and up to which, a forecast that was wrong had misjudged the sprint."""

THIN = 0.1
"""The share under which a margin is worth a sentence."""

_OVERRUN = 180.0  # seconds over a box, or into the reserve, that are worth a sentence


@dataclass(frozen=True, slots=True)
class _Offer:
    """A sentence by what it is about, one of RANKING."""

    about: str
    text: str
    evidence: str

    @property
    def rank(self) -> int:
        return RANKING.index(self.about)


def sentences_of(account: Account) -> tuple[Said, ...]:
    """Three of different subjects, the one that matters most first."""
    subjects = (_of_items(account), _of_time(account), _of_judgement(account))
    best = [min(offers, key=lambda one: one.rank) for offers in map(list, subjects)]
    return tuple(Said(o.text, o.evidence) for o in sorted(best, key=lambda one: one.rank))


# ---- what was forgotten, or found ------------------------------------------------------------


def _of_items(account: Account) -> Iterator[_Offer]:
    still = open_essentials(account)
    if still:
        yield _forgotten(account, still)
    if account.findings:
        yield _found_late(account)
    failing = [one for one in account.calculations if one.verdict == FAIL]
    if failing:
        fail = "fails" if len(failing) == 1 else "fail"
        says = (e.says for e in failing[0].limits if e.verdict == FAIL)
        yield _Offer(
            "a calculation fails",
            f"{count(len(failing), 'calculation')} still {fail}: "
            f"{listed([one.name for one in failing])}.",
            clause(next(says, "as it was saved")),
        )
    again = [one for one in account.items if one.outcome == REOPENED]
    if again:
        moments = [elapsed(one.reopenings[-1].t) for one in again if one.reopenings]
        yield _Offer(
            "open again and not looked at",
            f"{count(len(again), 'item')} {was(len(again))} opened again and never looked at: "
            f"{_names(again)}.",
            f"reopened at {listed(moments)}",
        )
    if account.undrawn:
        yield _Offer(
            "a part was never drawn",
            f"{count(len(account.undrawn), 'part')} {was(len(account.undrawn))} calculated and "
            "never drawn.",
            listed_clauses([part.says for part in account.undrawn]),
        )
    yield from _closed(account)


def _forgotten(account: Account, still: Sequence[ItemTold]) -> _Offer:
    """The worst kind that is open, by name, and how many more."""
    hazards = [one for one in still if one.severity == Severity.HAZARD]
    grave = [one for one in still if one.grave]
    first = hazards or grave or still
    if hazards:
        about, what = "a hazard was forgotten", count(len(first), "hazard")
    elif grave:
        about, what = "what kills the board was forgotten", count(
            len(first), "item that can kill the board", "items that can kill the board"
        )  # fmt: skip
    else:
        about, what = "an essential was forgotten", count(len(first), "essential")
    rest = len(still) - len(first)
    more = f", and {count(rest, 'more essential', 'more essentials')}" if rest else ""
    mild = "" if grave else ", none that can hurt somebody or kill the board"
    words = f"{what} {_were_forgotten(account, first)}{mild}: {_names(first)}{more}."
    return _Offer(about, words, _costs(account, still))


def _were_forgotten(account: Account, rows: Sequence[ItemTold]) -> str:
    """Forgotten is a word for the end, and for what there was an occasion to see."""
    if account.ended_at is None:
        return f"{are(len(rows))} open"
    if all(one.asked for one in rows):
        return f"{was(len(rows))} never asked about"
    left_open = all(one.phase in never_entered(account) for one in rows)
    return f"{was(len(rows))} {'left open' if left_open else 'forgotten'}"


def _costs(account: Account, rows: Sequence[ItemTold]) -> str:
    seconds, left_out = sum(e.confirm_s for e in rows), sum(e.left_out_min for e in rows)
    unseen = sum(one.phase in never_entered(account) for one in rows)
    where = f", {unseen} of them of phases never entered" if unseen else ""
    habit = next((one.habit for one in rows if one.habit), None)
    again = f"; one was forgotten in {habit[0]} of {habit[1]} sprints before" if habit else ""
    return (
        f"{len(rows)} open{where}; looking takes {duration(seconds)}, "
        f"{to_make_good(duration(left_out * 60), len(rows))}{again}"
    )


def _names(rows: Sequence[ItemTold]) -> str:
    return listed_clauses([one.name for one in rows], 2)


def _found_late(account: Account) -> _Offer:
    number = len(account.findings)
    by_item = sum(bool(one.item) for one in account.findings)
    lost = sum(one.minutes or 0.0 for one in account.findings)
    cost = f" and cost {duration(lost * 60)}" if lost else ""
    through = f"{by_item} let through by an item of the list" if by_item else "no item asked for it"
    return _Offer(
        "a fault was found late",
        f"{count(number, 'fault')} {was(number)} found after the sprint{cost}; {through}.",
        listed_clauses([f"finding {one.number}: {one.fault}" for one in account.findings], 2),
    )


def _closed(account: Account) -> Iterator[_Offer]:
    """What there is to say where nothing is open."""
    essentials = [e for e in account.items if e.essential and e.phase != CLOSING_ID]
    there = [e for e in essentials if e.outcome in (MET, WAIVED)]
    clean = bool(there) and all(e.outcome not in (OPEN, REOPENED) for e in essentials)
    grave = [e for e in there if e.outcome == WAIVED and e.grave]
    if grave:
        yield _Offer(
            "a grave item was waived",
            f"{count(len(grave), 'essential')} that can hurt somebody or kill the board "
            f"{was(len(grave))} waived: {_names(grave)}.",
            listed_clauses([one.reason for one in grave], 2),
        )
    late = [one for one in there if one.late]
    if late:
        moments = [one.closed or 0.0 for one in late]
        begin = f"{len(late)} of {count(len(there), 'essential')}"
        if clean:
            begin = f"No essential was forgotten, but {len(late)} of {len(there)}"
        yield _Offer(
            "closed late",
            f"{begin} {was(len(late))} closed late{_in_a_walk(late)}: {_names(late)}.",
            f"closed {elapsed(min(moments))} to {elapsed(max(moments))}"
            if len(late) > 1
            else f"closed {elapsed(moments[0])}, {_was_due(late[0], moments[0])}",
        )
    if clean:
        waived = sum(one.outcome == WAIVED for one in there)
        yield _Offer(
            "nothing was forgotten",
            f"No essential was forgotten: all {len(there)} are closed.",
            f"{len(there) - waived} met, {waived} waived, {len(late)} late",
        )
    yield _Offer(
        "how many",
        f"{count(len(there), 'essential')} {are(len(there))} closed.",
        f"of {len(essentials)} on the board",
    )


def _was_due(one: ItemTold, closed: float) -> str:
    """Where its phase was left early, it was late before the plan had its phase end."""
    return f"due {elapsed(one.due)}" if one.due <= closed else "after its phase was left"


def _in_a_walk(late: Sequence[ItemTold]) -> str:
    walked = sum(one.found == A_WALK for one in late)
    if not walked:
        return ""
    return ", in a walk" if walked == len(late) else f", {walked} of them in a walk"


# ---- time ------------------------------------------------------------------------------------


def _of_time(account: Account) -> Iterator[_Offer]:
    if account.ended_at is None:
        left = account.deadline - account.last
        when = f"{duration(left)} {'to' if left >= 0 else 'past'} the cut-off"
        yield _Offer(
            "it goes on",
            f"The sprint goes on, {when}: nothing is final.",
            f"last entry {elapsed(account.last)}, cut-off {elapsed(account.deadline)}",
        )
        return
    worst = max(account.phases, key=lambda one: one.over, default=None)
    if worst is not None and worst.over < _OVERRUN:
        worst = None
    spare = account.deadline - account.ended_at
    when = f"{duration(spare)} {'before' if spare >= 0 else 'after'} the cut-off"
    evidence = _with_stretch(account, worst)
    if not account.accepted:
        box = f", and {_box_words(worst)}" if worst else ""
        yield _Offer("there is no order", f"There is no order: it ended {when}{box}.", evidence)
    elif not account.in_time:
        begin = f"{capital(_box_words(worst))}, and the" if worst else "The"
        yield _Offer(
            "the order came after the cut-off", f"{begin} order was accepted {when}.", evidence
        )
    else:
        yield from _in_time(account, worst, when, evidence)


def _in_time(
    account: Account, worst: PhaseTold | None, when: str, evidence: str
) -> Iterator[_Offer]:
    begins = account.deadline - account.reserve
    last, names = last_drawing(account, begins)
    drawing = names[0] if len(names) == 1 else "drawing"
    if account.reserve and 0 < begins <= last - _OVERRUN:
        yield _Offer(
            "the reserve was eaten",
            f"{capital(drawing)} ate {duration(min(last, account.deadline) - begins)} of the "
            f"reserve of {duration(account.reserve)}; the order was accepted {when}.",
            f"drawing until {elapsed(last)}, reserve from {elapsed(begins)}; {_moments(account)}",
        )
    if worst is not None:
        yield _Offer(
            "a box was overrun",
            f"{capital(_box_words(worst))}; the order was still accepted {when}.",
            evidence,
        )
    most = max((one.over for one in account.phases), default=0.0)
    more = f" by more than {duration(most)}" if most >= 60 else ""
    yield _Offer(
        "the time was enough",
        f"The time was enough: the order was accepted {when}, and no box was overrun{more}.",
        _moments(account),
    )


def last_drawing(account: Account, after: float) -> tuple[float, list[str]]:
    """Elapsed seconds when drawing ended; the phases that were worked in `after` some moment."""
    ends = {
        one.name: max(stop for _, stop in one.stretches)
        for one in account.phases if one.phase != CLOSING_ID and one.stretches
    }  # fmt: skip
    return max(ends.values(), default=0.0), [name for name, end in ends.items() if end > after]


def _moments(account: Account) -> str:
    end = "accepted" if account.accepted else "ended"
    return f"{end} {elapsed(account.ended_at or 0.0)}, cut-off {elapsed(account.deadline)}"


def _box_words(one: PhaseTold) -> str:
    """ "layout took 52 min in a box of 38 min"."""
    return f"{one.name} took {duration(one.used)} in a box of {duration(one.box)}"


def _with_stretch(account: Account, one: PhaseTold | None) -> str:
    if one is None or not one.stretches:
        return _moments(account)
    first, last = one.stretches[0][0], one.stretches[-1][1]
    times = f" in {len(one.stretches)} stretches" if len(one.stretches) > 1 else ""
    silent = f", {duration(one.silent)} of it without an entry" if one.silent else ""
    return f"{one.name} {elapsed(first)} to {elapsed(last)}{times}{silent}; {_moments(account)}"


# ---- calls, forecasts, margins -----------------------------------------------------------------


def _of_judgement(account: Account) -> Iterator[_Offer]:
    asking = [one for one in account.calls if one.heeded is not None]
    missed = [one for one in asking if one.heeded is False]
    if missed:
        yield _unheeded(asking, missed)
    elif asking:
        every = "The one call" if len(asking) == 1 else f"All {len(asking)} calls"
        yield _Offer(
            "calls were heeded",
            f"{every} that asked for something {was(len(asking))} heeded.",
            listed([f"{elapsed(one.t)} {one.cause}" for one in asking]),
        )
    yield from _forecasts(account)
    thin = [one for one in account.calculations if one.thinnest is not None]
    if thin and thin[0].thinnest is not None and 0 <= thin[0].thinnest < THIN:
        says = (e.says for e in thin[0].limits if e.share == thin[0].thinnest)
        yield _Offer(
            "a margin is thin",
            f"The thinnest margin is {thin[0].thinnest:.0%}, at {thin[0].name}.",
            clause(next(says, thin[0].id)),
        )
    signed = [one.name for one in account.phases if one.signed_off]
    phases = sum(one.phase not in ("", CLOSING_ID) for one in account.phases)
    yield _Offer(
        "how many",
        f"{len(signed)} of {count(phases, 'phase')} {was(len(signed))} signed off.",
        listed(signed, 7) or "none signed off",
    )


def _unheeded(asking: Sequence[CallTold], missed: Sequence[CallTold]) -> _Offer:
    """One that rang and named items is told before one that did not."""
    one = max(missed, key=lambda call: (call.rang, call.items, -call.t))
    what = f"named {count(one.items, 'item')}" if one.items else f"said: {one.cause}"
    silent = "" if one.rang else ", a silent one,"
    asked = "that asked for something"
    if len(asking) == 1:
        begin = (
            f"The one call {asked} was not heeded: it came at {elapsed(one.t)}{silent} and {what}"
        )
    elif len(missed) == len(asking):
        begin = f"None of the {len(asking)} calls {asked} was heeded"
    else:
        begin = f"{len(missed)} of {len(asking)} calls {asked} {was(len(missed))} not heeded"
    rest = f"; the one at {elapsed(one.t)}{silent} {what}" if len(asking) > 1 else ""
    about = "a call that rang was not heeded" if one.rang and one.items else "a call was not heeded"
    return _Offer(about, f"{begin}{rest}.", f"{elapsed(one.t)}: {clause(one.says)}")


def _forecasts(account: Account) -> Iterator[_Offer]:
    marks = [one for one in account.forecasts if one.mark]
    if account.honesty.brier is None or not marks:
        return
    essentials = [e for e in account.items if e.essential and e.phase != CLOSING_ID]
    came = account.in_time and all(e.outcome not in (OPEN, REOPENED) for e in essentials)
    said = ", ".join(f"{one.chance_essentials:.0%} at {one.mark} %" for one in marks)
    wrong = [
        one for one in marks
        if (one.chance_essentials <= UNSURE if came else one.chance_essentials >= SURE)
    ]  # fmt: skip
    if wrong:
        yield _Offer(
            "the forecast misjudged it",
            f"At {wrong[-1].mark} % of the time the forecast gave "
            f"{wrong[-1].chance_essentials:.0%} for every essential by the cut-off; it "
            f"{'came' if came else 'did not come'} so.",
            said,
        )
    covered, judged = account.honesty.covered, account.honesty.judged
    if judged:
        yield _Offer(
            "what the forecasts said",
            f"The forecast's band held the end {covered} of {count(judged, 'time')}; one sprint "
            "says little of it.",
            f"chance of every essential {said}",
        )
