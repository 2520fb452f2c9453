"""Feedback dividers against data sheets and application notes."""

from __future__ import annotations

import math

import pytest

from phases.kit import judge
from phases.regulation.feedback_divider import FeedbackDivider
from tests.published.printed import prints_as


def divider(**inputs: str) -> FeedbackDivider:
    return FeedbackDivider(inputs)


def test_tps7a25_5_v_from_1_24_v() -> None:
    # TI TPS7A25, adjustable device feedback resistors: ratio 3.03, R2 at most 1.24 MΩ (bias
    # current 10 nA), fitted 3.6 MΩ and 1.18 MΩ: 5.023 V. It prints R1 = 3.64 MΩ, which its own
    # formula does not give: 3.578 MΩ.
    part = divider(V_out="5 V", V_REF="1.24 V", R1="3.6 MΩ", R2="1.18 MΩ")
    assert prints_as(part.ratio.item(), "3.03")
    assert prints_as(part.V_set.item(), "5.023")
    assert part.R1_ideal.item() == pytest.approx(3.5781e6, rel=1e-4)
    biased = divider(V_out="5 V", V_REF="1.24 V", R1="3.6 MΩ", R2="1.18 MΩ", I_FB="10 nA")
    assert prints_as(biased.R2_max.item() / 1e6, "1.24")
    assert biased.R_max.item() == pytest.approx(5e6)


def test_mcp16367_takes_the_value_that_is_nearest_by_ratio() -> None:
    # Microchip MCP16367/8/9 section 8.1: 31.25 kΩ over 10 kΩ for 3.3 V from 0.8 V; it picks
    # 31.6 kΩ of E96. 30.9 kΩ is as far in ohms, but farther by ratio.
    open_top = divider(V_out="3.3 V", V_REF="0.8 V", R2="10 kΩ")
    assert judge(open_top).output("R1_ideal").typ == pytest.approx(31.25e3)
    assert judge(open_top).picks["R1"] == "31.6 kΩ ± 1 %"
    for R1, printed in (("31.6 kΩ", "3.328"), ("30.9 kΩ", "3.272")):
        part = divider(V_out="3.3 V", V_REF="0.8 V", R1=R1, R2="10 kΩ")
        assert prints_as(part.V_set.item(), printed)


@pytest.mark.parametrize("tol", ["0.1 %", "0.5 %", "1 %", "2 %", "5 %"])
@pytest.mark.parametrize("reference", ["0.8 V", "0.8 V ± 0.5 %", "0.8 V ± 1 %", "0.8 V ± 2 %"])
def test_mcp16367_whatever_the_tolerances(tol: str, reference: str) -> None:
    judged = judge(divider(V_out="3.3 V", V_REF=reference, R2="10 kΩ", tol=tol))
    assert judged.picks["R1"].startswith("31.6 kΩ")


def test_tps54824_1_8_v_from_0_6_v() -> None:
    # TI TPS54824 SLVSDC9B: 12.08 kΩ over 6.04 kΩ; it picks 12.1 kΩ. The output with it: derived.
    judged = judge(divider(V_out="1.8 V", V_REF="0.6 V", R2="6.04 kΩ"))
    assert prints_as(judged.output("R1_ideal").typ / 1e3, "12.08")
    assert judged.picks["R1"] == "12.1 kΩ ± 1 %"
    assert prints_as(judged.output("V_set").typ, "1.802")


@pytest.mark.parametrize(
    ("V_out", "ideal", "picked"),
    [
        ("2.5 V", 364e3, "365 kΩ"),
        ("3.3 V", 509.6e3, "511 kΩ"),
        ("3.6 V", 564.2e3, "562 kΩ"),
        # The sheet lists 806 kΩ for 5 V; nearest to 819 kΩ in E96 is 825 kΩ.
        ("5 V", 819e3, "825 kΩ"),
    ],
)
def test_tps63802_top_resistors_over_91_k(V_out: str, ideal: float, picked: str) -> None:
    # TI TPS63802 and TPS631010 data sheets, table of top resistors; feedback 0.5 V.
    judged = judge(divider(V_out=V_out, V_REF="0.5 V", R2="91 kΩ"))
    assert judged.output("R1_ideal").typ == pytest.approx(ideal)
    assert judged.picks["R1"] == f"{picked} ± 1 %"


