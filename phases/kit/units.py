"""Units at the edge: which a field may be given in, and how a value of it is shown.

Inside, everything is SI, temperatures in °C. A field is declared in the unit a person
expects on its label ("mm", "%"). Its own unit with a prefix is read here; every other
unit of the same kind (mil, oz of copper, mAh, °C/W) is left to pint, which is imported
only then and knows just the units below.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from phases.kit.refusals import Refusal

if TYPE_CHECKING:
    import pint

PREFIXES = {
    "f": 1e-15,
    "p": 1e-12,
    "n": 1e-9,
    "µ": 1e-6,
    "u": 1e-6,
    "m": 1e-3,
    "k": 1e3,
    "K": 1e3,
    "M": 1e6,
    "G": 1e9,
}


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit a field can be declared in.

    factor: SI value of one of it. ladder: the prefixes a person would use, smallest first,
    "" for none. greatest: SI magnitude beyond which a value can only be a slip.
    pint: the same unit in pint's spelling.
    """

    symbol: str
    si: str
    kind: str
    pint: str
    factor: float = 1.0
    ladder: tuple[str, ...] = ("",)
    greatest: float = 1e12
    signed: bool = False


def _unit(symbol: str, kind: str, pint: str, *ladder: str, **more: Any) -> Unit:
    more.setdefault("si", symbol)
    return Unit(symbol=symbol, kind=kind, pint=pint, ladder=ladder or ("",), **more)


UNITS = {
    unit.symbol: unit
    for unit in (
        _unit("V", "voltage", "volt", "µ", "m", "", "k", greatest=1e6),
        _unit("A", "current", "ampere", "p", "n", "µ", "m", "", greatest=1e5),
        _unit("Ω", "resistance", "ohm", "µ", "m", "", "k", "M", "G", greatest=1e12),
        _unit("F", "capacitance", "farad", "f", "p", "n", "µ", "", greatest=1e3),
        _unit("H", "inductance", "henry", "p", "n", "µ", "m", "", greatest=1e3),
        _unit("W", "power", "watt", "n", "µ", "m", "", "k", greatest=1e6),
        _unit("J", "energy", "joule", "n", "µ", "m", "", "k", greatest=1e9),
        _unit("C", "charge", "coulomb", "p", "n", "µ", "m", "", greatest=1e9),
        _unit("s", "time", "second", "p", "n", "µ", "m", "", greatest=1e11),
        _unit("Hz", "frequency", "hertz", "m", "", "k", "M", "G", greatest=1e12),
        _unit("S", "conductance", "siemens", "n", "µ", "m", "", greatest=1e6),
        _unit("m", "length", "meter", "µ", "m", "", greatest=1e6),
        _unit("mm", "length", "meter", "µ", "m", "", si="m", factor=1e-3, greatest=1e4),
        _unit("µm", "length", "meter", "n", "µ", "m", "", si="m", factor=1e-6, greatest=1.0),
        _unit("mm²", "area", "meter**2", si="m²", factor=1e-6, greatest=1e4),
        _unit("°C", "temperature", "kelvin", greatest=1e4, signed=True),
        _unit("K", "temperature difference", "kelvin", greatest=1e4, signed=True),
        _unit("K/W", "thermal resistance", "kelvin/watt", "m", "", "k", greatest=1e6),
        _unit("%", "ratio", "dimensionless", si="1", factor=1e-2, greatest=1e4),
        _unit("ppm", "ratio", "dimensionless", si="1", factor=1e-6, greatest=1e6),
        _unit("1", "plain number", "dimensionless", greatest=1e12),
        _unit("A²s", "melting integral", "ampere**2*second", "n", "µ", "m", "", greatest=1e6),
        _unit("V/s", "slew rate", "volt/second", "", "k", "M", "G", greatest=1e15),
        _unit("F/m", "capacitance per length", "farad/meter", "p", "n", greatest=1.0),
        _unit("bit/s", "bit rate", "bit/second", "", "k", "M", "G", greatest=1e12),
        _unit("mAh", "charge", "ampere*second", si="C", factor=3.6, greatest=1e9),
        _unit("min", "time", "second", si="s", factor=60.0, greatest=1e11),
        _unit("h", "time", "second", si="s", factor=3600.0, greatest=1e11),
        _unit("arcmin", "angle", "radian", si="rad", factor=2.908882086657216e-4, greatest=10.0),
    )
}

