"""Step-down converters against data sheets, application notes and text books."""

from __future__ import annotations

import math
from typing import Any

import pytest

from phases.kit import judge
from phases.regulation.step_down import StepDown
from tests.published.printed import prints_as


def converter(**inputs: str) -> StepDown:
    """At the ideal duty and with the whole inductance, the sheets' own form where not said."""
    return StepDown({"duty": "ideal", **inputs})


def micro(value: Any) -> float:
    return float(value.item()) * 1e6


def milli(value: Any) -> float:
    return float(value.item()) * 1e3


# ---- onsemi NCP3170 data sheet, pages 14 to 17, equations 3 to 21 ---------------------------

NCP3170 = {
    "V_in": "12 V",
    "V_out": "3.3 V",
    "I_out": "3 A",
    "f": "500 kHz",
    "K": "34 %",
    "L": "4.7 µH",
    "DCR": "6.73 mΩ",
    "ESR_in": "10 mΩ",
    "ESR": "5 mΩ",
    "ESL": "1 nH",
    "I_L": "0 A",
    "I_H": "1.5 A",
}


def test_ncp3170_coil() -> None:
    part = converter(**NCP3170)
    assert prints_as(part.D.item(), "0.275")
    assert micro(part.L_min) == pytest.approx(4.7, rel=0.005)  # 4.69
    assert prints_as(part.I_RMS.item(), "3.01")
    assert prints_as(part.I_PK.item(), "3.5")  # prints 3.51, of a ripple of 34 %
    assert prints_as(converter(**{**NCP3170, "L": "4.6912 µH"}).I_PK.item(), "3.51")
    assert prints_as(part.dI_L.item(), "1.02")
    assert prints_as(milli(part.P_CU), "61")


def test_ncp3170_capacitors() -> None:
    part = converter(**NCP3170)
    assert prints_as(milli(part.I_CO), "294")
    assert prints_as(part.I_CIN.item(), "1.34")
    assert milli(part.P_CIN) == pytest.approx(18, rel=0.005)  # 17.94, of 1.3395 A; it rounds first
    assert prints_as(milli(part.V_jump), "7.5")


def test_ncp3170_series_inductance_of_the_output_capacitor() -> None:
    # The sheet goes on with a ripple of 1.01 A (once misprinted as 1.1 A).
    rounded = converter(**{**NCP3170, "L": str(3.3 * 8.7 / (12 * 500e3 * 1.01))})
    assert rounded.dI_L.item() == pytest.approx(1.01)
    assert prints_as(milli(rounded.V_ESL_on), "1.84")
    assert milli(rounded.V_ESL_off) == pytest.approx(0.7, rel=0.005)


# ---- Other sheets ---------------------------------------------------------------------------


@pytest.mark.parametrize(("ripple", "printed"), [(0.6, "1.52"), (0.36, "2.53")])
def test_rohm_inductance_from_5_to_1_2_v(ripple: float, printed: str) -> None:
    # ROHM BD91361MUV page 15 and BD9123MUV page 16: 1 MHz, ripple 0.6 A and 0.36 A.
    part = converter(V_in="5 V", V_out="1.2 V", I_out="1 A", K=str(ripple * 100) + " %", f="1 MHz")
    assert prints_as(micro(part.L_min), printed)


def test_tps56221_prints_its_inductance_for_another_ripple_than_it_says() -> None:
    # TI TPS56221 SLUSAH5B page 16: 14 V to 1 V, 25 A, 500 kHz. It says K = 0.3 and prints 186 nH,
    # which is K = 0.4; its own formula with 0.3 gives 247.6 nH.
    said = {"V_in": "14 V", "V_out": "1 V", "I_out": "25 A", "f": "500 kHz", "L": "320 nH"}
    assert converter(**said, K="30 %").L_min.item() * 1e9 == pytest.approx(247.6, rel=1e-3)
    assert prints_as(converter(**said, K="40 %").L_min.item() * 1e9, "186")
    part = converter(**said)
    assert prints_as(part.dI_L.item(), "5.8")
    assert prints_as(part.I_RMS.item(), "25.06")


def test_tps56221_overshoot_is_twice_that_of_slva477() -> None:
    # The same page: 10 A off, 100 mV, 320 µF. SLVA477B has half of it.
    said = {
        "V_in": "14 V",
        "V_out": "1 V",
        "I_L": "15 A",
        "I_H": "25 A",
        "L": "320 nH",
        "dV_step": "100 mV",
    }
    assert prints_as(micro(converter(**said, overshoot="twice first order").C_over), "320")
    assert micro(converter(**said, overshoot="first order").C_over) == pytest.approx(160)


def test_tps54231_at_28_v() -> None:
    # TI TPS54231 SLUS851C page 13: 3.3 V, 2 A, 570 kHz (from memory), K 0.3, 10 µH. Its currents
    # have the coil at 0.8 of its inductance.
    part = converter(
        V_in="28 V",
        V_out="3.3 V",
        I_out="2 A",
        f="570 kHz",
        K="30 %",
        L="10 µH",
        counted="0.8 of it",
    )
    assert prints_as(micro(part.L_min), "8.5")
    assert prints_as(part.I_RMS.item(), "2.008")
    assert part.I_PK.item() == pytest.approx(2.32, abs=0.005)


