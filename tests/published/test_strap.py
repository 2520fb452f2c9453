"""Strap pins against published examples and data sheet figures.

Sources: Raspberry Pi, Hardware design with RP2040 (2021-06-23), sections 2.2, 3.2.1, 3.2.2;
Microchip SAM, electrical characteristics of the I/O pins (pull 20 / 40 / 60 kΩ, low 0.29, high
0.55 of the supply, leakage 1 µA); TI MSP430 (pull 20 / 35 / 50 kΩ, leakage 50 nA). The formulas:
TI SLVA485 (method, as restated), sizing of the direction pin's pull-up of SN74LVC1T45.
"""

from __future__ import annotations

from typing import Any

import pytest

from phases.clock_boot.strap import Strap
from phases.kit import Judgement, judge
from tests.published.printed import prints_as

ALONE = [{"state": "pull alone"}]
BUTTON = [{"state": "button", "expect": "override", "path": "other"}]
EXACT = {"V": "3.3 V", "I_leak": "0 A", "R_tol": "0 %"}


def judged(states: list[dict[str, str]], **inputs: Any) -> Judgement:
    return judge(Strap(states=states, **{**EXACT, **inputs}))


def test_a_button_with_1_k_against_8_06_k() -> None:
    # RP2040 hardware design, section 3.2.2, page 19: "at least 2.93 V" (truncated).
    level = judged(BUTTON, level="low", R_pull="8.06 kΩ", R_over="1 kΩ").rows("V_pin")["button"]
    assert prints_as(level.typ, "2.93")


def test_five_resistors_side_by_side_and_their_level_into_75_ohm() -> None:
    # RP2040 hardware design, section 3.2.1, page 19: 499, 1000, 2000, 4020 and 8060 Ω: 258 Ω;
    # 3.3 V through them into 75 Ω: 0.74 V.
    def beside(pull: str, inside: str, path: str) -> float:
        states = [{"state": "all", "path": "wanted", "R": path}]
        one = judged(states, level="low", R_pull=pull, internal="down", R_int=inside)
        return one.rows("R_pin")["all"].typ

    first = beside("499 Ω", "1000 Ω", "2000 Ω")
    together = beside(f"{first} Ω", "4020 Ω", "8060 Ω")
    assert prints_as(together, "258")
    level = judged(BUTTON, level="low", R_pull="75 Ω", R_over=f"{together} Ω")
    assert prints_as(level.rows("V_pin")["button"].typ, "0.74")


def test_the_boot_button_of_1_k_against_10_k() -> None:
    # Derived: 1 kΩ to ground (RP2040 hardware design, section 2.2) against a 10 kΩ pull-up.
    level = judged(BUTTON, level="high", R_pull="10 kΩ", R_over="1 kΩ").rows("V_pin")["button"]
    assert level.typ == pytest.approx(0.300, abs=5e-4)


def test_a_pull_down_against_an_internal_pull_up_of_45_k() -> None:
    # Derived: internal pull about 45 kΩ, low level 0.25 of the supply (from memory): 15.0 kΩ.
    one = judged(ALONE, level="low", internal="up", R_int="45 kΩ", k_IL="0.25")
    assert one.output("R_most").typ == pytest.approx(15.0e3, rel=1e-9)


def test_a_pull_down_against_the_least_internal_pull_up_of_20_k() -> None:
    # Derived: SAM, internal pull 20 / 40 / 60 kΩ, low level 0.29 of the supply: 8.17 kΩ.
    one = judged(ALONE, level="low", internal="up", R_int="20 / 40 / 60 kΩ", k_IL="0.29")
    assert one.output("R_most").low == pytest.approx(8.17e3, rel=5e-4)
    for pull, verdict in (("8.1 kΩ", "marginal"), ("8.2 kΩ", "fail"), ("4.7 kΩ", "pass")):
        fitted = judged(
            ALONE, level="low", internal="up", R_int="20 / 40 / 60 kΩ", k_IL="0.29", R_pull=pull
        )
        assert fitted.limit("level") == verdict


def test_a_pull_up_against_1_ua_of_leakage() -> None:
    # Derived: SAM, (3.3 - 1.815) V over 1 µA: 1.485 MΩ. Noise sets the practical end long before.
    one = judged(ALONE, level="high", k_IH="0.55", I_leak="-1 .. 1 µA")
    assert one.output("R_most").low == pytest.approx(1.485e6, rel=1e-9)


@pytest.mark.parametrize("level", ["low", "high"])
def test_10_k_holds_against_the_leakage_of_a_published_low_power_part(level: str) -> None:
    # MSP430: leakage ± 50 nA. Derived: 0.5 mV across 10 kΩ.
    one = judged(ALONE, level=level, R_pull="10 kΩ", I_leak="-50 .. 50 nA")
    figure = one.rows("V_pin")["pull alone"]
    assert figure.high - figure.low == pytest.approx(0.5e-3, rel=1e-6)
    assert one.limit("level") == "pass"
