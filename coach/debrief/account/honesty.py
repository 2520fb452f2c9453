"""How good the forecasts at the marks were, and how little one sprint says of that."""

from __future__ import annotations

from collections.abc import Sequence

from coach.debrief.account.data import ForecastTold, Honesty
from coach.history.read_sprint import SprintRead
from coach.sprint.durations import duration
from coach.sprint.pace.scoring import all_essentials_in_time, brier, wilson
from phases.kit.grammar import count


def honesty_of(read: SprintRead, forecasts: Sequence[ForecastTold]) -> Honesty:
    """Brier score of the chance, coverage of the 80 % band and pinball loss, in seconds."""
    marks = [one for one in forecasts if one.mark]
    if not read.state.ended:
        return Honesty(None, 0, 0, None, "The sprint goes on: no forecast can be judged yet.")
    if not marks:
        return Honesty(
            None, 0, 0, None,
            "No forecast was kept at a quarter, half or three quarters of the time.",
        )  # fmt: skip
    came = all_essentials_in_time(read.state)
    score = brier((one.chance_essentials, came) for one in marks)
    told = [one for one in marks if one.covered is not None]
    covered = sum(bool(one.covered) for one in told)
    losses = [one.loss for one in marks if one.loss is not None]
    pinball = sum(losses) / len(losses) if losses else None
    says = [_chances(marks, came), f"Brier score {score:.2f} (0 is best, 0.25 is a coin)."]
    if told:
        low, high = wilson(covered, len(told))
        says.append(
            f"The 80 % band held the end {covered} of {count(len(told), 'time')}; that many are "
            f"compatible with a true share of {low:.0%} to {high:.0%}."
        )
    if pinball is not None:
        says.append(f"Pinball loss of the band {duration(pinball)} on average.")
    says.append(
        "One sprint says next to nothing: its forecasts are about one and the same end. "
        "Trends over ten sprints say more."
    )
    return Honesty(score, covered, len(told), pinball, " ".join(says))


def _chances(marks: Sequence[ForecastTold], came: bool) -> str:
    said = ", ".join(f"{one.chance_essentials:.0%} at {one.mark} %" for one in marks)
    what = "it came so" if came else "it did not come so"
    return f"Chance of every essential by the cut-off: {said}; {what}."
