"""A person types what they would write on paper; what the grammar does not know it refuses."""

from __future__ import annotations

import math
from collections.abc import Iterator

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from quantiphy import Quantity as Oracle
from rkm_codes import IEC60062_MAPS, from_rkm, set_prefs

from phases.kit.notation import read_quantity
from phases.kit.refusals import Refusal
from phases.kit.spread import Spread
from phases.kit.text import clean
from phases.kit.units import UNITS
from tests.depth import deep


def read(text: str, unit: str) -> tuple[float, float, float]:
    spread = read_quantity(text, unit)
    return spread.low, spread.typ, spread.high


def refusal_of(text: str, unit: str = "V") -> str:
    with pytest.raises(Refusal) as caught:
        read_quantity(text, unit)
    return str(caught.value)


# ---- what a person writes ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("3.3 V", "V", 3.3),
        ("3.3V", "V", 3.3),
        ("+5 V", "V", 5.0),
        ("5. V", "V", 5.0),
        (".5 V", "V", 0.5),
        ("3.3", "V", 3.3),
        ("1e3 Ω", "Ω", 1000.0),
        ("2.5e-3 A", "A", 2.5e-3),
        ("180 mA", "A", 0.18),
        ("4k7", "Ω", 4700.0),
        ("4.7 k", "Ω", 4700.0),
        ("4.7 kΩ", "Ω", 4700.0),
        ("4.7 kohm", "Ω", 4700.0),
        ("470R", "Ω", 470.0),
        ("470 R", "Ω", 470.0),
        ("2R2", "Ω", 2.2),
        ("100n", "F", 100e-9),
        ("100 nF", "F", 100e-9),
        ("4u7", "F", 4.7e-6),
        ("4.7 uF", "F", 4.7e-6),
        ("4.7 \u03bcF", "F", 4.7e-6),
        ("1 oz", "mm", 35e-6),
        ("½ oz", "mm", 17.5e-6),
        ("1½ oz", "mm", 52.5e-6),
        ("1 ½ oz", "mm", 52.5e-6),
        ("¾ oz", "µm", 26.25e-6),
        ("8 MHz", "Hz", 8e6),
        ("115k2", "bit/s", 115_200.0),
        ("115200 baud", "bit/s", 115_200.0),
        ("1 Mbit/s", "bit/s", 1e6),
        ("25 °C", "°C", 25.0),
        ("-40 °C", "°C", -40.0),
        ("\u221240 °C", "°C", -40.0),
        ("298.15 K", "°C", 25.0),
        ("75 °C/W", "K/W", 75.0),
        ("5 %", "%", 0.05),
        ("5", "%", 0.05),
        ("50 ppm", "%", 50e-6),
        ("12", "1", 12.0),
        ("50 %", "1", 0.5),
        ("0.2", "mm", 0.2e-3),
        ("35 µm", "mm", 35e-6),
        ("1 m", "m", 1.0),
        ("1m5", "m", 1.5),
        ("230 mAh", "C", 828.0),
        ("  3.3   V ", "V", 3.3),
        ("3.3\u00a0V", "V", 3.3),
    ],
)
def test_one_value_is_read_as_it_is_written(text: str, unit: str, value: float) -> None:
    spread = read_quantity(text, unit)
    assert spread.is_exact
    assert spread.typ == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "unit", "ends"),
    [
        ("5 V ± 5 %", "V", (4.75, 5.0, 5.25)),
        ("5 V +- 5 %", "V", (4.75, 5.0, 5.25)),
        ("5 V +/- 5 %", "V", (4.75, 5.0, 5.25)),
        ("5V±5%", "V", (4.75, 5.0, 5.25)),
        ("5 ± 5 %", "V", (4.75, 5.0, 5.25)),
        ("5 V ± 0.25 V", "V", (4.75, 5.0, 5.25)),
        ("5 ± 0.25 V", "V", (4.75, 5.0, 5.25)),
        ("5 V ± 250 mV", "V", (4.75, 5.0, 5.25)),
        ("3V3 ± 100 mV", "V", (3.2, 3.3, 3.4)),
        ("4k7 ± 5 %", "Ω", (4465.0, 4700.0, 4935.0)),
        ("4k7 ± 1k", "Ω", (3700.0, 4700.0, 5700.0)),
        ("10k ± 1 %", "Ω", (9900.0, 10_000.0, 10_100.0)),
        ("5 V ± 100 %", "V", (0.0, 5.0, 10.0)),
        ("8 MHz ± 30 ppm", "Hz", (7_999_760.0, 8e6, 8_000_240.0)),
        ("8 ± 30 ppm", "Hz", (7.99976, 8.0, 8.00024)),
        ("10 µF +80 -20 %", "F", (8e-6, 10e-6, 18e-6)),
        ("10 µF +80 % / -20 %", "F", (8e-6, 10e-6, 18e-6)),
        ("100n +80 -20%", "F", (80e-9, 100e-9, 180e-9)),
        ("10 pF +0.5 -0.2 pF", "F", (9.8e-12, 10e-12, 10.5e-12)),
        ("10 +0.5 -0.2 pF", "F", (9.8e-12, 10e-12, 10.5e-12)),
        ("5 V +0.3 V -0.2 V", "V", (4.8, 5.0, 5.3)),
        ("1 MHz +50 -100 ppm", "Hz", (999_900.0, 1e6, 1_000_050.0)),
        ("25 °C ± 5 K", "°C", (20.0, 25.0, 30.0)),
        ("25 °C ± 5 °C", "°C", (20.0, 25.0, 30.0)),
        ("25 ± 5 °C", "°C", (20.0, 25.0, 30.0)),
    ],
)
def test_a_tolerance_is_a_share_or_a_distance(
    text: str, unit: str, ends: tuple[float, float, float]
) -> None:
    assert read(text, unit) == pytest.approx(ends, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "unit", "ends"),
    [
        ("5 % ± 1 %", "%", (0.04, 0.05, 0.06)),
        ("5 ± 1 %", "%", (0.04, 0.05, 0.06)),
        ("5 % +2 -1 %", "%", (0.04, 0.05, 0.07)),
        ("50 ± 10 ppm", "ppm", (40e-6, 50e-6, 60e-6)),
        ("50 ppm ± 20 %", "ppm", (40e-6, 50e-6, 60e-6)),
        ("1.6 ± 25 %", "1", (1.2, 1.6, 2.0)),
    ],
)
def test_of_a_value_in_per_cent_a_per_cent_is_a_distance(
    text: str, unit: str, ends: tuple[float, float, float]
) -> None:
    assert read(text, unit) == pytest.approx(ends, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "unit", "ends"),
    [
        ("4.75 .. 5.25 V", "V", (4.75, 5.0, 5.25)),
        ("4.75..5.25 V", "V", (4.75, 5.0, 5.25)),
        ("4.75 ... 5.25 V", "V", (4.75, 5.0, 5.25)),
        ("4.75 V … 5.25 V", "V", (4.75, 5.0, 5.25)),
        ("100 .. 200 mV", "V", (0.1, 0.15, 0.2)),
        ("100 mV .. 2 V", "V", (0.1, 1.05, 2.0)),
        ("-40 .. 85 °C", "°C", (-40.0, 22.5, 85.0)),
        ("4k7 .. 10k", "Ω", (4700.0, 7350.0, 10_000.0)),
        ("4n7 .. 10 nF", "F", (4.7e-9, 7.35e-9, 10e-9)),
        ("5 .. 5 V", "V", (5.0, 5.0, 5.0)),
        ("4.75 / 5 / 5.25 V", "V", (4.75, 5.0, 5.25)),
        ("4.75/5/5.25V", "V", (4.75, 5.0, 5.25)),
        ("4.75 V / 5 V / 5.25 V", "V", (4.75, 5.0, 5.25)),
        ("2R2 / 4R7 / 10 Ω", "Ω", (2.2, 4.7, 10.0)),
        ("-40 / 25 / 85 °C", "°C", (-40.0, 25.0, 85.0)),
        ("50 / 75 / 100 K/W", "K/W", (50.0, 75.0, 100.0)),
        ("50 K/W / 75 K/W / 100 K/W", "K/W", (50.0, 75.0, 100.0)),
        ("1.3 / 1.6 / 2", "1", (1.3, 1.6, 2.0)),
        ("½ / 1 / 2 oz", "mm", (17.5e-6, 35e-6, 70e-6)),
    ],
)
def test_a_range_has_two_ends_and_a_data_sheet_three_columns(
    text: str, unit: str, ends: tuple[float, float, float]
) -> None:
    assert read(text, unit) == pytest.approx(ends, rel=1e-12)


