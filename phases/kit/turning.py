"""Extremes inside a spread: where a formula turns, its value there joins those at the ends.

Corners see only the ends of a spread. For what rises and falls again between them, a method says
in which input it turns; its extreme is then exact and costs no dense sampling.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from phases.kit.arrays import broadcast_arrays

if TYPE_CHECKING:
    from phases.kit.arrays import Array

_STEPS, _ROUNDS = 16, 6
_MOST_AT_ONCE = 2**22


def turning(x: Array, formula: Callable[[Array], Array], at: Array | float | None = None) -> Array:
    """`formula` at the corners of `x`, and where it turns between them.

    x: an input, or what is made of inputs that the formula reads through x alone; no column of a
    table. at: where it turns, if a closed form says so; else its peak and its valley are
    searched, of which it may have one each: coarsely where a curve is drawn, and not at all where
    there are too many corners.
    """
    import numpy as np

    corners = formula(x)
    long = tuple(i for i in range(x.ndim - 1) if x.shape[i] > 1)
    if not long:
        return corners
    low, high = x.min(axis=long, keepdims=True), x.max(axis=long, keepdims=True)
    if at is None:
        if corners.size * _STEPS > _MOST_AT_ONCE:
            return corners
        rounds = _ROUNDS if corners.shape[-1] == 1 else 1
        inner = [
            _peak(formula, low, high, long[0], rounds),
            _peak(lambda v: -formula(v), low, high, long[0], rounds),
        ]
    elif not ((low < at) & (at < high)).any():
        return corners
    else:
        inner = [np.clip(at, low, high)]
    return joined(long[0], corners, *(formula(v) for v in inner))


def joined(axis: int, *values: Array) -> Array:
    """Arrays side by side along one axis; along all others they are broadcast."""
    import numpy as np

    like = broadcast_arrays(*(v.take([0], axis=axis) for v in values))[0]
    wide = [broadcast_arrays(v, like)[0] for v in values]
    together: Array = np.concatenate(wide, axis=axis)
    return together


def beside(*values: Array) -> Array:
    """All corners of several arrays, which need not have the same; for an answer, not for going on.

    Where there are no corners they are one and the same value. No columns of a table.
    """
    import numpy as np

    if all(v.size == v.shape[-1] for v in values):
        return values[0]
    points = max(v.shape[-1] for v in values)
    flat = [np.broadcast_to(v, (*v.shape[:-1], points)).reshape(-1, points) for v in values]
    found: Array = np.concatenate(flat)
    return found.reshape(-1, *(1,) * (max(v.ndim for v in values) - 2), points)


def _peak(
    formula: Callable[[Array], Array], low: Array, high: Array, axis: int, rounds: int
) -> Array:
    """Where the formula is greatest: the best of some points, then of some between its neighbours.

    After six rounds it is known to 4e-6 of the span, and its value to the square of that.
    """
    import numpy as np

    shape = [1] * low.ndim
    shape[axis] = _STEPS + 1
    ladder = np.linspace(0.0, 1.0, _STEPS + 1).reshape(shape)
    for _ in range(rounds):
        step = (high - low) / _STEPS
        best = formula(low + (high - low) * ladder).argmax(axis=axis, keepdims=True)
        low, high = low + step * np.maximum(best - 1, 0), low + step * np.minimum(best + 1, _STEPS)
    return (low + high) / 2
