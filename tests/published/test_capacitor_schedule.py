"""The capacitor schedule against what guides and engineers state."""

from __future__ import annotations

import re
from typing import Any

import pytest

from phases.decoupling.capacitor_schedule import CapacitorSchedule
from phases.decoupling.seats import kept
from phases.kit import judge
from phases.kit.bounds import FAIL, MARGINAL, PASS
from tests.published.printed import prints_as


def test_each_supply_pin_has_a_capacitor_of_its_own_and_each_rail_a_bulk_one() -> None:
    # TI SLAAE76B hardware guide: one for each supply pin. Common practice: within 3 mm, at the
    # analogue supply too; one bulk capacitor a rail.
    pins = [{"kind": "supply", "count": "7"}, {"kind": "analogue", "count": "2"}]
    rails = [{"rail": name, "voltage": "3.3 V"} for name in ("3v3", "sense", "radio")]
    judged = judge(CapacitorSchedule(pins=pins, rails=rails))
    at_pins = [part for part in judged.parts if part.where.endswith("within 3 mm")]
    assert sum(part.count for part in at_pins) == 9
    assert [p.role for p in judged.parts if p not in at_pins] == [
        "bulk 3v3",
        "bulk sense",
        "bulk radio",
    ]


@pytest.mark.parametrize(
    ("field", "limit", "enough", "less"),
    [("C_pin", "every-pin", "100 nF", "82 nF"), ("C_bulk", "bulk", "10 µF", "8.2 µF")],
)
def test_100_nf_at_a_pin_and_10_uf_a_rail_are_enough_and_the_next_value_below_is_said(
    field: str, limit: str, enough: str, less: str
) -> None:
    # Common practice: 100 nF a pin, 10 µF a rail. The next E12 values below: IEC 60063.
    assert judge(CapacitorSchedule({field: enough})).limit(limit) == PASS
    assert judge(CapacitorSchedule({field: less})).limit(limit) == MARGINAL


def test_a_core_pin_with_470_nf_is_served_only_when_that_is_stated() -> None:
    # TI SLAAE76B hardware guide: the core regulator's pin has exactly the stated capacitor, 470 nF.
    pins = [{"kind": "supply", "count": "1"}, {"kind": "core", "count": "1"}]
    assert judge(CapacitorSchedule(pins=pins)).limit("every-pin") == FAIL
    stated = CapacitorSchedule(pins=pins, C_core="470 nF")
    assert judge(stated).limit("every-pin") == PASS
    assert [row["value"] for row in stated.schedule if row["pin"] == "core 1"] == ["470 nF"]


@pytest.mark.parametrize(
    ("voltage", "rated"),
    [
        ("5 V", "10 V"),
        ("3.3 V", "10 V"),
        ("3.15 V", "6.3 V"),
        ("12 V", "25 V"),
        ("18 .. 30 V", "50 V"),
    ],
)
def test_a_ceramic_is_rated_for_one_and_a_half_times_to_twice_its_rail(
    voltage: str, rated: str
) -> None:
    # From memory: 1.5 to 2 times the rail, as the published review lists ask.
    rails = [{"rail": "3v3", "voltage": voltage}]
    (bulk,) = (r for r in CapacitorSchedule(rails=rails).schedule if r["bulk"] == "yes")
    assert bulk["rated"] == rated


@pytest.mark.parametrize(
    ("V_R", "case", "V", "measured"),
    [
        (50.0, "1206", 24.0, 3.45e-6),  # X7R, TI SLUSEA4D
        (35.0, "1210", 24.0, 6.16e-6),  # X7R, TI SLUSF22
    ],
)
def test_what_10_uf_keep_under_voltage_lies_within_the_estimate(
    V_R: float, case: str, V: float, measured: float
) -> None:
    left = kept(10e-6, V_R, case, V)
    assert left is not None
    assert left.low < measured < left.high


def test_a_small_case_keeps_a_fifth_at_half_its_rating() -> None:
    # A maker's sheet for 10 µF, 25 V, X5R, 0805, as read out in synth-diy 2020-05: 2 µF at 12 V.
    left = kept(10e-6, 25.0, "0805", 12.0)
    assert left is not None
    assert prints_as(left.low * 1e6, "2")


def said_of_the_rail(**inputs: Any) -> str:
    return " ".join(n.what for n in judge(CapacitorSchedule(inputs)).notes if n.where == "3v3")


def test_above_12_5_v_it_is_said_what_the_bulk_chosen_keeps() -> None:
    # TI SLUSEA4D: 10 µF, 50 V, 1206, X7R has 3.45 µF at 24 V. The numbers are of the own row.
    rails = [{"rail": "3v3", "voltage": "18 .. 24 V"}]
    said = said_of_the_rail(rails=rails, C_entry="10 µF", case_bulk="1206")
    low, high = (float(word) for word in re.findall(r"([0-9.]+) µF", said)[1:])
    assert low < 3.45 < high
    assert "10 µF, 50 V, in case 1206" in said and "at 24 V" in said
    assert "22 µF, 50 V, in case 1210" in said_of_the_rail(
        rails=rails, C_entry="22 µF", case_bulk="1210"
    )
    unknown = said_of_the_rail(rails=rails, case_bulk="radial")
    assert "far less" in unknown and not re.search(r"about|own fit", unknown)
    assert said_of_the_rail(rails=[{"rail": "3v3", "voltage": "12 V"}]) == ""
