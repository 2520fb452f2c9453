"""Finishing times by Monte Carlo: beta-PERT draws of every piece, one pace for all of a draw.

Each phase has random numbers of its own, made from the seed and its name: the same seed gives
the same answer, and dropping one piece leaves the draws of the others as they were.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from coach.sprint.pace.pace import Pace
from coach.sprint.pace.pert import ThreePoint
from coach.sprint.pace.work import Piece, Work
from phases.kit.arrays import Array

if TYPE_CHECKING:
    from numpy.random import Generator

DRAWS = 20_000
SEED = 1

LEAST_LEFT = 0.05
"""Where work took longer than the longest that was thought of, at least this share is left."""


@dataclass(frozen=True)
class Draws:
    """Seconds from now, one value a draw. essentials: until all of them are in and the order is
    made; everything: with the further items. drawing: what is left of each phase's drawing."""

    essentials: Array
    everything: Array
    drawing: dict[str, Array]


def draw_finishing(work: Work, pace: Pace, draws: int = DRAWS, seed: int = SEED) -> Draws:
    """Draws of the time all the work that is left takes, at a pace known as `pace`."""
    import numpy as np

    multiplier = np.exp(
        pace.log_mean + pace.log_sd * _chance(seed, "pace").standard_normal(draws)
    )  # fmt: skip
    essentials = np.full(draws, work.walks)
    drawing: dict[str, Array] = {}
    for piece in work.drawing:
        left = _left_of(piece, multiplier, draws, seed)
        drawing[piece.phase] = left
        essentials += left
    essentials += _own(work.skipped, "skipped", draws, seed)
    essentials += _own([work.closing], "closing", draws, seed)
    everything = essentials + _own(work.further, "further", draws, seed)
    everything += work.further_walks
    return Draws(essentials, everything, drawing)


def _left_of(piece: Piece, multiplier: Array, draws: int, seed: int) -> Array:
    """What is left of a piece: all of it, or where it was begun the rest of what takes longer
    than it took so far, and what its open items leave. The more of them are closed, the more they
    count; with all of them closed nothing is left."""
    import numpy as np

    chance = _chance(seed, f"drawing {piece.phase}")
    drawn = piece.whole.draw(chance, draws)
    if piece.spent > 0 and piece.now:
        drawn = _longer_than(drawn, piece.spent / multiplier, chance)
    drawn *= multiplier
    if piece.spent > 0 or piece.shown > 0:
        least = LEAST_LEFT * drawn if piece.now else 0.0
        rest = np.where(drawn > piece.spent, drawn - piece.spent, least)
        drawn = (1 - piece.shown) * (rest + piece.shown * drawn)
    if piece.keep != 1.0:
        drawn *= piece.keep
    return drawn


def _longer_than(drawn: Array, bounds: Array, chance: Generator) -> Array:
    """Draws of the same distribution under the condition that each exceeds its own bound: one of
    the draws that do, by chance; the greatest where none does."""
    import numpy as np

    ordered = np.sort(drawn)
    first = np.searchsorted(ordered, bounds, side="right")
    room = len(ordered) - first
    picked = first + (chance.random(len(ordered)) * room).astype(np.intp)
    longer: Array = ordered[np.minimum(picked, len(ordered) - 1)]
    return longer


def _own(items: Iterable[ThreePoint], name: str, draws: int, seed: int) -> Array:
    """The sum of what items take by their own minutes."""
    import numpy as np

    chance = _chance(seed, name)
    total = np.zeros(draws)
    for one in items:
        total += one.draw(chance, draws)
    return total


def _chance(seed: int, name: str) -> Generator:
    import numpy as np

    return np.random.default_rng([seed, zlib.crc32(name.encode())])
