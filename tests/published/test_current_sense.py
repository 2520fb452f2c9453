"""Current sense against amplifier and monitor data sheets and support threads of their makers."""

from __future__ import annotations

from typing import Any

import pytest

from phases.regulation.current_sense import CurrentSense
from tests.published.printed import prints_as

# Without an error that is not given.
NO_ERROR = {
    "tol_R": "0 %",
    "TCR": "0 ppm",
    "eps_G": "0 %",
    "eps_L": "0 %",
    "V_OS": "0 V",
    "TC_OS": "0 V",
    "CMR": "0 ppm",
    "PSR": "0 ppm",
    "V_bot": "0 V",
    "V_top": "0 V",
    "V_REF": "5 V",
    "V_S": "5 V",
    "E_ADC": "0",
}


def sensed(**inputs: Any) -> CurrentSense:
    return CurrentSense({**NO_ERROR, **inputs})


def milli(value: Any) -> float:
    return float(value.item()) * 1e3


def micro(value: Any) -> float:
    return float(value.item()) * 1e6


def per_cent(value: Any) -> float:
    return float(value.item()) * 1e2


def test_ina225_shunt_for_10_a() -> None:
    # TI SBOS728A section 7.3.1, tables 7-1 and 7-2: 10 A, 4 V of output, gain 25: 160 mV, 16 mΩ,
    # 1.6 W; offset of 150 µV (worked back): "approximately 0.1 %" (0.094).
    part = sensed(I_FS="10 A", V_S="4 V", G="25", R_S="16 mΩ", V_OS="150 µV")
    assert prints_as(milli(part.V_DIFF), "160")
    assert prints_as(milli(part.R_max), "16")
    assert prints_as(part.P.item(), "1.6")
    assert prints_as(milli(part.V_FS), "160")
    assert per_cent(part.eps) == pytest.approx(0.09375)
    assert prints_as(per_cent(part.eps), "0.1")


def test_ina240_total_error_as_a_root_of_squares() -> None:
    # TI SBOS662C, total error: parts of the offset 5, 12.1 and 5 µV, 10 mV at the shunt (worked
    # back): 14 µV, 0.14 %; with 0.05 % of gain and 0.01 % of linearity 0.15 %. The middle part is
    # 48 V away from the test condition at 132 dB (0.2512 µV/V).
    offset = {
        "I_FS": "1 A",
        "R_S": "10 mΩ",
        "V_OS": "5 µV",
        "V_bus": "60 V",
        "V_test": "12 V",
        "CMR": f"{10 ** (-132 / 20) * 1e6} ppm",
        "PSR": "10 ppm",
        "V_S": "5.5 V",
    }
    assert prints_as(
        micro(sensed(**{**offset, "V_OS": "0 V", "PSR": "0 ppm"}).V_off) + 0.05, "12.1"
    )
    assert prints_as(per_cent(sensed(**offset).eps_rss) * 100, "14.0")  # of 10 mV: 14.0 µV
    assert prints_as(per_cent(sensed(**offset).eps_rss), "0.14")
    whole = per_cent(sensed(**offset, eps_G="0.05 %", eps_L="0.01 %").eps_rss)
    assert prints_as(whole, "0.15")
    # Added up instead, as the worst case: 22.1 µV and 0.281 %.
    assert micro(sensed(**offset).V_off) == pytest.approx(22.1, abs=0.05)
    worst = per_cent(sensed(**offset, eps_G="0.05 %", eps_L="0.01 %").eps)
    assert worst == pytest.approx(0.281, abs=5e-4)


@pytest.mark.parametrize(
    ("offset", "gain", "amps", "output"),
    [("20 µV", "10", "20", "200"), ("10 µV", "50", "10", "500"), ("8 µV", "200", "8", "1600")],
)
def test_ina241_offset_is_at_the_input(offset: str, gain: str, amps: str, output: str) -> None:
    # TI support thread 1204436: 1 A, 1 mΩ: 20 mA and 200 µV; 10 mA and 500 µV; 8 mA and 1600 µV.
    part = sensed(I_FS="1 A", R_S="1 mΩ", V_OS=offset, G=gain)
    assert prints_as(milli(part.I_off), amps)
    assert prints_as(micro(part.V_zero), output)


def test_ina220_errors_one_after_the_other() -> None:
    # TI support thread 492251: 10 A, 0.1 mΩ, 100 µV, 0.04 %, 1 %: it chains them to 11.11444 A and
    # counts the gain error twice. The plain sum leaves products of two causes out.
    part = sensed(I_FS="10 A", R_S="0.1 mΩ", V_OS="100 µV", eps_G="0.04 %", eps_L="1 %")
    assert milli(part.V_FS) == pytest.approx(1.0)
    assert per_cent(part.eps) == pytest.approx(11.04)
    chained = (10 + part.I_off) * (1 + part.eps_G) * (1 + part.eps_L)
    assert chained.item() == pytest.approx(11.11444, abs=1e-5)


def test_ina226_steps() -> None:
    # Electronics forum thread 410336: 5 A in 15 bits, 200 mW: 40 mV, 8 mΩ, 152 µA (152.59), four
    # of them 610 µA. A monitor is an amplifier of gain 1 in front of its own reference.
    part = sensed(I_FS="5 A", R_S="8 mΩ", G="1", V_REF="40 mV", N="15", E_ADC="4")
    assert prints_as(milli(part.P), "200")
    assert prints_as(milli(part.V_FS), "40")
    assert prints_as(milli(part.R_max), "8")
    assert prints_as(micro(part.I_LSB), "152")
    assert prints_as(micro(part.eps) * 5, "610")  # of 5 A


def test_max471_and_ref20_shunts() -> None:
    # Maxim MAX471/472 page 10: 10 A, 50 mV: 5 mΩ. TI SBOS600E section 10: 25 mV at 2.5 A: 10 mΩ.
    assert prints_as(milli(sensed(I_FS="10 A", G="1", V_REF="50 mV").R_max), "5")
    both = sensed(I_FS="2.5 A", G="1", V_REF="50 mV", both="yes")
    assert prints_as(milli(both.R_max), "10")


def test_ltc6103_scale() -> None:
    # LTC6103 page 9, figure 3b: 10 mΩ with 7.5 kΩ over 301 Ω: 250 mV an ampere (249.2). Its other
    # range, printed with the same figure, is ten times that (LTC6101 prints it right).
    part = sensed(I_FS="1 A", R_S="10 mΩ", G=str(7500 / 301))
    assert milli(part.V_out) == pytest.approx(250, rel=0.005)
    assert milli(sensed(I_FS="1 A", R_S="100 mΩ", G=str(7500 / 301)).V_out) > 2400


def test_a_square_of_copper_in_the_path_of_a_milliohm() -> None:
    # Common practice: 0.5 mΩ a square of outer copper, + 50 % (derived).
    part = sensed(I_FS="1 A", R_S="1 mΩ", kelvin="no", squares="1", R_sq="0.5 mΩ")
    assert per_cent(part.eps) == pytest.approx(50)
