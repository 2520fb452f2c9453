"""Quantities as a person writes them: number, RKM code or prefix, and unit; with a spread.

    3.3 V   4k7   100n   2R2   1 oz   180 mA   5 V ± 5 %   5 V +- 0.25 V   10 µF +80 -20 %
    4.75 .. 5.25 V   4.75 / 5 / 5.25 V

A strict grammar: what it does not know it refuses with one sentence, and nothing typed is
ever evaluated. RKM code: IEC 60062:2016, section 6. Its letter comes first where a value is
below one of it: R47 is 0.47 Ω, and n47 on a capacitor 470 pF. Of larger multiples the standard
knows no such code: 700 Ω is 700R, and k7 is read by nobody. Of fraction signs only those of
copper are read, which is sold by "½ oz".
"""

from __future__ import annotations

import re
from itertools import pairwise

from phases.kit.refusals import Refusal
from phases.kit.spread import Spread
from phases.kit.text import clean, one_line
from phases.kit.units import PREFIXES, UNITS, factor, prefix_only, spelt

_LONGEST = 80
_LEAST = 1e-30
_NUMBER = re.compile(
    r"[+-]?(?:[0-9]{1,18}(?:\.[0-9]{0,18})?|\.[0-9]{1,18})(?:[eE][+-]?[0-9]{1,2}(?![0-9]))?"
)
_RKM = re.compile(r"([0-9]{0,9})([RLVAkKMGmµunpf])([0-9]{1,9})(?![0-9])")
_RKM_OHM = {"R": 1.0, "L": 1e-3}
_RKM_FIRST = {"Ω": "R", "F": "mµunp"}
# The letter that stands for the point where the unit has no prefix.
_RKM_OWN = {"Ω": "R", "V": "V", "A": "A", "m": "m"}
_PLUS_MINUS = re.compile(r"\s*(?:±|\+/-|\+-)\s*")
_PLUS_AND_MINUS = re.compile(
    r"(?P<mid>.*?)\s*\+\s*(?P<up>[0-9.]+)\s*(?P<u1>[^-0-9/]*?)\s*/?\s*"
    r"-\s*(?P<down>[0-9.]+)\s*(?P<u2>[^0-9]*)"
)
_RANGE = re.compile(r"\s*(?:\.\.\.?|…)\s*")
_SLASH = re.compile(r"\s*/\s*(?=[-+.0-9])")
_SHARES = ("%", "ppm")
_EXAMPLES = {
    "Ω": "4.7 kΩ or 4k7",
    "F": "100 nF or 100n",
    "V": "3.3 V",
    "°C": "25 °C",
    "1": "12",
    "F/m": "100 pF/m",
}
_OUNCES = re.compile(r"oz\b")
_FRACTIONS = (("½", ".5"), ("¼", ".25"), ("¾", ".75"))


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
    cleaned = one_line(text)
    if not cleaned:
        raise Refusal("A value is missing", do="Write a number with its unit")
    if len(cleaned) > _LONGEST:
        raise Refusal(
            f"The value is {len(cleaned)} characters long", do="Write a number with its unit"
        )
    if clean(text) != text.replace("\r\n", "\n").replace("\r", "\n"):
        raise Refusal("The value holds characters that nobody can see", do="Type it again")
    cleaned = cleaned.replace("−", "-")
    if _OUNCES.search(cleaned):
        for sign, point in _FRACTIONS:  # "½ oz" of copper, "1½ oz", "1 ½ oz"
            cleaned = re.sub(rf"(?<=[0-9]) ?{sign}", point, cleaned).replace(sign, f"0{point}")
    for before, sign in pairwise(f" {cleaned}"):
        power = sign in "²³" and before.isalpha()  # of a unit, as in mm²
        if sign.isnumeric() and not sign.isascii() and not power:
            raise Refusal(
                f"{cleaned!r} is written with {sign!r}", do="Use the digits 0 to 9, as in 0.5"
            )
    if re.search(r"[0-9],[0-9]", cleaned):
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
        raise Refusal(f"{text!r} is not a value with its tolerance", do="Example: 5 V ± 5 %")
    middle, reach = sides
    middle = _with_unit(middle, _suffix(reach), unit)
    (typ,) = _values([middle], unit)
    distance = _distance(reach, typ, middle, unit)
    if distance < 0:
        raise Refusal(f"{text!r} has a negative tolerance", do="Example: 5 V ± 5 %")
    return _ordered(typ - distance, typ, typ + distance, text)