def test_a_decimal_prefix_leaves_no_rounding_behind() -> None:
    # As floats 10 * 1e-6 is less than 1e-5: the value would fall beside a bound it equals.
    assert read_quantity("10 µF", "F", least=1e-5).typ == 1e-5
    for written, value in (("7 %", 0.07), ("4n7", 4.7e-9), ("300 mA", 0.3), ("1.1 µs", 1.1e-6)):
        unit = {"7 %": "%", "4n7": "F", "300 mA": "A"}.get(written, "s")
        assert read_quantity(written, unit).typ == value


# ---- RKM code ----------------------------------------------------------------------------


# IEC 60062:2016, section 6 (letters R, K, M, G, L for ohms, p, n, µ, m, F for farads), as
# retold with these examples in the encyclopaedia article "RKM code". 2R2 by the same rule.
@pytest.mark.parametrize(
    ("code", "unit", "value"),
    [
        ("R47", "Ω", 0.47),
        ("4R7", "Ω", 4.7),
        ("470R", "Ω", 470.0),
        ("4K7", "Ω", 4.7e3),
        ("4k7", "Ω", 4.7e3),
        ("47K3", "Ω", 47.3e3),
        ("8K2", "Ω", 8.2e3),
        ("470K", "Ω", 470e3),
        ("4M7", "Ω", 4.7e6),
        ("15M0", "Ω", 15e6),
        ("2R2", "Ω", 2.2),
        ("100n", "F", 100e-9),
        ("4n7", "F", 4.7e-9),
        ("4µ7", "F", 4.7e-6),
        ("4p7", "F", 4.7e-12),
        # Printed on capacitors; in the standard's table, from memory.
        ("n47", "F", 470e-12),
        ("µ1", "F", 100e-9),
        ("p33", "F", 0.33e-12),
        # Colloquial, not in IEC 60062; from memory.
        ("3V3", "V", 3.3),
        ("1V8", "V", 1.8),
        ("5V0", "V", 5.0),
        ("1A5", "A", 1.5),
    ],
)
def test_a_code_is_read_as_the_standard_says(code: str, unit: str, value: float) -> None:
    assert read_quantity(code, unit).typ == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("code", "unit"),
    [
        ("k7", "Ω"),
        ("K47", "Ω"),
        ("M47", "Ω"),
        ("G1", "Ω"),
        ("k7", "Hz"),
        ("V5", "V"),
        ("L10", "Ω"),
        ("m5", "A"),
        ("1 .. k7", "Ω"),
    ],
)
def test_a_letter_comes_first_only_where_the_standard_has_it(code: str, unit: str) -> None:
    part = code.rpartition(" ")[2]
    assert refusal_of(code, unit) == f"'{part}' has no digit before its letter. Example: 0{part}."
    assert read_quantity(f"0{part}", unit).typ > 0