def test_tps5430_at_19_8_v() -> None:
    # TI TPS5430 SLVS632 and SLVS632K: 10.8 to 19.8 V, 5 V, 3 A, 500 kHz, K 0.2, 15 µH; input
    # capacitor 10 µF, 2 mΩ (worked back from 156 mV).
    said = {
        "V_in": "10.8 .. 19.8 V",
        "V_out": "5 V",
        "I_out": "3 A",
        "f": "500 kHz",
        "K": "20 %",
        "C_in": "10 µF",
        "ESR_in": "2 mΩ",
    }
    judged = judge(converter(**said, L="15 µH"))
    assert judged.output("L_min").high * 1e6 == pytest.approx(12.5, rel=0.005)
    assert prints_as(judged.output("V_CIN").high * 1e3, "156")
    assert judged.output("I_RMS").high == pytest.approx(3.003, rel=0.001)
    # Its peak has the coil at 0.8 of its inductance: 3.31 A; the whole of it gives 3.249 A.
    assert judged.output("I_PK").high == pytest.approx(3.2492, abs=1e-4)
    less = judge(converter(**said, L="15 µH", counted="0.8 of it"))
    assert prints_as(less.output("I_PK").high, "3.31")
    # A tolerance of 20 % says the same.
    spread = judge(converter(**said, L="15 µH ± 20 %"))
    assert spread.output("I_PK").high == pytest.approx(less.output("I_PK").high)
    # It takes the input capacitor's current at the worst duty, 1.5 A; this input stays below 0.5.
    assert judged.output("I_CIN_worst").typ == pytest.approx(1.5)
    assert judged.output("I_CIN").high == pytest.approx(3 * math.sqrt(5 * 5.8) / 10.8)


def test_tps62933f_input_capacitor() -> None:
    # TI TPS62933F SLUSEA4D: 24 V to 5 V, 3 A, 500 kHz, 2 x 3.45 µF effective: 1.22 A. Of the
    # ripple it prints 222 mV, where 0.25 I / (C f) is 217 mV.
    part = converter(
        V_in="24 V", V_out="5 V", I_out="3 A", f="500 kHz", C_in="6.9 µF", ESR_in="0 Ω"
    )
    assert prints_as(part.I_CIN.item(), "1.22")
    assert milli(part.V_CIN) == pytest.approx(217.39, abs=0.01)


def test_an_open_notebook_at_36_v() -> None:
    # Open-hardware design notebook (LieBtrau, garage-door-rke): 36 V to 5 V, 1 A, 500 kHz, K 0.2:
    # 43 µH; input capacitor 20 µF, 50 mΩ: 75 mV.
    part = converter(
        V_in="36 V", V_out="5 V", I_out="1 A", f="500 kHz", K="20 %", C_in="20 µF", ESR_in="50 mΩ"
    )
    assert prints_as(micro(part.L_min), "43")
    assert prints_as(milli(part.V_CIN), "75")


# ---- TI TPS54540 SLVSBX7, pages 22 to 32 ----------------------------------------------------

TPS54540 = {
    "V_in": "42 V",
    "V_out": "3.3 V",
    "I_out": "5 A",
    "f": "400 kHz",
    "K": "30 %",
    "L": "4.8 µH",
    "I_L": "1.25 A",
    "I_H": "3.75 A",
    "dV_step": "0.13 V",
    "dV": "16 mV",
    "C_in": "18.8 µF",
    "ESR_in": "0 Ω",
}


def test_tps54540_coil() -> None:
    part = converter(**TPS54540)
    assert micro(part.L_min) == pytest.approx(5.1, rel=0.007)  # 5.07
    assert prints_as(part.dI_L.item(), "1.58")
    assert prints_as(part.I_RMS.item(), "5.02")
    assert prints_as(part.I_PK.item(), "5.79")


def test_tps54540_output_capacitor() -> None:
    part = converter(**TPS54540)
    # Prints 95 µF (96.2), 68 µF, 30 µF (30.9), 10 mΩ, 460 mA (457).
    assert micro(part.C_step) == pytest.approx(96.154, abs=1e-3)
    # Equation 31 is printed with 5.13 and 5 V, which gives 46 µF; 3.43 and 3.3 V give its answer.
    assert prints_as(micro(part.C_over), "68")
    assert prints_as(micro(part.C_ripple), "30")
    assert prints_as(milli(part.ESR_max), "10")
    assert milli(part.I_CO) == pytest.approx(460, rel=0.01)


def test_tps54540_input_ripple_at_the_worst_duty() -> None:
    # 18.8 µF at 50 % duty (derived): 166 mV.
    assert milli(converter(**TPS54540).V_CIN) == pytest.approx(166.22, abs=0.01)


