"""Linear regulators against the worked examples of data sheets."""

from __future__ import annotations

import pytest

from phases.kit import judge
from phases.kit.bounds import FAIL, MARGINAL
from phases.regulation.linear_regulator import LinearRegulator
from tests.published.printed import prints_as

# The sheets compute for their own test board.
SHEET = {"k_board": "1"}


def regulator(**inputs: str) -> LinearRegulator:
    return LinearRegulator({**SHEET, **inputs})


def test_lt1763_4_to_6_v_in_3_3_v_at_250_ma() -> None:
    # Linear Technology LT1763, thermal considerations. P 0.71 W; the sheet goes on with the
    # rounded 0.71 W to a rise of 53.3 K and a junction at 103.3 °C. Unrounded: 52.9 K, 102.9 °C.
    judgement = judge(
        regulator(
            V_in="4 .. 6 V",
            V_out="3.3 V",
            I_out="250 mA",
            I_GND="5 mA",
            theta_JA="75 K/W",
            T_A="50 °C",
        )
    )
    assert prints_as(judgement.output("P_D").high, "0.71")
    assert judgement.output("T_J").high == pytest.approx(102.875)
    assert judgement.output("T_J").high == pytest.approx(103.3, rel=0.005)


def test_mic5219_greatest_dissipation_at_25_c() -> None:
    # Microchip MIC5219, DS20006021A page 14: 220 K/W, 455 mW.
    part = regulator(theta_JA="220 K/W", T_A="25 °C", T_Jmax="125 °C")
    assert prints_as(part.P_Dmax.item() * 1e3, "455")


@pytest.mark.parametrize(
    ("V_out", "I_out", "I_GND", "printed"),
    [("3.3 V", "150 mA", "3 mA", "6.2"), ("5 V", "500 mA", "20 mA", "5.683")],
)
def test_mic5219_greatest_input(V_out: str, I_out: str, I_GND: str, printed: str) -> None:
    # The same page. The sheet goes on with its rounded 455 mW, so its 100 K go by 0.455 W here.
    part = regulator(V_out=V_out, I_out=I_out, I_GND=I_GND, theta_JA=str(100 / 0.455), T_A="25 °C")
    assert prints_as(part.V_max.item(), printed)


def test_mic5219_intermediate_sum_of_its_second_example() -> None:
    # The same page prints 2.995 W once and goes on with 2.955 W: 2.955 W is right.
    part = regulator(V_out="5 V", I_out="500 mA", theta_JA=str(100 / 0.455), T_A="25 °C")
    assert prints_as((part.P_Dmax + part.V_out * part.I_out).item(), "2.955")


@pytest.mark.parametrize(
    ("case", "printed"),
    [
        ("8 K/W", ("201", "176", "152", "115")),  # SOT-223
        ("25 K/W", ("184", "159", "135", "98")),  # SO-8
        ("2 K/W", ("207", "182", "158", "121")),  # TO-263
    ],
)
def test_mic5209_what_is_left_for_the_heat_sink(case: str, printed: tuple[str, ...]) -> None:
    # The same data sheet: less junction to case, from its rounded 209, 184, 160 and 123 K/W.
    for ambient, whole, left in zip((40, 50, 60, 75), (209, 184, 160, 123), printed, strict=True):
        part = regulator(
            V_in="3.6 V",
            V_out="2.375 V",
            I_out="320 mA",
            I_GND="4 mA",
            T_A=f"{ambient} °C",
            theta_JC=case,
        )
        rounding = whole - part.theta_max.item()
        assert prints_as(part.theta_SA.item() + rounding, left)
        assert part.theta_SA.item() == pytest.approx(float(left), abs=0.6)


@pytest.mark.parametrize(
    ("ambient", "printed"), [("40 °C", "209"), ("50 °C", "184"), ("60 °C", "160"), ("75 °C", "123")]
)
def test_mic5209_thermal_resistance_that_will_do(ambient: str, printed: str) -> None:
    # Micrel MIC5209 data sheet: 2.5 V less 5 %, 320 mA, 407 mW. The sheet divides by its rounded
    # 407 mW; the exact 406.4 mW gives the printed values too.
    part = regulator(
        V_in="3.6 V", V_out="2.375 V", I_out="320 mA", I_GND="4 mA", T_A=ambient, T_Jmax="125 °C"
    )
    assert part.P_D.item() * 1e3 == pytest.approx(407, rel=0.005)
    assert prints_as(part.theta_max.item(), printed)


def test_tc1300_dissipation_at_the_least_output() -> None:
    # Microchip TC1300. It states the output less 2.5 % and prints 220 mW, which is the sum for
    # the nominal output; its own formula gives 235 mW.
    judgement = judge(
        regulator(
            V_in="4.1 V",
            V_out="3.0 V ± 2.5 %",
            I_out="200 mA",
            I_GND="0 A",
            theta_JA="200 K/W",
            T_A="55 °C",
        )
    )
    assert prints_as(judgement.output("P_D").typ * 1e3, "220")
    assert prints_as(judgement.output("P_D").high * 1e3, "235")
    assert prints_as(judgement.output("P_Dmax").typ * 1e3, "350")