@pytest.mark.parametrize(
    ("text", "unit", "sign"),
    [
        ("½", "V", "½"),
        ("½ V", "V", "½"),
        ("1½ V", "V", "½"),
        ("⅓ mm", "mm", "⅓"),
        ("⅓ oz", "mm", "⅓"),
        ("5 V ± ½ %", "V", "½"),
        ("\uff15 V", "V", "\uff15"),
        ("3.\u0663 V", "V", "\u0663"),
        ("5² V", "V", "²"),
        ("10³", "Ω", "³"),
        ("2⁵ V", "V", "⁵"),
        ("Ⅻ V", "V", "Ⅻ"),
        ("③ V", "V", "③"),
        ("五 V", "V", "五"),
        ("₂ V", "V", "₂"),
    ],
)
def test_a_number_is_written_with_plain_digits(text: str, unit: str, sign: str) -> None:
    said = refusal_of(text, unit)
    assert said == f"'{text}' is written with '{sign}'. Use the digits 0 to 9, as in 0.5."


@pytest.fixture(scope="module")
def iec_oracle() -> Iterator[None]:
    """rkm_codes with the letters of the standard instead of its own wider ones."""
    set_prefs(rkm_maps=IEC60062_MAPS)
    yield
    set_prefs(rkm_maps=None)


