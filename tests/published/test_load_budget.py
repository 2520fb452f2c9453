"""Load budget against the one published rule of margin that was found.

Source: J. Foutz, power-supply tutorial, "Load current margins": twice the need; own practice a
fifth for growth, then 25 to 50 % on top. No published source was found for three times.
"""

from __future__ import annotations

import pytest

from phases.kit import Judgement, judge
from phases.regulation.load_budget import LoadBudget


def rated(rating: str) -> Judgement:
    need = {"consumer": "all", "rail": "out", "typical": "250 mA", "peak": "250 mA"}
    rail = {"rail": "out", "voltage": "5 V", "rating": rating}
    return judge(LoadBudget(consumers=[need], rails=[rail], I_source="2 A"))


def test_twice_a_need_of_250_ma_is_500_ma() -> None:
    judged = rated("500 mA")
    assert judged.rows("ratio")["out"].typ == pytest.approx(2.0, rel=1e-12)
    assert judged.limit("rating") == "pass"


def test_a_fifth_for_growth_alone_leaves_less_margin_than_is_asked() -> None:
    # Derived: 250 mA and 20 % is 300 mA; 25 % on top of it is 375 mA.
    assert rated("300 mA").rows("ratio")["out"].typ == pytest.approx(1.2, rel=1e-12)
    assert rated("300 mA").limit("rating") == "marginal"
    assert rated("375 mA").limit("rating") == "pass"
