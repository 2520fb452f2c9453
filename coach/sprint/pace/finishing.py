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
from coach.sprint.pace.work import BY_ITEMS, USED_UP, LeftOpen, Open, PhaseWork, Work, rise
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
    made; everything: with the more checks. drawing: what is left of each phase's drawing.
    left_open: what is left open in each phase that is drawn."""

    essentials: Array
    everything: Array
    drawing: dict[str, Array]
    left_open: dict[str, Array]


def draw_finishing(work: Work, pace: Pace, draws: int = DRAWS, seed: int = SEED) -> Draws:
    """Draws of the time all the work that is left takes, at a pace known as `pace`."""
    import numpy as np

    multiplier = np.exp(pace.log_mean + pace.log_sd * _chance(seed, "pace").standard_normal(draws))
    essentials = np.full(draws, work.walks)
    drawing: dict[str, Array] = {}
    for piece in work.drawing:
        left = _left_of(piece, multiplier, draws, seed)
        drawing[piece.phase] = left
        essentials += left
    left_open: dict[str, Array] = {}
    for one in work.left_open:
        left_open[one.phase] = _of_left_open(one, multiplier, draws, seed)
        essentials += left_open[one.phase]
    essentials += _own([work.closing], "closing", draws, seed)
    everything = essentials + _own(work.further, "further", draws, seed)
    everything += work.further_walks
    return Draws(essentials, everything, drawing, left_open)


def _left_of(piece: PhaseWork, multiplier: Array, draws: int, seed: int) -> Array:
    """What is left of a piece: all of it, or where it was begun the rest of what takes longer
    than it took so far, and what its open items leave. The more of them are closed, and the more
    of its time is used up, the more they count; with all of them closed nothing is left."""
    import numpy as np

    chance = _chance(seed, f"drawing {piece.phase}")
    drawn = piece.whole.draw(chance, draws)
    if piece.spent > 0:
        drawn = _longer_than(drawn, piece.spent / multiplier, chance)
    drawn *= multiplier
    left = drawn
    if piece.spent > 0 or piece.shown > 0:
        rest = np.where(drawn > piece.spent, drawn - piece.spent, LEAST_LEFT * drawn)
        left = (1 - piece.shown) * (rest + piece.shown * drawn)
    if piece.keep != 1.0:
        left = left * piece.keep
    return _by_items(piece, left, drawn, multiplier, seed)


def _by_items(piece: PhaseWork, left: Array, drawn: Array, multiplier: Array, seed: int) -> Array:
    """The same, with its open items counted as far as they do; see `PhaseWork.weight_of_items`."""
    import numpy as np

    if not piece.open.own or not piece.spent or not piece.keep * piece.whole.expected:
        return left
    used = piece.spent / (piece.whole.expected * piece.keep * multiplier)
    first, last = USED_UP
    weight = np.clip((used - first) / (last - first), rise(piece.shown, BY_ITEMS), 1.0)
    if not weight.any():
        return left
    items = _bounded(piece.open, drawn * piece.keep, f"open {piece.phase}", len(left), seed)
    return (1 - weight) * left + weight * items


def _of_left_open(one: LeftOpen, multiplier: Array, draws: int, seed: int) -> Array:
    anew = one.anew.draw(_chance(seed, f"anew {one.phase}"), draws) * multiplier
    return _bounded(one.open, anew, f"open {one.phase}", draws, seed)


def _bounded(left: Open, anew: Array, name: str, draws: int, seed: int) -> Array:
    """What open essentials of a phase take by themselves, at most drawing it anew."""
    import numpy as np

    own = _own(left.own, name, draws, seed)
    least: Array = np.minimum(own, anew + left.built_on * own)
    return least


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