WHOLE = st.integers(0, 999).map(str)
FRACTION = st.text("0123456789", min_size=1, max_size=4)


@pytest.mark.usefixtures("iec_oracle")
@given(WHOLE, st.sampled_from("RKkMG"), FRACTION)
def test_resistor_codes_agree_with_another_reader(whole: str, letter: str, fraction: str) -> None:
    code = f"{whole}{letter}{fraction}"
    assert read_quantity(code, "Ω").typ == pytest.approx(float(from_rkm(code)), rel=1e-12)


@pytest.mark.usefixtures("iec_oracle")
@given(WHOLE, st.sampled_from("pnµum"), FRACTION)
def test_capacitor_codes_agree_with_another_reader(whole: str, letter: str, fraction: str) -> None:
    code = f"{whole}{letter}{fraction}"
    assert read_quantity(code, "F").typ == pytest.approx(float(from_rkm(code)), rel=1e-12)


@pytest.mark.usefixtures("iec_oracle")
def test_l_marks_milliohms() -> None:
    assert read_quantity("4L7", "Ω").typ == pytest.approx(float(from_rkm("4L7")), rel=1e-12)
    assert read_quantity("4L7", "Ω").typ == pytest.approx(4.7e-3)


@pytest.mark.parametrize(
    ("code", "unit"),
    [
        # Marks on parts that are no RKM code: EIA three digits with tolerance letter (104K is
        # 100 nF ± 10 %), EIA-96 (01C is 10 kΩ, 68X is 49.9 Ω).
        ("104K", "F"),
        ("473J", "F"),
        ("01C", "Ω"),
        ("68X", "Ω"),
        # The letter marks ohms; on capacitors and inductors makers use it as a mere point.
        ("4R7", "F"),
        ("4R7", "H"),
        ("4k7", "K"),
        ("3V3", "A"),
        ("4k7 kΩ", "Ω"),
        ("4k7k2", "Ω"),
        ("4k7", "%"),
        ("4k7", "1"),
    ],
)
def test_a_code_that_does_not_fit_the_field_is_refused(code: str, unit: str) -> None:
    assert refusal_of(code, unit)


# ---- numbers with unit, against another reader -------------------------------------------

PREFIXED = st.sampled_from(
    [(p, s) for s in ("V", "A", "Ω", "F", "H", "s", "Hz") for p in UNITS[s].ladder]
)


@given(st.decimals(0, 1000, places=3), PREFIXED, st.sampled_from(["", " "]))
def test_numbers_with_prefix_and_unit_agree_with_another_reader(
    number: object, prefixed: tuple[str, str], gap: str
) -> None:
    prefix, unit = prefixed
    text = f"{number}{gap}{prefix}{unit}"
    assert read_quantity(text, unit).typ == pytest.approx(Oracle(text).real, rel=1e-12)


