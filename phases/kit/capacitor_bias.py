"""What direct voltage leaves of a class 2 ceramic capacitor, where its maker's curve is not known.

The share left is 1 / (1 + (V / V_half)²): by own fit, common practice, with its figures and the
sizes of the cases in shared/tables/capacitor-bias.toml.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from phases.kit import arrays as np
from phases.kit.spec_tables import spec_table

if TYPE_CHECKING:
    from phases.kit.arrays import Array

CASES = ("0201", "0402", "0603", "0805", "1206", "1210", "1812")


def usual_loss() -> str:
    """The factor k of the fit, as typed."""
    return str(spec_table("capacitor-bias")["k"]["text"])


def half_voltage(C: Array, V_R: Array, case: str, k: Array) -> Array:
    """V_half = k √(volume V_R / C), in V; C in F, V_R the rated voltage in V, the volume in mm³."""
    length, width, height = spec_table("capacitor-bias")["case"][case]
    volume: float = length * width * height
    found: Array = k * np.sqrt(volume * V_R / np.maximum(C * 1e6, 1e-9))
    return found


def left_under_bias(V: Array, V_half: Array) -> Array:
    """The share of the nominal capacitance that is left at V."""
    found: Array = np.power(1 + (V / V_half) ** 2, -1.0)
    return found
