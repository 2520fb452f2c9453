"""Extremes inside a spread: where a formula turns, its value there joins those at the ends.

Corners see only the ends of a spread. For what rises and falls again between them, a method says
in which input it turns; its extreme is then exact and costs no dense sampling.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from phases.kit.arrays import broadcast_arrays

if TYPE_CHECKING:
    from phases.kit.arrays import Array

_STEPS, _ROUNDS = 16, 6
_MISSED = 1e-11
"""What an extreme that was searched may be missed by, as a share of it."""
_MOST_AT_ONCE = 2**22


def with_extrema(
    x: Array, formula: Callable[[Array], Array], at: Array | float | None = None
) -> Array:
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
        values = formula(low + (high - low) * _ladder(low.ndim, long[0]))
        inner = [
            _extreme(formula, values, low, high, axis=long[0], rounds=rounds, sign=sign)
            for sign in (1, -1)
        ]
    elif not ((low < at) & (at < high)).any():
        return corners
    else:
        inner = [formula(np.clip(at, low, high))]
    return joined(long[0], corners, *inner)


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


def _extreme(
    formula: Callable[[Array], Array],
    values: Array,
    low: Array,
    high: Array,
    *,
    axis: int,
    rounds: int,
    sign: int,
) -> Array:
    """The greatest value of the formula between low and high; the least where `sign` is -1.

    values: those on the ladder from low to high. A round takes the best of them, looks where a
    parabola through it and its neighbours turns, and sets a narrower ladder between these. It
    ends where a fourth point shows that the parabola is good enough, or says that it falls from
    an end on, which is a corner. At a kink it never is; after six rounds the place is known to
    4e-6 of the span.
    """
    import numpy as np

    ladder, turn = _ladder(low.ndim, axis), 1
    while True:
        step = (high - low) / _STEPS
        best = (sign * values).argmax(axis=axis, keepdims=True)
        first, last = np.maximum(best - 1, 0), np.minimum(best + 1, _STEPS)
        middle = np.clip(best, 1, _STEPS - 1)
        a, b, c = (_along(values, middle + i, axis) for i in (-1, 0, 1))
        slope, bend = (c - a) / 2, a - 2 * b + c
        turns = sign * bend < 0
        off = np.where(turns, -slope / np.where(turns, bend, 1.0), best - middle)
        place = np.clip(middle + off, first, last)
        if turn > 1 or rounds == 1:
            right = middle < _STEPS - 1  # the fourth point is the next one, else the one before
            fourth = _along(values, np.where(right, middle + 2, middle - 2), axis)
            skew = np.abs(np.where(right, fourth - 3 * c + 3 * b - a, c - 3 * b + 3 * a - fourth))
            granted = _MISSED * np.abs(b * bend) + (1e-12 * b) ** 2
            falls = np.abs(slope + bend * (best - middle)) > skew
            corner = ((place <= 0) | (place >= _STEPS)) & falls
            if turn == rounds or not ((skew**2 / 9 > granted) & ~corner).any():
                return formula(low + step * place)
        low, high = low + step * first, low + step * last
        values, turn = formula(low + (high - low) * ladder), turn + 1


def _along(values: Array, index: Any, axis: int) -> Array:
    """The values at `index` along one axis; as three axes, because numpy is slow with many."""
    import numpy as np

    three = (math.prod(index.shape[:axis]), -1, math.prod(index.shape[axis + 1 :]))
    picked: Array = np.take_along_axis(values.reshape(three), index.reshape(three), axis=1)
    return picked.reshape(index.shape)


def _ladder(ndim: int, axis: int) -> Array:
    import numpy as np

    shape = [1] * ndim
    shape[axis] = _STEPS + 1
    return np.linspace(0.0, 1.0, _STEPS + 1).reshape(shape)