# ---- refused -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "unit", "says"),
    [
        ("3.3 A", "V", "A is not a unit of voltage. Give it in V."),
        ("nan", "V", "'nan' is not a number with a unit. Example: 3.3 V."),
        ("inf V", "V", "'inf V' is not a number with a unit. Example: 3.3 V."),
        ("-1 kΩ", "Ω", "'-1 kΩ' is too small. Minimum here: 0 Ω."),
        ("3,3 V", "V", "'3,3 V' has a comma in a number. Use a point, as in 3.3 V."),
        ("1" * 400, "V", "The value is 400 characters long. Write a number with its unit."),
        ("1" * 60 + " V", "V", f"'{'1' * 60} V' is not a number with a unit. Example: 3.3 V."),
        ("\x1b[31m3.3 V", "V", "The value holds characters that nobody can see. Type it again."),
        ("3\x9b31m.3 V", "V", "The value holds characters that nobody can see. Type it again."),
        ("3.3\x07 V", "V", "The value holds characters that nobody can see. Type it again."),
        ("3\x00.3 V", "V", "The value holds characters that nobody can see. Type it again."),
        ("3.3 \u202eV", "V", "The value holds characters that nobody can see. Type it again."),
        ("[/]", "V", "'[/]' is not a number with a unit. Example: 3.3 V."),
        ("[b]3.3[/b] V", "V", "'[b]3.3[/b] V' is not a number with a unit. Example: 3.3 V."),
        ("9**9**9", "V", "'**9**9' is not a unit known here. Give it in V."),
        ("9^9^9", "V", "'**9**9' is not a unit known here. Give it in V."),
        (
            "5.25 .. 4.75 V",
            "V",
            "'5.25 .. 4.75 V' runs from high to low. Write the smaller value first.",
        ),
        (
            "5.25 / 5 / 4.75 V",
            "V",
            "'5.25 / 5 / 4.75 V' runs from high to low. Write the smaller value first.",
        ),
        (
            "4.75 / 6 / 5.25 V",
            "V",
            "In '4.75 / 6 / 5.25 V' the typical value lies outside its ends. "
            "Write min / typ / max.",
        ),
        (
            "4.75 / 5.25 V",
            "V",
            "'4.75 / 5.25 V' has two values at a slash. Write min .. max, or min / typ / max.",
        ),
        ("5 V ±", "V", "'5 V ±' is not a value with its tolerance. Example: 5 V ± 5 %."),
        ("± 5 %", "V", "'± 5 %' is not a value with its tolerance. Example: 5 V ± 5 %."),
        ("5 V ± -5 %", "V", "'5 V ± -5 %' has a negative tolerance. Example: 5 V ± 5 %."),
        ("5 V ± 120 %", "V", "'5 V ± 120 %' is too small. Minimum here: 0 V."),
        ("5 V ± 1 A", "V", "A is not a unit of voltage. Give it in V."),
        ("1e400 V", "V", "'1e400 V' is out of any range. Example: 3.3 V."),
        ("1e99 V", "V", "'1e99 V' is too large. Maximum here: 1000 kV."),
        ("1e-99 V", "V", "'1e-99 V' is too small to be meant. Example: 3.3 V."),
        ("", "V", "A value is missing. Write a number with its unit."),
        (" \t\n", "V", "A value is missing. Write a number with its unit."),
        ("-300 °C", "°C", "'-300 °C' is below absolute zero. Example: 25 °C."),
        ("5 ²", "mm", "'5 ²' is written with '²'. Use the digits 0 to 9, as in 0.5."),
        ("3.3 v", "V", "'v' is not a unit known here. Give it in V."),
    ],
)
def test_what_cannot_be_meant_gets_one_clear_sentence_and_a_cure(
    text: str, unit: str, says: str
) -> None:
    assert refusal_of(text, unit) == says


@pytest.mark.parametrize(
    "text",
    [
        # Digits of other scripts and other ways of writing a number.
        "\u0663 V",
        "\uff13.\uff13 V",
        "\u2462 V",
        "\u2167 V",
        "0x10 V",
        "1_000 V",
        "1 000 V",
        "1'000 V",
        "1,000.5 V",
        "true",
        "None",
        "1/0",
        "1+1 V",
        "2*3 V",
        "(5) V",
        "5 V;",
        "5 V V",
        "V",
        "k",
        "..",
        "5 ..",
        ".. 5 V",
        "1 .. 2 .. 3 V",
        "1/2/3/4 V",
        "1 / 2 ..",
        "5 ± 5 ± 5 V",
        "±",
        "+-",
        "5 V + 5",
        "+5 -5 %",
        "5 + - 5 V",
        "5 +. -. V",
        "5 +1..2 -3 V",
        "e5",
        "1e V",
        "1e+ V",
        "-",
        "+",
        ".",
        "½½",
        "1½½ oz",
        "4kk",
        "k7k",
        "%",
        "5 %",
        "5 ppm",
        "{5} V",
        "$(5) V",
        "5 V # five",
        "\u200b5 V",
        "5\u2060 V",
        "\ud800",
        "5 V\x7f",
        "__import__('os')",
        "5 V' OR '1",
    ],
    ids=ascii,
)
def test_nothing_typed_is_evaluated_or_guessed(text: str) -> None:
    assert refusal_of(text)


