"""Hot parts: from every record that gives a temperature, what it means on a bench of 25 °C."""

from __future__ import annotations

from collections.abc import Iterator

from coach.debrief.bringup.figures import outward
from coach.debrief.bringup.recorded import Recorded, outputs, taken
from coach.debrief.bringup.sheet import CALCULATED, PRACTICE, Expected, Step
from coach.sprint.state import Saved
from phases.kit.text import line

BENCH = 25.0
"""Ambient of a bench, in °C (common practice)."""

_WARM = 5.0
"""Rise in K below which a part is not worth a line."""

_TOO_HOT_TO_TOUCH = 60.0
"""In °C, from memory: a fingertip stays on it for about a second."""


def heat_steps(known: Recorded) -> Iterator[Step]:
    warm = [step for saved in known.saved for step in _warm(saved)]
    yield from warm
    yield Step(
        "heat.board", "heat", "Everything else" if warm else "The whole board",
        "Pass a thermometer over the whole board",
        Expected(words="nothing more than 20 K above the bench"),
        "both sides", "thermal camera or contact thermometer", PRACTICE,
        "What no calculation calls warm has no reason to be",
        "No fingers before the thermometer has said below 60 °C.",
        first="What is warm and should not be: turned part, short behind it, oscillation",
    )  # fmt: skip


def _warm(saved: Saved) -> Iterator[Step]:
    ambient = taken(saved, "T_A")
    for name, title, unit, figure in outputs(saved):
        if unit != "°C":
            continue
        above = ambient if ambient is not None and ambient.high <= figure.high else None
        rise = figure.high - above.high if above is not None else figure.high - BENCH
        if rise < _WARM:
            continue
        typ = BENCH + max(figure.typ - above.typ, 0.0) if above is not None else figure.typ
        high = BENCH + rise
        where = line(saved.subject) or "board"
        yield Step(
            f"{saved.id}.{name}", "heat", f"{line(saved.id)}: {title}",
            "Case temperature after five minutes at the greatest load",
            Expected(None, min(typ, high), outward(None, high)[1], "°C"),
            f"its case, {where}", "thermal camera or contact thermometer", CALCULATED,
            f"{saved.id}, its rise above a bench of 25 °C; the case is cooler than the junction",
            _hot(high),
            first="Load and input voltage; copper and vias under it; whether it oscillates",
        )  # fmt: skip


def _hot(high: float) -> str:
    if high > _TOO_HOT_TO_TOUCH:
        return "May be too hot to touch (above about 60 °C, from memory): thermometer, no finger."
    return ""
