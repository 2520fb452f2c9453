"""Extremes inside a spread: where a formula turns, its value there joins those at the ends.

Corners see only the ends of a spread. For what rises and falls again between them, a method says
in which input it turns; its extreme is then exact and costs no dense sampling.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from phases.kit.arrays import Array

_ROUNDS = 36
_GOLDEN = 0.6180339887498949


def turning(x: Array, formula: Callable[[Array], Array], at: Array | None = None) -> Array:
    """`formula` over the ends of the input `x`, and where it turns between them.

    at: where it turns, if a closed form says so; else its peak and its valley are searched, of
    which the formula may have one each. x must be an input itself, with an axis of its own.
    """
    import numpy as np

    ends = formula(x)
    axis = next((i for i in range(x.ndim - 1) if x.shape[i] > 1), None)
    if axis is None:
        return ends
    low, high = x.min(axis=axis, keepdims=True), x.max(axis=axis, keepdims=True)
    if at is None:
        inner = [_peak(formula, low, high), _peak(lambda v: -formula(v), low, high)]
    elif not ((low < at) & (at < high)).any():
        return ends
    else:
        inner = [np.clip(at, low, high)]
    return joined(axis, ends, *(formula(v) for v in inner))


def joined(axis: int, *values: Array) -> Array:
    """Arrays side by side along one axis; along all others they are broadcast."""
    import numpy as np

    shape = list(np.broadcast_shapes(*(v.shape for v in values)))
    wide = [np.broadcast_to(v, (*shape[:axis], v.shape[axis], *shape[axis + 1 :])) for v in values]
    together: Array = np.concatenate(wide, axis=axis)
    return together


def _peak(formula: Callable[[Array], Array], low: Array, high: Array) -> Array:
    """Where the formula is greatest, by golden sections: to 3e-8 of the span, its value to the
    square of that."""
    import numpy as np

    for _ in range(_ROUNDS):
        reach = _GOLDEN * (high - low)
        left, right = high - reach, low + reach
        rises = formula(left) < formula(right)
        low, high = np.where(rises, left, low), np.where(rises, high, right)
    return (low + high) / 2