_DEFINITIONS = """
femto- = 1e-15 = f-
pico- = 1e-12 = p-
nano- = 1e-9 = n-
micro- = 1e-6 = µ- = u-
milli- = 1e-3 = m-
centi- = 1e-2 = c-
kilo- = 1e3 = k-
mega- = 1e6 = M-
giga- = 1e9 = G-
meter = [length] = m
second = [time] = s
ampere = [current] = A
gram = [mass] = g
kelvin = [temperature] = K
bit = [information]
radian = [angle] = rad
hertz = 1 / second = Hz
joule = 1000 * gram * meter ** 2 / second ** 2 = J
watt = joule / second = W
coulomb = ampere * second = C
volt = watt / ampere = V
ohm = volt / ampere = Ω
siemens = ampere / volt = S
farad = coulomb / volt = F
henry = volt * second / ampere = H
inch = 0.0254 * meter = in
mil = 2.54e-5 * meter
ounce_of_copper = 35e-6 * meter = oz
minute = 60 * second = min
hour = 3600 * second = h
day = 86400 * second = d
year = 31557600 * second = yr
degree = 0.017453292519943295 * radian = deg
arcminute = degree / 60 = arcmin
percent = 0.01 = pct
parts_per_million = 1e-6 = ppm
"""

_UNIT_TEXT = re.compile(r"[A-Za-zµΩ°]+(\*\*-?[23])?([*/][A-Za-zµΩ°]+(\*\*-?[23])?){0,3}")


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[Any]:
    import pint

    registry: pint.UnitRegistry[Any] = pint.UnitRegistry(None)
    for definition in _DEFINITIONS.strip().splitlines():
        registry.define(definition)
    return registry


@lru_cache(maxsize=512)
def spelt(text: str) -> str:
    """One spelling of the letters that arrive in several: micro, ohm, degree, powers, products."""
    for seen, kept in (
        ("\u03bc", "µ"),
        ("\u2126", "Ω"),
        ("\u2103", "°C"),
        ("²", "**2"),
        ("³", "**3"),
        ("^", "**"),
        ("·", "*"),
        ("⋅", "*"),
        ("ohms", "Ω"),
        ("ohm", "Ω"),
        ("Ohms", "Ω"),
        ("Ohm", "Ω"),
        ("degC", "°C"),
        ("deg C", "°C"),
    ):
        text = text.replace(seen, kept)
    return text


@lru_cache(maxsize=512)
def factor(text: str, symbol: str) -> float:
    """SI value of one `text` in a field declared in `symbol`; Refusal where it does not fit."""
    unit = UNITS[symbol]
    written = spelt(text).replace(" ", "")
    if written == spelt(symbol) or (symbol == "Ω" and written == "R"):
        return unit.factor
    prefix = _prefix_before(written, unit)
    if prefix is not None:
        return prefix
    if symbol == "K" and written in ("°C", "C"):
        return 1.0
    if symbol == "°C":  # a scale with its own zero: no factor leads to it
        raise _no_unit(text, unit)
    return _by_pint(text, written, unit)


def _prefix_before(written: str, unit: Unit) -> float | None:
    """The prefix where `written` is the SI unit of this one with a prefix, else None.

    Not for the square of a unit, where a prefix is squared too, unless it is the field's own
    ("mA²s").
    """
    base = spelt(unit.si)
    if base in ("1", "rad", "°C") or ("**" in base and unit.si != unit.symbol):
        return None
    if not written.endswith(base):
        return None
    prefix = written[: -len(base)]
    if prefix == "" and unit.si != unit.symbol:
        return 1.0
    return None if prefix == "K" and base == "s" else PREFIXES.get(prefix)


def _no_unit(text: str, unit: Unit) -> Refusal:
    return Refusal(f"{_shown(text)!r} is not a unit known here", do=f"Give it in {unit.symbol}")


def _shown(text: str) -> str:
    return text.replace("**2", "²").replace("**3", "³")


def _by_pint(text: str, written: str, unit: Unit) -> float:
    written = written.replace("%", "pct").replace("°C", "K").replace("mAh", "mA*h")
    written = re.sub(r"\bAh\b", "A*h", written).replace("A**2s", "A**2*s")
    if unit.kind == "bit rate":
        written = {"Bd": "bit/s", "baud": "bit/s"}.get(written, written)
        written = re.sub(r"^([kM]?)(?:bps|bit/s)$", r"\1bit/s", written)
    if len(written) <= 24 and _UNIT_TEXT.fullmatch(written):
        registry = _registry()
        try:
            quantity = registry.Quantity(1.0, registry.parse_units(written))
            return float(quantity.to(unit.pint).magnitude)
        except Exception as fault:  # pint raises a dozen kinds; each means the same to a person
            if type(fault).__name__ == "DimensionalityError":
                raise Refusal(
                    f"{_shown(text)} is not a unit of {unit.kind}", do=f"Give it in {unit.symbol}"
                ) from None
    raise _no_unit(text, unit)


def prefix_only(text: str, symbol: str) -> float | None:
    """SI value of a prefix that stands alone ("100n" in a farad field); None where it is none.

    A K alone is kelvin where the field's unit has kelvin in it.
    """
    unit = UNITS[symbol]
    letter = spelt(text)
    if unit.ladder == ("",) or unit.si != symbol or (letter == "K" and "K" in symbol):
        return None
    return PREFIXES.get(letter)
