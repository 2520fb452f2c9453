"""The output capacitor: what is left of it, where the regulator is stable, what is refused."""

from __future__ import annotations

from typing import Any

import pytest

from phases.kit import judge
from phases.kit.bounds import FAIL, MARGINAL, PASS
from phases.kit.capacitor_codes import temperature_code
from phases.kit.curves import trace
from phases.kit.inputs import Supply
from phases.kit.record import record_of
from phases.kit.refusals import Refusal
from phases.regulation.output_capacitor import CASES, DIELECTRICS, OutputCapacitor
from tests.phases.sampling import escapes

# Without spreads and losses: what is typed is what is there.
EXACT: dict[str, Any] = {
    "C": "10 µF",
    "V": "5 V",
    "dielectric": "C0G",
    "TCC": "0 %",
    "k_age": "0 %",
    "t": "1000 h",
    "ESR": "10 mΩ",
    "C_need": "4.7 .. 47 µF",
    "ESR_need": "0 .. 0.5 Ω",
    "V_R": "16 V",
}


def exact(**more: Any) -> OutputCapacitor:
    return OutputCapacitor({**EXACT, **more})


def test_the_default_set_runs_and_passes() -> None:
    judgement = judge(OutputCapacitor())
    assert judgement.verdict == PASS
    assert judgement.parts[0].what == "2.2 µF ± 10 % X7R 10 V 0805"


# ---- What is left --------------------------------------------------------------------------


def test_bias_is_straight_between_the_points_and_unknown_beyond_them() -> None:
    points = [{"V": "2 V", "left": "90 %"}, {"V": "6 V", "left": "50 %"}]

    def left(V: str) -> float:
        return judge(exact(dielectric="X7R", bias=points, V=V)).output("k_V").typ

    assert [left(V) for V in ("0 V", "1 V", "2 V", "3 V", "6 V")] == pytest.approx(
        [1.0, 0.95, 0.9, 0.8, 0.5]
    )
    beyond = judge(exact(dielectric="X7R", bias=points, V="6.1 V"))
    assert beyond.limit("capacitance") == FAIL
    assert any("ends below the voltage" in note.what for note in beyond.notes)


@pytest.mark.parametrize(
    "points",
    [
        [{"V": "5 V", "left": "60 %"}, {"V": "3 V", "left": "50 %"}],
        [{"V": "3 V", "left": "60 %"}, {"V": "5 V", "left": "70 %"}],
    ],
)
def test_a_curve_that_is_none_of_a_capacitor_is_refused(points: list[dict[str, str]]) -> None:
    with pytest.raises(Refusal, match="Voltages must rise"):
        judge(exact(dielectric="X7R", bias=points))


def test_the_usual_loss_grows_with_charge_and_falls_with_the_case() -> None:
    def left(**inputs: str) -> float:
        return exact(dielectric="X7R", **inputs).k_V.item()

    by_case = [left(case=case) for case in CASES]
    assert by_case == sorted(by_case)
    by_value = [left(C=C) for C in ("100 nF", "1 µF", "10 µF", "47 µF")]
    assert by_value == sorted(by_value, reverse=True)
    by_voltage = [left(V=V) for V in ("0 V", "1 V", "5 V", "16 V")]
    assert by_voltage == sorted(by_voltage, reverse=True)
    assert by_voltage[0] == 1
    assert left(V_R="25 V") > left(V_R="10 V")


def test_class_1_loses_nothing_under_bias() -> None:
    assert exact(V="16 V").k_V.item() == 1
    assert "Bias loss is typical" not in " ".join(note.what for note in judge(exact()).notes)


@pytest.mark.parametrize("code", DIELECTRICS)
def test_each_code_brings_its_own_change_and_ageing(code: str) -> None:
    judgement = judge(OutputCapacitor(dielectric=code, C="10 µF", V="0 V", t="1000 h"))
    figure, meaning = judgement.output("left"), temperature_code(code)
    assert (figure.low, figure.high) == pytest.approx((1 + meaning.least, 1 + meaning.most))


def test_the_four_causes_multiply() -> None:
    part = exact(
        C="10 µF",
        n="2",
        dielectric="X7R",
        TCC="-10 %",
        k_age="5 %",
        t="100000 h",
        bias=[{"V": "5 V", "left": "50 %"}],
    )
    assert part.C_eff.item() == pytest.approx(20e-6 * 0.9 * 0.5 * 0.9)
    assert part.left.item() == pytest.approx(0.9 * 0.5 * 0.9)


def test_a_young_capacitor_has_more_than_its_nominal() -> None:
    assert exact(k_age="2 %", t="10 h").k_t.item() == pytest.approx(1.04)