def test_tps54540_losses_at_12_v() -> None:
    # Equations 35 and 49 to 53: diode 0.52 V, 300 pF; 92 mΩ; rise time 4.92 ns; 3 nC; 146 µA.
    part = converter(
        **{**TPS54540, "V_in": "12 V"},
        rectifier="diode",
        V_F="0.52 V",
        C_j="300 pF",
        R_hi="92 mΩ",
        t_r="4.92 ns",
        Q_G="3 nC",
        I_Q="146 µA",
    )
    assert part.P_low.item() == pytest.approx(1.9, rel=0.005)
    assert milli(part.P_COND) == pytest.approx(633, rel=0.001)
    assert milli(part.P_SW) == pytest.approx(118, rel=0.004)
    assert prints_as(milli(part.P_GD), "14")
    assert milli(part.P_Q) == pytest.approx(1.752)  # prints 1.8 mW


def test_tps54020_with_a_coil_a_little_smaller_than_computed() -> None:
    # TI TPS54020 SLVSB10F: 10 A, K 0.3, computed 1.07 µH, fitted 1.0 µH: 10.04 A and 11.6 A. The
    # ripple follows the coil alone: any input will do whose coil is 1.07 µH.
    given = {
        "V_in": "12 V",
        "V_out": "1.8 V",
        "I_out": "10 A",
        "K": "30 %",
        "f": str(1.8 * 10.2 / (12 * 0.3 * 10 * 1.07e-6)),
    }
    part = converter(**given, L="1 µH")
    assert prints_as(micro(part.L_min), "1.07")
    assert prints_as(part.I_RMS.item(), "10.04")
    assert prints_as(part.I_PK.item(), "11.6")


def test_tps54531_soft_start() -> None:
    # TI TPS54531 SLVSBI5 page 15: 10 nF, 0.8 V, 2 µA: 4 ms.
    assert milli(converter(C_SS="10 nF", V_REF="0.8 V", I_SS="2 µA").t_SS) == pytest.approx(4)


# ---- Text books -----------------------------------------------------------------------------


def test_a_classroom_converter() -> None:
    # forum.allaboutcircuits.com thread 60694 (inputs read, answers derived): 20 V, duty 0.4,
    # 20 kHz, 400 µH, 20 Ω, ripple 37.5 mV.
    part = converter(V_in="20 V", V_out="8 V", I_out="400 mA", f="20 kHz", L="400 µH", dV="37.5 mV")
    assert part.D.item() == pytest.approx(0.4)
    assert micro(part.L_continuous) == pytest.approx(300)
    assert micro(part.C_ripple) == pytest.approx(100)
    assert (milli(part.I_PK), milli(part.I_valley)) == pytest.approx((700, 100))


def test_hart_example_6_1() -> None:
    # Hart, Power Electronics, example 6-1 (from memory): 50 V, duty 0.4, 400 µH, 100 µF, 20 Ω,
    # 20 kHz: 1.75 A, 0.25 A, 0.469 %.
    part = converter(
        V_in="50 V", V_out="20 V", I_out="1 A", f="20 kHz", L="400 µH", C_out="100 µF", ESR="0 Ω"
    )
    assert (part.I_PK.item(), part.I_valley.item()) == pytest.approx((1.75, 0.25))
    assert prints_as(part.ripple_share.item() * 100, "0.469")


def test_the_two_ripples_of_the_output_capacitor_add_or_lie_at_right_angles() -> None:
    # SLVA477B adds them; NCP3063 and TPS54540 have them as a root of squares (derived).
    said = {
        "V_in": "10 V",
        "V_out": "5 V",
        "f": "250 kHz",
        "L": "10 µH",
        "C_out": "50 µF",
        "ESR": "10 mΩ",
    }
    part = converter(**said)
    assert part.dI_L.item() == pytest.approx(1.0)
    assert milli(part.V_ripple) == pytest.approx(20)
    assert milli(converter(**said, ripple_form="root").V_ripple) == pytest.approx(10 * math.sqrt(2))


def test_slva477_duty_with_efficiency() -> None:
    # SLVA477B: D = V_OUT / (V_IN,max efficiency) (derived: 12 V to 3.3 V at 85 %).
    part = converter(V_in="12 V", V_out="3.3 V", duty="with efficiency", eta_D="85 %", L="10 µH")
    assert part.D.item() == pytest.approx(3.3 / (12 * 0.85))


def test_slva477_greatest_output_of_a_given_part() -> None:
    # SLVA477B: the current limit less half the ripple (derived from the NCP3170 figures).
    part = converter(**NCP3170, I_lim="4 A")
    assert part.I_max.item() == pytest.approx(4 - part.dI_L.item() / 2)


def test_input_capacitor_current_with_the_coils_ripple() -> None:
    # NCP3170, equation 10 in the long form (derived): √(0.275 (9 · 0.725 + 1.018² / 12)).
    expected = math.sqrt(0.275 * (9 * 0.725 + (3.3 * 8.7 / (12 * 500e3 * 4.7e-6)) ** 2 / 12))
    assert converter(**NCP3170).I_CIN_ripple.item() == pytest.approx(expected)
