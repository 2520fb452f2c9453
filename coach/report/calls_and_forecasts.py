"""The calls of a sprint and what came of them; the forecasts that were kept, and how good."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import mean

from coach.history.call_outcomes import CallOutcome
from coach.report.account import Account
from coach.report.sections import Section, Table, TableRow
from coach.sprint.chances import in_ten, per_cents
from coach.sprint.durations import between, duration, elapsed
from coach.sprint.events.event import Stamped
from coach.sprint.events.run import ForecastMade
from coach.sprint.events.summary import ForecastOutcome
from coach.sprint.pace.checkpoints import CHECKPOINTS
from coach.sprint.pace.scoring import all_essentials_in_time, brier, scored, wilson
from phases.kit.grammar import count


@dataclass(frozen=True, slots=True)
class ForecastChart:
    """Forecasts in order, each with whether its 80 % range held the finish; the times to hold them
    against. ended: None while the sprint is running."""

    forecasts: tuple[tuple[Stamped[ForecastMade], bool | None], ...]
    deadline: float
    ended: float | None
    accepted: bool


# ---- calls -----------------------------------------------------------------------------------


def calls(account: Account) -> Section:
    if not account.calls:
        return Section("calls", "Calls")
    acted = sum(bool(one.acted_on) for one in account.asking)
    asked = f", {len(account.asking)} asked for something, {acted} acted on"
    rows = tuple(
        TableRow(
            (
                elapsed(one.t),
                one.call.message,
                "rang" if one.call.rings else "silent",
                outcome(one),
            ),
            "not acted on" if one.acted_on is False else "",
        )
        for one in account.calls
    )
    table = Table(
        "Calls, and what came of them",
        ("time", "call", "alert", "what came of it"),
        rows,
        names=1,
        numbers=(0,),
    )
    lead = f"{count(len(rows), 'call')}{asked if account.asking else ''}."
    return Section("calls", "Calls", lead, tables=(table,))


def outcome(one: CallOutcome) -> str:
    """ "acted on after 7 min, 2 of 5 items closed"."""
    if one.acted_on is None:
        return "asked for nothing"
    if not one.acted_on:
        return "not acted on"
    closed = f", {one.closed} of {count(len(one.call.items), 'item')} closed" if one.closed else ""
    return f"acted on after {between(one.t, one.t + (one.after or 0.0))}{closed}"


# ---- forecasts -------------------------------------------------------------------------------


def judged(account: Account) -> tuple[tuple[Stamped[ForecastMade], ForecastOutcome | None], ...]:
    """Every kept forecast; those at the marks of a sprint that has ended with their score."""
    scores = iter(scored(account.state))
    return tuple(
        (made, next(scores, None) if made.event.checkpoint in CHECKPOINTS else None)
        for made in account.state.of(ForecastMade)
    )


def marks_in_words(account: Account) -> str:
    """ "7 in 10 at 25 %, 4 in 10 at 50 %"."""
    at_checkpoints = [
        made.event for made in account.state.of(ForecastMade) if made.event.checkpoint
    ]
    return ", ".join(
        f"{in_ten(one.chance_essentials)} at {one.checkpoint} %" for one in at_checkpoints
    )


def forecasts(account: Account) -> Section:
    kept = judged(account)
    held = {None: "cannot be told", True: "inside", False: "outside"}
    rows = []
    for made, score in kept:
        one = made.event
        because = f"{one.checkpoint} % of the time" if one.checkpoint else one.because
        rows.append(
            TableRow(
                (
                    elapsed(made.t),
                    because,
                    in_ten(one.chance_essentials),
                    elapsed(one.low),
                    elapsed(one.expected),
                    elapsed(one.high),
                    held[score.covered if score else None],
                    duration(score.loss if score else None),
                )
            )
        )
    table = Table(
        "Forecasts, and whether the finish came inside their 80 % range",
        (
            "made at",
            "because",
            "essentials in time",
            "from",
            "expected",
            "to",
            "finish",
            "pinball loss",
        ),
        tuple(rows),
        names=1,
        numbers=(0, 3, 4, 5, 7),
    )
    state = account.state
    chart = ForecastChart(
        tuple((made, score.covered if score else None) for made, score in kept),
        state.deadline,
        state.ended_at,
        state.accepted,
    )
    return Section(
        "forecasts",
        "How good the forecasts were",
        _how_good(account, [s for _, s in kept if s]),
        tables=(table,) if rows else (),
        chart=chart if rows else None,
    )


def _how_good(account: Account, scores: Sequence[ForecastOutcome]) -> str:
    """Brier score of the chance, coverage of the 80 % range, pinball loss; how little they say."""
    if not account.state.ended:
        return "The sprint is still running: no forecast can be judged yet."
    if not scores:
        return "No forecast was kept at a quarter, half or three quarters of the time."
    came = all_essentials_in_time(account.state)
    score = brier((one.chance, came) for one in scores)
    said = [
        f"Chance of all essentials by the cut-off: {marks_in_words(account)}; it "
        f"{'happened' if came else 'did not happen'}.",
        f"Brier score {score:.2f} (0 is best, 0.25 is a coin).",
    ]
    told = [one for one in scores if one.covered is not None]
    if told:
        covered = sum(bool(one.covered) for one in told)
        said.append(
            f"The 80 % range contained the finish {covered} of {count(len(told), 'time')} "
            f"(95 % interval {per_cents(*wilson(covered, len(told)))})."
        )
    losses = [one.loss for one in scores if one.loss is not None]
    if losses:
        said.append(f"Average miss of the range ends (pinball loss): {duration(mean(losses))}.")
    said.append(
        "One sprint says little: its forecasts share one finish. Trends over ten sprints say more."
    )
    return " ".join(said)