def test_pam3112_3_3_to_1_2_v_at_150_ma() -> None:
    # PAM3112 data sheet, page 8: 315 mW, rise 78.75 K (of the rounded 315 mW), junction
    # 118.75 °C; greatest dissipation 400 mW for 40 to 140 °C, that is with 100 K at 250 K/W.
    part = regulator(
        V_in="3.3 V",
        V_out="1.2 V",
        I_out="150 mA",
        I_GND="70 µA",
        theta_JA="250 K/W",
        T_A="40 °C",
        T_Jmax="140 °C",
    )
    assert prints_as(part.P_D.item() * 1e3, "315")
    assert part.T_J.item() == pytest.approx(118.75, abs=0.1)
    assert prints_as(part.P_Dmax.item() * 1e3, "400")


def test_ts2940_3_3_to_2_5_v_at_1_a() -> None:
    # TS2940 data sheet: 836 mW.
    part = regulator(V_in="3.3 V", V_out="2.5 V", I_out="1 A", I_GND="11 mA")
    assert prints_as(part.P_D.item() * 1e3, "836")


def test_mcp1826_counts_its_ground_current_at_the_whole_input() -> None:
    # Microchip MCP1826, DS22057B page 19: 965 mW, rise 28.27 K. It takes the ground current
    # times V_in - V_out, 0.12 mW; that current flows from the input to ground: 0.416 mW.
    part = regulator(
        V_in="3.465 V", V_out="2.5 V", I_out="1 A", I_GND="120 µA", theta_JA="29.3 K/W"
    )
    assert prints_as(part.P_D.item() * 1e3, "965")
    # 28.27 K is 29.3 K/W times 965 mW; 0.42 mW of ground current add a hundredth of a kelvin.
    assert part.T_J.item() - part.T_A.item() == pytest.approx(28.27, abs=0.02)
    ground_loss = part.P_D - (part.V_in - part.V_out) * part.I_out
    assert prints_as(ground_loss.item() * 1e3, "0.416")


@pytest.mark.parametrize(
    ("inputs", "expected"),
    [
        # Toshiba, LDO e-learning chapter 4-2 and FAQ 27: inputs read, results by the formula.
        (
            {
                "V_in": "3.6 V",
                "V_out": "1.8 V",
                "I_out": "100 mA",
                "I_GND": "0 A",
                "T_A": "40 °C",
                "theta_JA": str((150 - 25) / 0.6),
            },
            77.5,
        ),
        (
            {
                "V_in": "1.5 V",
                "V_out": "1.0 V",
                "I_out": "200 mA",
                "I_GND": "20 µA",
                "T_A": "60 °C",
                "theta_JA": str((150 - 25) / 0.6),
            },
            80.8396,
        ),
    ],
)
def test_a_package_of_0_6_w_at_25_c(inputs: dict[str, str], expected: float) -> None:
    # 0.6 W at 25 °C and 150 °C at the junction are 208 K/W.
    assert regulator(**inputs).T_J.item() == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize(("dropout", "needed"), [("0.2 V", 3.5), ("2 V", 5.3), ("0.5 V", 3.8)])
def test_3_3_v_need_their_dropout_on_top(dropout: str, needed: float) -> None:
    # Quan, Analog Electronics: Troubleshooting, page 363, and low-dropout tutorials.
    at_it = judge(regulator(V_in=str(needed), V_out="3.3 V", V_DO=dropout))
    below_it = judge(regulator(V_in=str(needed - 0.01), V_out="3.3 V", V_DO=dropout))
    assert at_it.limit("headroom") == MARGINAL
    assert below_it.limit("headroom") == FAIL


def test_mcp73831_as_a_linear_charger() -> None:
    # Microchip MCP73831: 5.5 V in, cell at 2.7 V, 550 mA: 1.54 W.
    part = regulator(V_in="5.5 V", V_out="2.7 V", I_out="550 mA", I_GND="0 A")
    assert prints_as(part.P_D.item(), "1.54")


@pytest.mark.parametrize(
    ("theta", "power"), [("250 K/W", 0.3), ("75 K/W", 1.0)], ids=["SOT-23", "SOT-223"]
)
def test_a_small_board_carries_what_engineers_say(theta: str, power: float) -> None:
    # Common practice: SOT-23 0.3 W, SOT-223 1 W on a small board.
    carried = regulator(theta_JA=theta, T_A="25 °C", T_Jmax="125 °C", k_board="1.3").P_Dmax.item()
    assert carried == pytest.approx(power, rel=0.1)