# ---- Which one -----------------------------------------------------------------------------


def test_the_smallest_stocked_value_that_passes_is_offered() -> None:
    pick = judge(OutputCapacitor(C_need="10 .. 100 µF", V_R="10 V", case="1210")).picks["C"]
    assert pick == "22 µF ± 10 %"
    assert judge(OutputCapacitor(C_need="4.7 µF", n="3")).picks["C"] == "4.7 µF ± 10 %"


def test_a_code_typed_by_hand_is_judged_and_drawn_as_it_was_typed() -> None:
    judgement = judge(OutputCapacitor(C="226M", case="1206", n="2"))
    assert judgement.output("C_eff").typ < 44e-6
    assert judgement.parts[0].words.startswith("2 x 22 µF ± 20 % X7R 10 V 1206")


# ---- Its limits ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("limit", "field", "passes", "marginal", "fails"),
    [
        ("capacitance", "C", "5 µF", "4.8 µF", "4.6 µF"),
        ("capacitance", "C", "44 µF", "46 µF", "48 µF"),
        ("series-resistance", "ESR", "0.4 Ω", "0.49 Ω", "0.51 Ω"),
        ("rating", "V_R", "6 V", "5.1 V", "4.9 V"),
    ],
)
def test_each_limit_passes_runs_thin_and_fails(
    limit: str, field: str, passes: str, marginal: str, fails: str
) -> None:
    for text, verdict in ((passes, PASS), (marginal, MARGINAL), (fails, FAIL)):
        assert judge(exact(**{field: text})).limit(limit) == verdict


def test_a_window_of_series_resistance_has_a_low_end_too() -> None:
    for text, verdict in (("0.2 Ω", PASS), ("0.103 Ω", MARGINAL), ("0.09 Ω", FAIL)):
        assert judge(exact(ESR=text, ESR_need="0.1 .. 1 Ω")).limit("series-resistance") == verdict
    assert exact(ESR="0.55 Ω", ESR_need="0.1 .. 1 Ω").ESR_place.item() == pytest.approx(0.5)


def test_capacitors_side_by_side_share_capacitance_and_resistance() -> None:
    part = judge(exact(n="4", ESR="0.4 Ω", ESR_need="0.05 .. 1 Ω"))
    assert part.output("C_eff").typ == pytest.approx(40e-6)
    assert part.output("ESR_all").typ == pytest.approx(0.1)


def test_one_value_asked_for_is_the_least() -> None:
    assert judge(exact(C_need="4.7 µF")).limit("capacitance") == PASS
    assert judge(exact(C_need="15 µF")).limit("capacitance") == FAIL
    assert judge(exact(ESR_need="5 mΩ")).limit("series-resistance") == FAIL


@pytest.mark.parametrize(
    ("code", "T_A", "verdict"),
    [("X5R", "-40 .. 85 °C", PASS), ("X5R", "25 .. 90 °C", FAIL), ("Z5U", "0 .. 50 °C", FAIL)],
)
def test_the_code_holds_for_its_temperatures_only(code: str, T_A: str, verdict: str) -> None:
    assert judge(exact(dielectric=code, T_A=T_A)).limit("temperature") == verdict


# ---- The ledger and the curve --------------------------------------------------------------


def test_it_takes_the_voltage_of_the_rail_and_gives_what_is_left() -> None:
    ledger = {"rail.3v3.voltage": Supply("3.2 .. 3.4 V", "ledger", "linear-regulator@3v3")}
    judgement = judge(OutputCapacitor(lookup=ledger.get, names={"rail": "3v3", "parent": "5v"}))
    given = record_of(judgement).published
    assert set(given) == {"rail.3v3.output_capacitance"}
    low = judgement.output("C_eff").low
    assert given["rail.3v3.output_capacitance"].low == pytest.approx(low)
    assert judgement.parts[0].where == "3v3 to GND, at the regulator"


def test_the_curve_falls_with_bias_to_the_least_that_is_needed() -> None:
    traced = trace(OutputCapacitor(C="10 µF ± 10 %"), OutputCapacitor.curves[0])
    assert traced is not None and traced.bound is not None
    assert list(traced.low) == sorted(traced.low, reverse=True)
    assert min(traced.bound) == pytest.approx(1e-6)


# ---- What is said --------------------------------------------------------------------------


def said(**inputs: Any) -> str:
    return " ".join(note.what for note in judge(OutputCapacitor(inputs)).notes)


