"""The capacitor schedule against what guides and engineers state."""

from __future__ import annotations

import pytest

from phases.decoupling.capacitor_schedule import CapacitorSchedule
from phases.kit import judge
from phases.kit.bounds import FAIL, PASS


def values(schedule: CapacitorSchedule, bulk: str) -> set[str]:
    return {row["value"] for row in schedule.schedule if row["bulk"] == bulk}


def test_each_supply_pin_has_100_nf_and_each_rail_10_uf() -> None:
    # Common practice: 100 nF per supply pin within 3 mm, also at the analogue supply; 10 µF a rail.
    schedule = CapacitorSchedule()
    assert values(schedule, "no") == {"100 nF"}
    assert values(schedule, "yes") == {"10 µF"}
    assert [row["count"] for row in schedule.schedule] == [1] * 6
    assert all("within 3 mm" in p.where for p in judge(schedule).parts if "bulk" not in p.role)


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


def test_the_loss_under_voltage_is_said_as_it_was_measured() -> None:
    # A maker's sheet for 10 µF, 25 V, X5R, 0805, as read out in synth-diy 2020-05: 2 µF at 12 V.
    said = " ".join(note.what for note in judge(CapacitorSchedule()).notes)
    assert "as little as a fifth" in said


def test_on_a_24_v_rail_it_is_said_what_a_small_case_keeps() -> None:
    # TI SLUSEA4D: 10 µF, 50 V, 1206, X7R has 3.45 µF at 24 V.
    rails = [{"rail": "3v3", "voltage": "18 .. 30 V"}]
    said = " ".join(note.what for note in judge(CapacitorSchedule(rails=rails)).notes)
    assert "keep 3.5 µF at 24 V" in said
    assert "at 24 V" not in " ".join(n.what for n in judge(CapacitorSchedule()).notes)
