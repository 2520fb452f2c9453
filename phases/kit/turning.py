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

_ROUNDS = 26
_GOLDEN = 0.6180339887498949


def turning(x: Array, formula: Callable[[Array], Array], at: Array | float | None = None) -> Array:
    """`formula` at the corners of `x`, and where it turns between them.

    x: an input, or what is made of inputs that the formula reads through x alone; no column of a
    table. at: where it turns, if a closed form says so; else its peak and its valley are
    searched, of which it may have one each.
    """
    import numpy as np

    corners = formula(x)
    long = tuple(i for i in range(x.ndim - 1) if x.shape[i] > 1)
    if not long:
        return corners
    low, high = x.min(axis=long, keepdims=True), x.max(axis=long, keepdims=True)
    if at is None:
        inner = [_peak(formula, low, high), _peak(lambda v: -formula(v), low, high)]
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


def _peak(formula: Callable[[Array], Array], low: Array, high: Array) -> Array:
    """Where the formula is greatest, by golden sections: to 4e-6 of the span, its value to the
    square of that."""
    import numpy as np

    for _ in range(_ROUNDS):
        reach = _GOLDEN * (high - low)
        left, right = high - reach, low + reach
        rises = formula(left) < formula(right)
        low, high = np.where(rises, left, low), np.where(rises, high, right)
    return (low + high) / 2
