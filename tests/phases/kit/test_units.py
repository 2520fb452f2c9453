"""Every unit a field can have is read with the prefixes people use; other units go to pint."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from phases.kit.refusals import Refusal
from phases.kit.units import PREFIXES, UNITS, factor, prefix_only

ROOT = Path(__file__).parents[3]

# Reads pairs of text and unit, then says which heavy libraries that took.
_READ = """
import json, sys
from phases.kit.notation import read_quantity
for text, unit in json.load(sys.stdin):
    read_quantity(text, unit)
print(*sorted({"numpy", "pint"} & set(sys.modules)))
"""

OWN = [
    (f"1 {prefix}{symbol}", symbol)
    for symbol, unit in UNITS.items()
    if unit.si == symbol and symbol != "1"
    for prefix in unit.ladder
]


def loaded_by(pairs: list[tuple[str, str]]) -> str:
    done = subprocess.run(
        [sys.executable, "-c", _READ],
        cwd=ROOT,
        input=json.dumps(pairs),
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def test_the_units_of_a_field_are_read_without_numpy_and_without_pint() -> None:
    lengths = [("35 µm", "mm"), ("0.2 mm", "µm"), ("1.5 m", "mm")]
    assert loaded_by([*OWN, *((f"1 {s}" if s != "1" else "1", s) for s in UNITS), *lengths]) == ""


@pytest.mark.parametrize(
    ("text", "unit"),
    [("8 mil", "mm"), ("1 oz", "µm"), ("230 mAh", "C"), ("75 °C/W", "K/W"), ("1 V/µs", "V/s")],
)
def test_another_unit_of_the_same_kind_is_left_to_pint(text: str, unit: str) -> None:
    assert "pint" in loaded_by([(text, unit)])


# Factors by definition: inch 25.4 mm, hour 3600 s, minute 60 s (SI brochure, 9th ed., section
# 2.3.1 and table 8; inch: international yard and pound agreement, 1959). An ounce of copper on
# a square foot is taken as 35 µm (common practice; 28.35 g and 8.96 g/cm³ give 34.1 µm).
@pytest.mark.parametrize(
    ("text", "unit", "si"),
    [
        ("mil", "mm", 25.4e-6),
        ("in", "mm", 25.4e-3),
        ("cm", "mm", 1e-2),
        ("oz", "mm", 35e-6),
        ("mil²", "mm²", 25.4e-6**2),
        ("cm²", "mm²", 1e-4),
        ("µm²", "mm²", 1e-12),
        ("mAh", "C", 3.6),
        ("Ah", "C", 3600.0),
        ("mAh", "mAh", 3.6),
        ("C", "mAh", 1.0),
        ("h", "s", 3600.0),
        ("s", "min", 1.0),
        ("ms", "min", 1e-3),
        ("°C/W", "K/W", 1.0),
        ("mK/W", "K/W", 1e-3),
        ("°C", "K", 1.0),
        ("ppm", "%", 1e-6),
        ("%", "1", 1e-2),
        ("deg", "arcmin", 3.141592653589793 / 180),
        ("V/µs", "V/s", 1e6),
        ("pF/cm", "F/m", 1e-10),
        ("mA²s", "A²s", 1e-3),
        ("W*s", "J", 1.0),
        ("W·h", "J", 3600.0),
        ("kbit/s", "bit/s", 1e3),
        ("Mbps", "bit/s", 1e6),
        ("baud", "bit/s", 1.0),
    ],
)
def test_a_unit_is_worth_what_its_definition_says(text: str, unit: str, si: float) -> None:
    assert factor(text, unit) == pytest.approx(si, rel=1e-12)


@pytest.mark.parametrize("text", ["Ω", "\u2126", "ohm", "ohms", "Ohm", "Ohms", "R"], ids=ascii)
def test_ohm_is_read_in_each_of_its_spellings(text: str) -> None:
    assert factor(text, "Ω") == 1.0


@pytest.mark.parametrize("micro", ["u", "\u00b5", "\u03bc"], ids=ascii)
def test_micro_is_read_in_each_of_its_letters(micro: str) -> None:
    assert factor(f"{micro}F", "F") == 1e-6
    assert prefix_only(micro, "F") == 1e-6


@pytest.mark.parametrize("text", ["°C", "\u2103", "degC", "deg C"], ids=ascii)
def test_degrees_are_read_in_each_of_their_spellings(text: str) -> None:
    assert factor(text, "°C") == 1.0


def test_m_is_milli_and_never_mega() -> None:
    assert factor("mΩ", "Ω") == 1e-3
    assert factor("MΩ", "Ω") == 1e6


def test_small_and_capital_k_both_mean_kilo_for_ohms() -> None:
    assert factor("kΩ", "Ω") == factor("KΩ", "Ω") == prefix_only("K", "Ω") == 1e3


def test_a_k_alone_is_kelvin_and_not_kilo_where_kelvin_is_in_the_unit() -> None:
    assert prefix_only("K", "K/W") is None
    with pytest.raises(Refusal, match="K is not a unit of thermal resistance"):
        factor("K", "K/W")


def test_no_prefix_stands_alone_where_the_unit_takes_none() -> None:
    assert [prefix_only("k", symbol) for symbol in ("°C", "K", "%", "1", "mm", "min")] == [None] * 6


@pytest.mark.parametrize(
    ("text", "unit", "kind"),
    [
        ("A", "V", "voltage"),
        ("V", "A", "current"),
        ("W/m²", "V", "voltage"),
        # An angle is no share, and a turn is not a radian: both would be wrong by a factor.
        ("deg", "%", "ratio"),
        ("rad/s", "Hz", "frequency"),
        ("Hz", "bit/s", "bit rate"),
        ("mm", "mm²", "area"),
        ("C/W", "K/W", "thermal resistance"),
    ],
)
def test_a_unit_of_another_kind_is_refused_by_name(text: str, unit: str, kind: str) -> None:
    with pytest.raises(Refusal) as caught:
        factor(text, unit)
    assert str(caught.value) == f"{text} is not a unit of {kind}. Give it in {unit}."


@pytest.mark.parametrize("text", ["v", "volts5", "**2", "V**9", "xyz", "mmV", "Ks", "", "V" * 30])
def test_an_unknown_unit_is_refused(text: str) -> None:
    with pytest.raises(Refusal, match="is not a unit known here"):
        factor(text, "s")


def test_a_temperature_is_no_multiple_of_another_unit() -> None:
    # 77 mK is -273 °C and not 0.077 °C.
    for text in ("mK", "kelvin", "m°C"):
        with pytest.raises(Refusal):
            factor(text, "°C")


@pytest.mark.parametrize("symbol", UNITS)
def test_every_unit_is_the_si_unit_it_says_in_pint_too(symbol: str) -> None:
    unit = UNITS[symbol]
    assert unit.ladder == tuple(sorted(unit.ladder, key=lambda p: PREFIXES.get(p, 1.0)))
    if symbol not in ("°C", "1"):
        pint_says = factor(f"{symbol}*m/m", symbol)  # by a detour that only pint follows
        assert pint_says == pytest.approx(unit.factor, rel=1e-9)
