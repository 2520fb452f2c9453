"""The ring of a cable with a capacitor that loses capacitance as its voltage rises.

In units of the source, of √(L C) and of V √(C / L), with C the capacitance without bias:

    dx/dτ = i (1 + (x / a)²)    a = V_half / V, where half of the capacitance is left
    di/dτ = 1 - x - 2 ζ i       ζ = (R / 2) √(C / L)

A capacitor that keeps its capacitance (a = ∞) rings up to 1 + exp(-π ζ / √(1 - ζ²)); one that
loses it goes beyond twice the source (Linear Technology AN 88 measures more than that).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from phases.kit.arrays import Array

_STEP = 0.04
_MOST_STEPS = 200
_LEAST_A = 0.5
"""Below it the law of the loss is beyond what it was fitted to: the peak is taken as at this."""
_NEVER = 2.5
"""From this damping on nothing rises above the source, whatever is lost."""


def overshoot(zeta: Array, a: Array) -> Array:
    """The highest voltage over that of the source, 1 or more, of arrays that broadcast.

    Runge-Kutta of the fourth order up to the first peak; within 0.1 % of steps ten times as fine
    for a of 0.5 or more. NaN stays NaN.
    """
    import numpy as np

    zeta, a = np.broadcast_arrays(np.asarray(zeta, float), np.asarray(a, float))
    loss = 1 / np.maximum(a, _LEAST_A) ** 2
    x, i = np.zeros(zeta.shape), np.zeros(zeta.shape)
    x_top, i_top, i_after = x, i, i - 1
    going = zeta < _NEVER
    for _ in range(_MOST_STEPS):
        x_next, i_next = _stepped(x, i, zeta, loss, _STEP)
        turns = going & (i_next <= 0)
        x_top, i_top = np.where(turns, x, x_top), np.where(turns, i, i_top)
        i_after = np.where(turns, i_next, i_after)
        going = going & ~turns
        if not going.any():
            break
        x, i = np.where(going, x_next, x), np.where(going, i_next, i)
    # The peak lies where the current turns, between two steps.
    peak, _ = _stepped(x_top, i_top, zeta, loss, _STEP * i_top / (i_top - i_after))
    return np.where(np.isnan(zeta) | np.isnan(a), np.nan, np.maximum(peak, 1.0))


def _stepped(x: Array, i: Array, zeta: Array, loss: Array, h: Array | float) -> tuple[Array, Array]:
    def slopes(x: Array, i: Array) -> tuple[Array, Array]:
        return i * (1 + loss * x * x), 1 - x - 2 * zeta * i

    x_1, i_1 = slopes(x, i)
    x_2, i_2 = slopes(x + h / 2 * x_1, i + h / 2 * i_1)
    x_3, i_3 = slopes(x + h / 2 * x_2, i + h / 2 * i_2)
    x_4, i_4 = slopes(x + h * x_3, i + h * i_3)
    return (
        x + h / 6 * (x_1 + 2 * x_2 + 2 * x_3 + x_4),
        i + h / 6 * (i_1 + 2 * i_2 + 2 * i_3 + i_4),
    )