def _uneven(match: re.Match[str], unit: str) -> Spread:
    suffix_down = match["u2"].strip()
    suffix_up = match["u1"].strip() or suffix_down
    middle = _with_unit(match["mid"], suffix_down, unit)
    (typ,) = _values([middle], unit)
    up = _distance(match["up"] + suffix_up, typ, middle, unit)
    down = _distance(match["down"] + suffix_down, typ, middle, unit)
    return _ordered(typ - down, typ, typ + up, match.string)


def _with_unit(middle: str, suffix: str, unit: str) -> str:
    """A bare value takes the unit of its tolerance: "5 ± 0.25 V", not "5 ± 2 %" in a volt field."""
    bare = _NUMBER.fullmatch(middle.strip())
    return middle + suffix if bare and (suffix not in _SHARES or suffix == unit) else middle


def _distance(text: str, typ: float, middle: str, unit: str) -> float:
    """How far a tolerance reaches from `typ`.

    A per cent or ppm is a share of it, except of a value that is given in the same itself:
    "5 % ± 1 %" is 4 to 6 %. For temperatures 5 °C and 5 K are both five kelvin.
    """
    share = _suffix(text)
    if share in _SHARES and not middle.strip().endswith(share):
        (ratio,) = _values([text], "%")
        return abs(typ) * ratio
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
    """The number and its unit as written; an RKM code is in the field's own unit."""
    part = part.strip()
    code = _RKM.match(part)
    if code and unit not in ("°C", "K", "%", "1"):
        return _rkm(code, part, unit)
    match = _NUMBER.match(part)
    if not match:
        raise Refusal(f"{part!r} is not a number with a unit", do=_example(unit))
    rest = part[match.end() :].strip()
    if re.match(r"[eE][+-]?[0-9]", rest):
        raise Refusal(f"{part!r} is out of any range", do=_example(unit))
    if re.match(r"\.?[0-9]", rest):
        raise Refusal(f"{part!r} is not a number with a unit", do=_example(unit))
    return float(match[0]), rest


def _suffix(part: str) -> str:
    match = _NUMBER.match(part)
    return part[match.end() :].strip() if match else ""


def _rkm(code: re.Match[str], part: str, unit: str) -> tuple[float, str]:
    whole, letter, fraction = code.groups()
    rest = part[code.end() :].strip()
    if not whole and letter not in _RKM_FIRST.get(unit, ""):
        raise Refusal(f"{part!r} has no digit before its letter", do=f"Example: 0{part}")
    value = float(f"{whole or 0}.{fraction}")
    if letter == _RKM_OWN.get(unit):
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
    return _scaled(value, scale), unit


def _in_si(number: float, suffix: str, unit: str) -> float:
    if not suffix:
        return _scaled(number, UNITS[unit].factor)
    if unit == "°C":
        if suffix in ("°C", "C"):
            return number
        if suffix == "K":
            return number - 273.15
    alone = prefix_only(suffix, unit)
    if alone is not None and not (unit == "m" and suffix == "m"):
        return _scaled(number, alone)
    return _scaled(number, factor(suffix, unit))


def _scaled(number: float, by: float) -> float:
    """number * by, so that 10 µ is the same float as 1e-5: a millionth is no float, a million is.

    Else a value that equals a field's bound would fall beside it.
    """
    inverse = round(1 / by) if by < 1 else 0
    return number / inverse if inverse and by == 1 / inverse else number * by


def _example(unit: str) -> str:
    return f"Example: {_EXAMPLES.get(unit, f'12 {unit}')}"


def _check(spread: Spread, unit: str, least: float | None, most: float | None, text: str) -> None:
    from phases.kit.say import show

    known = UNITS[unit]
    lower = least if least is not None else (-known.greatest if known.signed else 0.0)
    upper = most if most is not None else known.greatest
    if any(0 < abs(value) < _LEAST for value in (spread.low, spread.typ, spread.high)):
        raise Refusal(f"{text!r} is too small to be meant", do=_example(unit))
    if spread.low < lower:
        raise Refusal(f"{text!r} is too small", do=f"Minimum here: {show(lower, unit)}")
    if spread.high > upper:
        raise Refusal(f"{text!r} is too large", do=f"Maximum here: {show(upper, unit)}")
    if unit == "°C" and spread.low < -273.15:
        raise Refusal(f"{text!r} is below absolute zero", do="Example: 25 °C")
