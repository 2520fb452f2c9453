"""Derated capacitors against application notes and data sheets."""

from __future__ import annotations

from typing import Any

import pytest

from phases.kit import judge
from phases.regulation.output_capacitor import OutputCapacitor
from tests.published.printed import prints_as


def capacitor(**inputs: Any) -> OutputCapacitor:
    return OutputCapacitor(inputs)


def micro(part: OutputCapacitor) -> float:
    return float(part.C_eff.item()) * 1e6


@pytest.mark.parametrize(
    ("lost", "expected", "printed"), [(92.9, 0.3337, 0.33), (68.14, 1.4974, 1.5)]
)
def test_app5527_4_7_uf_under_bias(lost: float, expected: float, printed: float) -> None:
    # Maxim application note APP5527, as quoted: 4.7 µF less 92.9 % is 0.33 µF, less 68.14 % 1.5 µF.
    bias = [{"V": "5 V", "left": f"{100 - lost} %"}]
    part = capacitor(C="4.7 µF", V="5 V", bias=bias, t="1000 h")
    assert micro(part) == pytest.approx(expected, abs=1e-4)
    assert micro(part) == pytest.approx(printed, rel=0.012)


@pytest.mark.parametrize(
    ("left", "case", "rating", "expected"),
    [("61.6 %", "1210", "35 V", 6.16), ("34.5 %", "1206", "50 V", 3.45)],
)
def test_10_uf_at_24_v(left: str, case: str, rating: str, expected: float) -> None:
    # TI SLUSF22 and SLUSEA4D: 10 µF X7R, 1210 of 35 V and 1206 of 50 V.
    given = {"C": "10 µF", "V": "24 V", "V_R": rating, "case": case, "t": "1000 h"}
    point = [{"V": "0 V", "left": "100 %"}, {"V": "24 V", "left": left}]
    assert micro(capacitor(**given, bias=point)) == pytest.approx(expected)
    # The usual loss that stands in covers both.
    usual = judge(capacitor(**given)).output("k_V")
    assert usual.low < expected / 10 < usual.high


def test_two_of_3_45_uf_are_6_9_uf() -> None:
    # TI TPS62933F SLUSEA4D: 2 x 3.45 µF effective.
    part = capacitor(C="10 µF", n="2", V="24 V", bias=[{"V": "24 V", "left": "34.5 %"}], t="1000 h")
    assert prints_as(micro(part), "6.9")


def test_ncp3170_100_uf_leave_20_uf() -> None:
    # onsemi NCP3170: 100 µF X5R at 3.3 V.
    part = capacitor(
        C="100 µF", V="3.3 V", dielectric="X5R", bias=[{"V": "3.3 V", "left": "20 %"}], t="1000 h"
    )
    assert micro(part) == pytest.approx(20)


def test_ageing_of_x7r_over_three_decades() -> None:
    # Twice the loss at 100 h and three times at 1000 h (primidi copy of the Wikipedia text):
    # 7.5 % added, 7.31 % compounded (derived).
    given = {"reference": "1 h", "t": "1000 h", "k_age": "2.5 %"}
    assert 1 - capacitor(**given).k_t.item() == pytest.approx(0.075)
    assert 1 - capacitor(**given, ageing="compounded").k_t.item() == pytest.approx(0.0731406)


def test_everything_together() -> None:
    # Derived from the product: 10 µF K, - 15 %, 38.4 % lost under bias, 2 % a decade from
    # 1000 h to 87600 h: 4.529 µF.
    part = judge(
        capacitor(
            C="106K",
            V="24 V",
            dielectric="X7R",
            bias=[{"V": "24 V", "left": "61.6 %"}],
            k_age="2 %",
            t="1000 / 1000 / 87600 h",
        )
    )
    assert part.output("C_eff").low * 1e6 == pytest.approx(4.52932, abs=1e-5)
    assert part.output("C_eff").typ * 1e6 == pytest.approx(6.16)
