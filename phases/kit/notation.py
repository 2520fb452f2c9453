"""Quantities as a person writes them: number, RKM code or prefix, and unit; with a spread.

    3.3 V   4k7   100n   2R2   1 oz   180 mA   5 V ± 5 %   5 V +- 0.25 V   10 µF +80 -20 %
    4.75 .. 5.25 V   4.75 / 5 / 5.25 V

A strict grammar: what it does not know it refuses with one sentence, and nothing typed is
ever evaluated. RKM code: IEC 60062:2016, section 6.
"""

from __future__ import annotations

import re

from phases.kit.refusals import Refusal
from phases.kit.spread import Spread
from phases.kit.text import line
from phases.kit.units import PREFIXES, UNITS, factor, prefix_only, spelt

_LONGEST = 80
_NUMBER = re.compile(r"[+-]?(?:\d{1,18}(?:\.\d{0,18})?|\.\d{1,18})(?:[eE][+-]?\d{1,2}(?!\d))?")
_RKM = re.compile(r"(\d{0,9})([RLVAkKMGmµunpf])(\d{1,9})(?!\d)")
_RKM_OHM = {"R": 1.0, "L": 1e-3}
_PLUS_MINUS = re.compile(r"\s*(?:±|\+/-|\+-)\s*")
_PLUS_AND_MINUS = re.compile(
    r"(?P<mid>.*?)\s*\+\s*(?P<up>[\d.]+)\s*(?P<u1>[^-\d/]*?)\s*/?\s*-\s*(?P<down>[\d.]+)\s*(?P<u2>\D*)"
)
_RANGE = re.compile(r"\s*(?:\.\.\.?|…)\s*")
_SLASH = re.compile(r"\s*/\s*(?=[-+.\d½])")


def read_quantity(
    text: str, unit: str, *, least: float | None = None, most: float | None = None
) -> Spread:
    """The spread that `text` means in a field declared in `unit`, in SI (°C for temperatures).

    least, most: bounds in SI that the whole spread must keep.
    Raises Refusal for anything the grammar does not know, with what to write instead.
    """
    written = _one_spelling(text)
    spread = _spread(written, unit)
    _check(spread, unit, least, most, written)
    return spread


def _one_spelling(text: str) -> str:
    cleaned = line(text)
    if not cleaned:
        raise Refusal("A value is missing", do="Write a number with its unit")
    if len(cleaned) > _LONGEST:
        raise Refusal(
            f"The value is {len(cleaned)} characters long", do="Write a number with its unit"
        )
    if cleaned != line(text.replace("\x1b", "\ufffd").replace("\x00", "\ufffd")):
        raise Refusal("The value holds control characters", do="Type it again")
    cleaned = cleaned.replace("−", "-").replace("½", "0.5").replace("¼", "0.25")
    if re.search(r"\d,\d", cleaned):
        raise Refusal(
            f"{cleaned!r} has a comma in a number",
            do="Use a point, as in " + cleaned.replace(",", "."),
        )
    return spelt(cleaned)


def _spread(text: str, unit: str) -> Spread:
    if _PLUS_MINUS.search(text):
        return _plus_minus(text, unit)
    parts = _RANGE.split(text)
    if len(parts) == 2:
        low, high = _values(parts, unit)
        return _ordered(low, (low + high) / 2, high, text)
    uneven = _PLUS_AND_MINUS.fullmatch(text)
    if uneven and uneven["mid"]:
        return _uneven(uneven, unit)
    parts = _SLASH.split(text)
    if len(parts) == 3:
        low, typ, high = _values(parts, unit)
        return _ordered(low, typ, high, text)
    if len(parts) == 2:
        raise Refusal(
            f"{text!r} has two values at a slash", do="Write min .. max, or min / typ / max"
        )
    (value,) = _values([text], unit)
    return Spread.exact(value)


def _plus_minus(text: str, unit: str) -> Spread:
    sides = _PLUS_MINUS.split(text)
    if len(sides) != 2 or not sides[0] or not sides[1]:
        raise Refusal(f"{text!r} is not a value with its tolerance", do="Write it as 5 V ± 5 %")
    middle, reach = sides
    # "5 ± 0.25 V": the unit at the end is meant for both sides, "5 ± 2 % V" is not a thing.
    if middle[-1].isdigit() and not reach.endswith("%") and not _RKM.fullmatch(middle):
        middle += _suffix(reach)
    (typ,) = _values([middle], unit)
    if reach.endswith("%") or reach.endswith("ppm"):
        (ratio,) = _values([reach], "%")
        if UNITS[unit].si == "1" and not reach.endswith("ppm") and middle.rstrip().endswith("%"):
            return _ordered(typ - ratio, typ, typ + ratio, text)
        distance = abs(typ) * ratio
    else:
        distance = _difference(reach, unit)
    return _ordered(typ - distance, typ, typ + distance, text)


