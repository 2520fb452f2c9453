"""The charger against data sheets, hardware threads and what their makers say of a load."""

from __future__ import annotations

from typing import Any

import pytest

from phases.kit import judge
from phases.kit.bounds import FAIL
from phases.power_entry.charger import HOUR, Charger
from tests.published.printed import prints_as

# One current, as the sheets have it, on a board of the sheet's own.
PLAIN = {"I_Q": "0 A", "k_board": "1", "folds": "no"}


def charger(**inputs: Any) -> Charger:
    return Charger({**PLAIN, **inputs})


def milli(value: Any) -> float:
    return float(value.item()) * 1e3


# ---- The set resistor -----------------------------------------------------------------------


def test_bq24074_set_resistor() -> None:
    # TI SLUS810K section 10.2.2.2: 890 AΩ, 0.8 A: 1.1125 kΩ, picks 1.13 kΩ (787.6 mA).
    part = charger(K="890 V", I_want="0.8 A", R_SET="1.13 kΩ")
    assert prints_as(part.R_want.item() / 1e3, "1.1125")
    assert milli(part.I_CHG) == pytest.approx(787.6, abs=0.05)


def test_bq24040_set_resistor_and_shares() -> None:
    # TI SLUS941F page 22: 540 AΩ, 0.54 A: 1.0 kΩ; end of charge at 10 %, pre-charge at 20 %.
    part = charger(K="540 V", I_want="0.54 A", R_SET="1 kΩ", k_TERM="10 %", k_PRE="20 %")
    assert prints_as(part.R_want.item() / 1e3, "1.0")
    assert prints_as(milli(part.I_TERM), "54")
    assert prints_as(milli(part.I_PRE), "108")


@pytest.mark.parametrize(
    ("wanted", "ohms"),
    [
        ("10 mA", "30000"),
        ("30 mA", "10000"),
        ("50 mA", "6000"),
        ("100 mA", "3000"),
        ("300 mA", "1000"),
        ("500 mA", "600"),
        ("700 mA", "429"),
    ],
)
def test_bq25170_table_of_resistors(wanted: str, ohms: str) -> None:
    # TI SLUAAG9 table 7-1; K of 300 V is worked back from its rows.
    assert charger(K="300 V", I_want=wanted).R_want.item() == pytest.approx(float(ohms), abs=0.5)


def test_bq25170_picks_are_those_offered() -> None:
    # The same table's picks, of E96: 6040, 3010, 604, 432 Ω. Ours are the nearest by ratio.
    for wanted, fitted in (("50 mA", 6040), ("100 mA", 3010), ("500 mA", 604), ("700 mA", 432)):
        pick = judge(charger(K="300 V", I_want=wanted, I_cell="1 A")).picks["R_SET"]
        assert charger(R_SET=pick).R_SET.item() == pytest.approx(fitted, rel=0.011)


def test_mcp73831_with_the_spread_of_its_resistor() -> None:
    # Public hardware issue "Battery charging rate": 480 mA: 2.08 kΩ; with 2.1 kΩ 473.9 to 478.5 mA,
    # for 10 Ω of tolerance, which its author calls 1 % (that is 21 Ω).
    assert prints_as(charger(K="1000 V", I_want="480 mA").R_want.item() / 1e3, "2.08")
    judged = judge(charger(K="1000 V", R_SET="2090 / 2100 / 2110 Ω"))
    assert prints_as(judged.output("I_CHG").low * 1e3, "473.9")
    assert prints_as(judged.output("I_CHG").high * 1e3, "478.4")  # 478.47, printed 478.5


def test_ltc4085_limit_is_of_the_same_form() -> None:
    # LTC4085-3 page 15: 1000 V over 2 kΩ and 2.1 kΩ: 500 mA and 476 mA.
    assert prints_as(milli(charger(K="1000 V", R_SET="2 kΩ").I_CHG), "500")
    assert prints_as(milli(charger(K="1000 V", R_SET="2.1 kΩ").I_CHG), "476")


# ---- Heat -----------------------------------------------------------------------------------


def test_mcp73831_dissipation() -> None:
    # Microchip DS20001984 section 6.1.1.2: 5.5 V, 2.7 V, 550 mA: 1.54 W.
    part = charger(how="part", I_want="550 mA", V_in="5.5 V", V_BAT="2.7 V", load="source")
    assert prints_as(part.P.item(), "1.54")


def test_ltc4089_dissipation_with_a_power_path() -> None:
    # LTC4089-3 page 21, LTC4090 page 24: 5 V, 3.7 V at 400 mA, output 4.75 V at 100 mA: 545 mW.
    part = charger(
        how="part",
        I_want="400 mA",
        V_in="5 V",
        V_BAT="3.7 V",
        V_OUT="4.75 V",
        load="power path",
        I_load="100 mA",
        I_CL="500 mA",
    )
    assert prints_as(milli(part.P), "545")


def test_ltc4054_current_when_hot() -> None:
    # LTC4054 (derived): 5 V, 3.75 V, 25 °C, 125 K/W, 120 °C: 608 mA. From memory, its page 11:
    # 400 mA at 150 K/W give way from 45 °C on, to 320 mA at 60 °C.
    said = {"V_in": "5 V", "V_BAT": "3.75 V", "T_REG": "120 °C", "load": "source"}
    hot = charger(
        **{**said, "folds": "yes"}, how="part", I_want="0.8 A", theta_JA="125 K/W", T_A="25 °C"
    )
    assert milli(hot.I_BAT) == pytest.approx(608.0)
    slow = {**said, "folds": "yes", "how": "part", "I_want": "400 mA", "theta_JA": "150 K/W"}
    assert charger(**slow, T_A="25 °C").T_full.item() == pytest.approx(45)
    assert milli(charger(**slow, T_A="60 °C").I_BAT) == pytest.approx(320)


# ---- The board's load -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("set_", "load", "into"),
    [
        ("500 mA", "0 A", 500),
        ("500 mA", "300 mA", 200),
        ("500 mA", "600 mA", -100),
        ("250 mA", "100 mA", 250),
        ("250 mA", "400 mA", 100),
    ],
)
def test_ltc4085_share_of_the_input(set_: str, load: str, into: float) -> None:
    # LTC4085-3 page 14, figure 2, read off its axes: input limit 500 mA.
    part = charger(how="part", I_want=set_, I_load=load, I_CL="500 mA", load="power path")
    assert milli(part.I_BAT) == pytest.approx(into)


def test_a_load_on_the_cell_above_a_tenth_never_lets_the_charge_end() -> None:
    # A maker of a battery board, public issue: the load is usually above the 50 mA at which the
    # charge would end. Here 1000 mAh at 500 mA under 60 mA (derived).
    part = charger(
        Q="1000 mAh", how="part", I_want="500 mA", k_TERM="10 %", load="cell", I_load="60 mA"
    )
    assert judge(part).limit("termination") == FAIL
    # Without the load it would take 2.6 to 3.0 h.
    alone = judge(charger(Q="1000 mAh", how="part", I_want="500 mA", load="source"))
    assert alone.output("t_full").low / HOUR == pytest.approx(2.6)
    assert alone.output("t_full").high / HOUR == pytest.approx(3.0)