def test_snvscu9a_accuracy_table() -> None:
    # TI SNVSCU9A, accuracy table: reference 0.594 / 0.600 / 0.604 V, two resistors of 0.1 % as a
    # root sum of squares at full gain, load regulation + 0.13 %. Full gain means an output far
    # above the reference: here of a hundredth of it, since no output above 60 V is sized.
    part = divider(V_out="60 V", V_REF="5.94 / 6 / 6.04 mV", tol="0.1 %", dV_reg="0 / 0 / 0.13 %")
    reference = judge(part).output("dV_REF")
    assert (reference.low, reference.high) == pytest.approx((-0.01, 0.00666667))
    assert prints_as(part.dR_rss.item() * 100, "0.14")
    assert prints_as(part.error_low.item() * 100, "-1.14")
    assert part.error_high.item() * 100 == pytest.approx(0.94, abs=0.005)
    assert prints_as(part.error_centred.item() * 100, "1.04")
    assert prints_as(part.dV_REF_centred.item() * 100, "0.83")


def test_an_lm317_type_needs_5_2_ma_through_240_ohm() -> None:
    # NEC µPC317 data sheet: 1.25 V over 240 Ω.
    part = divider(V_out="5 V", V_REF="1.25 V", R1="720 Ω", R2="240 Ω")
    assert prints_as(part.I_R.item() * 1e3, "5.2")


def test_renesas_worst_case_and_the_first_order() -> None:
    # Renesas REJ03G1782 page 17, its formula at 1.8 V from 0.6 V, all of 1 % (derived).
    judged = judge(divider(V_out="1.8 V", V_REF="0.6 V ± 1 %", R1="20 kΩ ± 1 %", R2="10 kΩ ± 1 %"))
    error = judged.output("error")
    assert error.high * 100 == pytest.approx(2.36027, abs=1e-5)
    assert error.low * 100 == pytest.approx(-2.30693, abs=1e-5)
    assert judged.output("error_first").typ * 100 == pytest.approx(2.33333, abs=1e-5)
    # Root sum of squares, TI SNVSCU9A style (derived): √(1 + 2 (2/3)²) %.
    assert judged.output("error_rss").typ * 100 == pytest.approx(math.sqrt(1 + 8 / 9))


@pytest.mark.parametrize(
    ("R1", "R2", "expected"),
    [
        ("10.2 kΩ", "1.96 kΩ", 4.9633),  # TI TPS54531 SLVSBI5 page 11: prints 4.96 V
        ("31.6 kΩ", "10.2 kΩ", 3.2784),  # TI TPS54540 SLVSBX7 page 22, schematic (derived)
    ],
)
def test_outputs_of_fitted_dividers_at_0_8_v(R1: str, R2: str, expected: float) -> None:
    assert divider(V_REF="0.8 V", R1=R1, R2=R2).V_set.item() == pytest.approx(expected, abs=5e-5)


def test_three_factors_of_a_tenth_of_a_per_cent() -> None:
    # Helfrick and Cooper, Modern Electronic Instrumentation, example 1-13: 0.3 %; exact 0.3004 %.
    # An output far above the reference is V_REF R1 / R2.
    judged = judge(
        divider(V_out="20 V", V_REF="2 mV ± 0.1 %", R1="9.999 MΩ ± 0.1 %", R2="1 kΩ ± 0.1 %")
    )
    assert judged.output("error").high * 100 == pytest.approx(0.3004, abs=1e-4)
    assert judged.output("error_first").typ * 100 == pytest.approx(0.3, abs=1e-4)