def test_the_bounds_of_a_field_hold_the_whole_spread() -> None:
    assert read_quantity("1 .. 2 V", "V", least=1.0, most=2.0).high == 2.0
    with pytest.raises(Refusal, match="Minimum here: 1 V"):
        read_quantity("0.9 .. 2 V", "V", least=1.0, most=2.0)
    with pytest.raises(Refusal, match="Maximum here: 2 V"):
        read_quantity("1 .. 2.1 V", "V", least=1.0, most=2.0)
    assert read_quantity("-5 V", "V", least=-10.0).typ == -5.0


def test_the_example_of_a_refusal_can_itself_be_read() -> None:
    for unit in UNITS:
        example = refusal_of("nonsense", unit).partition("Example: ")[2].rstrip(".")
        for text in example.split(" or "):
            assert read_quantity(text, unit).is_exact


# ---- whatever is typed -------------------------------------------------------------------

GRAMMAR = st.lists(
    st.sampled_from(
        [
            "0",
            "1",
            "4",
            "7",
            "9",
            "12",
            "3.3",
            ".5",
            "5.",
            "1e3",
            "1e-9",
            "e",
            "E5",
            "-",
            "+",
            "±",
            "+-",
            "+/-",
            "..",
            "...",
            "…",
            "/",
            " / ",
            " ",
            ".",
            ",",
            "%",
            "ppm",
            "R",
            "L",
            "k",
            "K",
            "M",
            "G",
            "m",
            "µ",
            "u",
            "n",
            "p",
            "f",
            "V",
            "A",
            "Ω",
            "ohm",
            "F",
            "H",
            "W",
            "s",
            "Hz",
            "°C",
            "C",
            "K/W",
            "°C/W",
            "mil",
            "oz",
            "mAh",
            "h",
            "min",
            "bit/s",
            "baud",
            "mm",
            "mm²",
            "A²s",
            "**2",
            "^3",
            "·",
            "*",
            "½",
            "−",
            "\u0663",
            "nan",
            "inf",
            "[/]",
            "\x1b[31m",
        ]
    ),
    max_size=12,
).map("".join)
NEAR_MISSES = st.text("0123456789.eE+-±/ %kmµRVΩ°CKW²", max_size=90)


def check_answer(text: str, unit: str) -> None:
    """Either a spread in order, finite and within its unit, or one short Refusal."""
    try:
        spread = read_quantity(text, unit)
    except Refusal as refusal:
        said = str(refusal)
        assert refusal.what
        assert said.endswith(".")
        assert "\n" not in said
        assert clean(said) == said
        assert len(said) <= 300
    else:
        assert isinstance(spread, Spread)
        assert spread.low <= spread.typ <= spread.high
        assert all(math.isfinite(v) for v in (spread.low, spread.typ, spread.high))
        assert abs(spread.high) <= UNITS[unit].greatest


@settings(max_examples=deep(400))
@given(st.text(max_size=120), st.sampled_from(sorted(UNITS)))
def test_any_text_is_a_value_or_a_refusal(text: str, unit: str) -> None:
    check_answer(text, unit)


@settings(max_examples=deep(1000))
@given(st.one_of(GRAMMAR, NEAR_MISSES), st.sampled_from(sorted(UNITS)))
def test_any_mixture_of_the_notations_is_a_value_or_a_refusal(text: str, unit: str) -> None:
    check_answer(text, unit)


@pytest.mark.parametrize(
    "text",
    [
        "+" * 80,
        "+." * 40,
        "+1" + "." * 78,
        "+1" + " ." * 39,
        "1" * 80,
        "1." * 40,
        "-+1" * 26,
        "+1-" * 26,
        "+.-." * 20,
        "/" * 80,
        "1/" * 40,
        "±" * 80,
        ".. " * 26,
        "m**2*" * 16,
        "1" + "km" * 39,
        "1 " + "m*" * 39 + "m",
        "5 +" + "a " * 30 + "-",
        "\x1b[" * 500_000,
        "\x1b]" * 500_000,
        " " * 1_000_000,
        "9" * 1_000_000,
    ],
    ids=lambda text: ascii(text[:12]),
)
def test_texts_made_to_be_slow_are_answered_like_any_other(text: str) -> None:
    for unit in ("V", "°C", "%", "mm²"):
        check_answer(text, unit)
