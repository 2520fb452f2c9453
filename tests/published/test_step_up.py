"""Step-up converters against data sheets and application notes."""

from __future__ import annotations

import math
from typing import Any

import pytest

from phases.kit import judge
from phases.kit.bounds import FAIL, PASS
from phases.regulation.step_up import StepUp
from tests.published.printed import prints_as

# Without a loss that is not given, as the sheets have it.
NO_LOSS = {"DCR": "0 Ω", "V_SW": "0 V", "V_F": "0 V", "ESR": "0 Ω"}


def converter(**inputs: str) -> StepUp:
    return StepUp({**NO_LOSS, **inputs})


def milli(value: Any) -> float:
    return float(value.item()) * 1e3


def micro(value: Any) -> float:
    return float(value.item()) * 1e6


# ---- TI SLVS497E, page 13 (the same figures in SLVS849A) ------------------------------------

SLVS497E = {
    "V_in": "3.3 V",
    "V_out": "10 V",
    "I_out": "300 mA",
    "V_SW": "0.5 V",
    "V_F": "0.8 V",
    "f": "1.6 MHz",
    "L": "4.2 µH",
}


def test_slvs497e_duty_and_currents() -> None:
    part = converter(**SLVS497E)
    assert prints_as(part.D.item(), "0.73")
    assert milli(part.dI_L) == pytest.approx(304, rel=0.005)  # 303.4
    # It goes on with 0.73: 1.11 A and 1.26 A; the duty not rounded gives 1.104 A and 1.255 A.
    assert part.I_L.item() == pytest.approx(1.11, abs=0.01)
    assert part.I_PK.item() == pytest.approx(1.26, rel=0.005)


@pytest.mark.parametrize(("limit", "verdict"), [("1.6 A", PASS), ("0.96 A", FAIL)])
def test_slvs497e_peak_against_the_limit_of_two_parts(limit: str, verdict: str) -> None:
    # The two current limits that the sheet states, the least of each.
    assert judge(converter(**SLVS497E, I_lim=limit)).limit("current-limit") == verdict


# ---- Other sheets ---------------------------------------------------------------------------


def test_mp1527_right_half_plane_zero() -> None:
    # MPS MP1527 Rev 1.8 page 12: 5 to 12 V, 500 mA, 4.7 µH: 141 kHz.
    part = converter(V_in="5 V", V_out="12 V", I_out="500 mA", L="4.7 µH")
    assert prints_as(milli(part.f_RHP) / 1e6, "141")


def test_tps61170_ripple_and_max_output_current() -> None:
    # TI SLVS789C page 15, equations 3 and 4: 5 to 12 V, 10 µH, diode 0.2 V; 1.2 MHz and 0.96 A from
    # memory. Its ripple is 245.9 mA (derived). It prints 300 mA and no efficiency: at 85 % its own
    # equation gives 296.5 mA, with the efficiency in the ripple too it is less.
    said = {"V_in": "5 V", "V_out": "12 V", "L": "10 µH", "f": "1.2 MHz", "I_lim": "0.96 A"}
    ripple = milli(converter(**said, V_F="0.2 V").dI_L)
    assert ripple == pytest.approx(245.9, abs=0.05)
    most = milli(converter(**said, duty="efficiency", eta_D="85 %").I_max)
    assert (960 - ripple / 2) * 5 * 0.85 / 12 == pytest.approx(296.5, abs=0.05)
    assert 0.96 * 296.5 < most < 296.5


def test_a_student_report_by_slva372() -> None:
    # Public report (e3-smps, 2018), after SLVA372: 8 to 20 V at 90 %: D 0.64; from
    # 10 V, 0.22 A of ripple at 250 kHz: about 100 µH (90.9).
    assert prints_as(
        converter(V_in="8 V", V_out="20 V", duty="efficiency", eta_D="90 %").D.item(), "0.64"
    )
    part = converter(V_in="10 V", V_out="20 V", f="250 kHz", L="90.909 µH")
    assert part.dI_L.item() == pytest.approx(0.22, rel=1e-4)


def test_slva372_from_3_to_5_v() -> None:
    # SLVA372, equations 1 to 12 (derived): η 0.85, 1.2 MHz, 2.2 µH, 50 mV, 10 mΩ, limit 1 A.
    part = converter(
        V_in="3 V",
        V_out="5 V",
        I_out="0.5 A",
        duty="efficiency",
        eta_D="85 %",
        f="1.2 MHz",
        L="2.2 µH",
        dV="50 mV",
        ESR="10 mΩ",
        I_lim="1 A",
    )
    assert part.D.item() == pytest.approx(0.49)
    assert milli(part.dI_L) == pytest.approx(556.8, abs=0.05)
    assert part.I_PK.item() == pytest.approx(1.2588, abs=5e-5)
    assert micro(part.C_ripple) == pytest.approx(4.083, abs=5e-4)
    assert milli(part.V_ESR) == pytest.approx(12.59, abs=5e-3)
    assert milli(part.I_max) == pytest.approx(368.0, abs=0.05)
    assert judge(part).limit("current-limit") == FAIL
    # Its right-half-plane zero at the ideal duty, 260.4 kHz.
    ideal = converter(V_in="3 V", V_out="5 V", I_out="0.5 A", L="2.2 µH")
    assert ideal.f_RHP.item() / 1e3 == pytest.approx(260.4, abs=0.05)


@pytest.mark.parametrize(
    ("V_in", "peak", "for_300_mA"), [("2.5 V", 1.4302, 1.616), ("4.2 V", 1.1286, 1.886)]
)
def test_tps63000_buck_boost(V_in: str, peak: float, for_300_mA: float) -> None:
    # TI SLVS520B, equations 3 to 6 (derived): 3.3 V, 0.8 A, 1.25 MHz, 2.2 µH, efficiency 0.8. For
    # its 0.3 A of ripple it asks for 1.886 µH (buck) and 1.616 µH (boost) and fits 2.2 µH.
    said = {"V_out": "3.3 V", "I_out": "0.8 A", "f": "1.25 MHz", "eta_D": "80 %"}
    part = converter(kind="buck-boost", V_in=V_in, L="2.2 µH", **said)
    assert part.I_PK.item() == pytest.approx(peak, abs=5e-5)
    fitted = converter(kind="buck-boost", V_in=V_in, L=f"{for_300_mA} µH", **said)
    assert fitted.dI_L.item() == pytest.approx(0.3, rel=5e-4)


def test_critical_inductance_is_that_of_the_text_books() -> None:
    # D (1 - D)² R / (2 f), as in the text books (from memory).
    part = converter(V_in="6 V", V_out="12 V", I_out="1 A", f="100 kHz")
    assert micro(part.L_continuous) == pytest.approx(0.5 * 0.25 * 12 / 200e3 * 1e6)


def test_capacitor_currents_are_those_of_the_text_books() -> None:
    # From memory: output I √(D / (1 - D)) where the ripple is small, input ΔI / √12.
    part = converter(V_in="6 V", V_out="12 V", I_out="1 A", L="10 mH")
    assert part.I_CO.item() == pytest.approx(1.0, rel=1e-3)
    assert part.I_CIN.item() == pytest.approx(part.dI_L.item() / math.sqrt(12))
