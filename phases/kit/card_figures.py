"""The figures a part card may hold: what only a part's data sheet knows.

A figure is a text in the unit of its key, or a table that also says where it was read:

    [limits]
    dropout = "280 mV"
    theta_ja = { value = "62 K/W", source = "data sheet, thermal table", page = 6 }
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, StrictInt, create_model

from phases.kit.documents import checked
from phases.kit.notation import read_quantity
from phases.kit.text import Line

UNITS_OF: Mapping[str, str] = {
    # the part as a whole
    "junction": "°C",
    "theta_ja": "K/W",
    "theta_jc": "K/W",
    "power": "W",
    "voltage_max": "V",
    "current": "A",
    "on_resistance": "Ω",
    "resistance": "Ω",
    "capacitance": "F",
    "leakage": "A",
    "forward": "V",
    # pins of a microcontroller or of what it talks to
    "io_current": "A",
    "total_current": "A",
    "vil": "V",
    "vih": "V",
    "pull_min": "Ω",
    "pull_max": "Ω",
    "reset_pulse": "s",
    "transconductance": "S",
    "driver_resistance": "Ω",
    "debug_delay": "s",
    "bit_rate": "bit/s",
    # regulators
    "input_max": "V",
    "input_recommended": "V",
    "input_min": "V",
    "output": "V",
    "output_current": "A",
    "dropout": "V",
    "ground_current": "A",
    "switch_current": "A",
    "frequency": "Hz",
    "reference": "V",
    "feedback_current": "A",
    "regulation": "%",
    "high_switch": "Ω",
    "low_switch": "Ω",
    "rise_time": "s",
    "gate_charge": "C",
    "on_time": "s",
    "duty": "%",
    "soft_start": "A",
    "output_capacitance": "F",
    "current_limit": "A",
    "slew_rate": "V/s",
    "capacitor_resistance": "Ω",
    # inductors
    "saturation": "A",
    "inductance": "H",
    "tolerance": "%",
    # capacitors
    "ripple_current": "A",
    # switches
    "threshold": "V",
    "gate_voltage": "V",
    "gate_max": "V",
    "switching_time": "s",
    "regulated_drop": "V",
    # clamps
    "stand_off": "V",
    "breakdown": "V",
    "clamp_voltage": "V",
    "pulse_current": "A",
    "pulse_power": "W",
    "dynamic_resistance": "Ω",
    "discharge": "V",
    "temperature_rise": "%",
    "clamp_energy": "J",
    # fuses
    "trip_ratio": "1",
    "fault_current": "A",
    "melting_integral": "A²s",
    # cells
    "capacity": "mAh",
    "open_voltage": "V",
    "end_voltage": "V",
    "steady_current": "A",
    "self_discharge": "%",
    "peukert": "1",
    "rated_time": "h",
    # light-emitting diodes
    "visible_current": "A",
}
"""The unit each figure is in, by its key."""

RATIOS = ("vil", "vih")
"""Input levels: a voltage, or a number alone for a ratio of the supply."""


def is_ratio(level: str) -> bool:
    """Whether an input level is given as a ratio of the supply: "0.3", not "0.8 V"."""
    return level.replace(".", "", 1).isdigit()


class CardFigure(BaseModel):
    """One figure of a part, as text, and where it was read."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    value: Line
    source: Line = ""
    page: Annotated[StrictInt, Field(ge=1, le=10_000)] | None = None


def _with_value(given: object) -> object:
    return given if isinstance(given, Mapping) else {"value": given}


def _field(key: str) -> Any:
    def check(figure: CardFigure | None) -> None:
        if figure is not None and key in RATIOS and is_ratio(figure.value):
            read_quantity(figure.value, "1", most=1.0)
        elif figure is not None:
            read_quantity(figure.value, UNITS_OF[key])

    return Annotated[CardFigure | None, BeforeValidator(_with_value), checked(check)]


class _Limits(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)

    def figure(self, key: str) -> CardFigure | None:
        """The figure of a key of `UNITS_OF`; None where the card does not say."""
        found: CardFigure | None = getattr(self, key)
        return found


_FIELDS: dict[str, Any] = {key: (_field(key), None) for key in UNITS_OF}
Limits = create_model("Limits", __base__=_Limits, **_FIELDS)
"""The figures of one part, each of them optional."""