def test_an_assumed_curve_and_a_poor_dielectric_are_said() -> None:
    assert "Bias loss is typical" in said()
    assert "Bias loss is typical" not in said(bias=[{"V": "5 V", "left": "60 %"}])
    assert "Loses most of its capacitance" in said(dielectric="Y5V")
    assert "exact" in said(C="10 µF")
    assert "exact" not in said(C="106K")


# ---- The worst case ------------------------------------------------------------------------


@pytest.mark.deeper
@pytest.mark.parametrize(
    "inputs",
    [
        {},
        {
            "C": "225Z",
            "dielectric": "Y5V",
            "V": "0 .. 5 V",
            "t": "1 .. 87600 h",
            "V_R": "6 .. 10 V",
            "k_age": "5 .. 8 %",
            "C_need": "0.1 .. 10 µF",
        },
        {
            "C": "106M",
            "V": "1 .. 4.9 V",
            "ageing": "compounded",
            "reference": "1 h",
            "bias": [{"V": "2 V ± 5 %", "left": "80 .. 90 %"}, {"V": "5 V", "left": "30 .. 50 %"}],
        },
    ],
    ids=["default", "everything spread", "own curve"],
)
def test_nothing_inside_the_spreads_is_worse_than_reported(inputs: dict[str, Any]) -> None:
    assert escapes(judge(OutputCapacitor(inputs))) == []


@pytest.mark.parametrize("kind", ["electrolytic", "polymer"])
def test_a_capacitor_that_is_no_ceramic_keeps_its_capacitance_and_brings_its_esr(kind: str) -> None:
    given = {"C": "47 µF ± 20 %", "V": "5 V", "V_R": "10 V", "dielectric": kind}
    judgement = judge(OutputCapacitor(given))
    assert judgement.output("k_V").low == 1.0
    assert judgement.output("ESR_all").high > 5 * judge(OutputCapacitor()).output("ESR_all").high
    assert judgement.parts[0].what == f"47 µF ± 20 % {kind} 10 V"
    assert any("polarised" in note.what for note in judgement.notes)
    # A regulator made for ceramics is not stable with an electrolytic one in the cold.
    stable = judgement.limit("series-resistance")
    assert stable == (FAIL if kind == "electrolytic" else PASS)
    assert judge(OutputCapacitor(given, T_A="-50 °C")).limit("temperature") == (
        FAIL if kind == "electrolytic" else PASS
    )


@pytest.mark.parametrize("case", ["0402", "0603"])
def test_a_loss_extrapolated_to_a_small_case_is_a_caution_and_no_fail(case: str) -> None:
    # The fit was made of 1206 and 1210; in 0402 it leaves 10 µF 6.3 V a sixth at worst.
    small = {"C": "10 µF ± 10 %", "V_R": "6.3 V", "V": "3.3 V", "case": case, "dielectric": "X5R"}
    judgement = judge(OutputCapacitor(small, C_need="1 .. 100 µF"))
    assert judgement.limit("capacitance") != FAIL
    assert any("extrapolated" in note.what for note in judgement.notes)
    curve = [{"V": "3.3 V", "left": "5 %"}]
    known = judge(OutputCapacitor(small, C_need="1 .. 100 µF", bias=curve))
    assert known.limit("capacitance") == FAIL
    assert not any("extrapolated" in note.what for note in known.notes)


def test_x5r_may_age_by_5_percent_a_decade() -> None:
    # Maximum of makers' sheets (from memory); X7R 2.5 %.
    aged = judge(OutputCapacitor(C="10 µF", dielectric="X5R", t="10000 h")).output("k_t")
    assert (aged.low, aged.typ) == pytest.approx((0.95, 0.975))
    same = judge(OutputCapacitor(C="10 µF", dielectric="X7R", t="10000 h")).output("k_t")
    assert same.low == pytest.approx(0.975)


# ---- Odd input -----------------------------------------------------------------------------


def test_units_may_be_mixed() -> None:
    mixed = exact(C="10000 nF", V="5000 mV", t="3600000 s")
    assert mixed.C_eff.item() == pytest.approx(exact().C_eff.item())


@pytest.mark.parametrize(
    ("field", "text"),
    [
        ("C", "0 F"),
        ("C", "106Q"),
        ("C", "10 µH"),
        ("V", "-1 V"),
        ("V_R", "0 V"),
        ("TCC", "-150 %"),
        ("dielectric", "X7Z"),
        ("case", "0604"),
        ("n", "0"),
        ("C_need", "100 .. 1 µF"),
    ],
)
def test_what_cannot_be_meant_is_refused_by_the_name_of_its_field(field: str, text: str) -> None:
    with pytest.raises(Refusal) as refused:
        judge(OutputCapacitor({field: text}))
    assert refused.value.where.startswith(field)