def _uneven(match: re.Match[str], unit: str) -> Spread:
    (typ,) = _values([match["mid"]], unit)
    suffix_up, suffix_down = match["u1"].strip() or match["u2"].strip(), match["u2"].strip()
    distances = []
    for number, suffix in ((match["up"], suffix_up), (match["down"], suffix_down)):
        if suffix == "%":
            distances.append(abs(typ) * float(_number(number)) / 100)
        else:
            distances.append(_difference(number + suffix, unit))
    up, down = distances
    return _ordered(typ - down, typ, typ + up, match.string)


def _difference(text: str, unit: str) -> float:
    """A distance on a scale: for temperatures 5 °C and 5 K are both five kelvin."""
    (value,) = _values([text], "K" if unit == "°C" else unit)
    return value


def _ordered(low: float, typ: float, high: float, text: str) -> Spread:
    if low > high:
        raise Refusal(f"{text!r} runs from high to low", do="Write the smaller value first")
    if not low <= typ <= high:
        raise Refusal(
            f"In {text!r} the typical value lies outside its ends", do="Write min / typ / max"
        )
    return Spread(low, typ, high)


def _values(parts: list[str], unit: str) -> list[float]:
    """Each part in SI; a part without a unit takes the one of the next part that has one."""
    values: list[float] = []
    suffix = ""
    for part in reversed(parts):
        number, own = _split(part, unit)
        suffix = own or suffix
        values.append(_in_si(number, suffix, unit))
    return values[::-1]


def _split(part: str, unit: str) -> tuple[float, str]:
    """The number and what follows it; an RKM code is a number whose letter is the prefix."""
    part = part.strip()
    code = _RKM.match(part)
    if code and unit not in ("°C", "K", "%", "1"):
        return _rkm(code, part, unit)
    match = _NUMBER.match(part)
    if not match:
        raise Refusal(f"{part!r} is not a number with a unit", do=_example(unit))
    if re.match(r"[eE][+-]?\d", part[match.end() :]):
        raise Refusal(f"{part!r} is out of any range", do=_example(unit))
    return float(match[0]), part[match.end() :].strip()


def _suffix(part: str) -> str:
    match = _NUMBER.match(part)
    return part[match.end() :].strip() if match else ""


def _rkm(code: re.Match[str], part: str, unit: str) -> tuple[float, str]:
    whole, letter, fraction = code.groups()
    rest = part[code.end() :].strip()
    value = float(f"{whole or 0}.{fraction}")
    own_letter = {"Ω": "R", "V": "V", "A": "A"}.get(unit)
    if letter == own_letter:
        scale = 1.0
    elif letter in _RKM_OHM:
        if unit != "Ω":
            raise Refusal(f"{part!r}: the letter {letter} marks ohms", do=_example(unit))
        scale = _RKM_OHM[letter]
    elif letter in PREFIXES and prefix_only(letter, unit) is not None:
        scale = PREFIXES[letter]
    else:
        raise Refusal(f"{part!r} does not fit here", do=_example(unit))
    if rest and factor(rest, unit) != 1.0:
        raise Refusal(f"{part!r} has a prefix twice", do=_example(unit))
    return value * scale / UNITS[unit].factor, unit if UNITS[unit].factor != 1.0 else ""


def _in_si(number: float, suffix: str, unit: str) -> float:
    if not suffix or (suffix == "R" and unit == "Ω"):
        return number * UNITS[unit].factor
    if unit == "°C":
        if suffix in ("°C", "C"):
            return number
        if suffix == "K":
            return number - 273.15
    alone = prefix_only(suffix, unit)
    if alone is not None and not (unit == "m" and suffix == "m"):
        return number * alone
    return number * factor(suffix, unit)


def _number(text: str) -> str:
    if not _NUMBER.fullmatch(text):
        raise Refusal(f"{text!r} is not a number", do="Write it with digits and a point")
    return text


def _example(unit: str) -> str:
    shown = {"Ω": "4.7 kΩ or 4k7", "F": "100 nF or 100n", "V": "3.3 V", "°C": "25 °C", "1": "12"}
    return f"Write it as {shown.get(unit, '12 ' + unit)}"


def _check(spread: Spread, unit: str, least: float | None, most: float | None, text: str) -> None:
    from phases.kit.say import show

    known = UNITS[unit]
    lower = least if least is not None else (-known.greatest if known.signed else 0.0)
    upper = most if most is not None else known.greatest
    if spread.low < lower:
        raise Refusal(f"{text!r} is too small", do=f"Least here: {show(lower, unit)}")
    if spread.high > upper:
        raise Refusal(f"{text!r} is too large", do=f"Most here: {show(upper, unit)}")
    if unit == "°C" and spread.low < -273.15:
        raise Refusal(f"{text!r} is below absolute zero", do="Write it as 25 °C")
