"""The capacitor schedule: every pin served, bulk on every rail, and what it makes of odd input."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from phases.decoupling.capacitor_schedule import CapacitorSchedule
from phases.kit import Finding, judge
from phases.kit.bounds import FAIL, MARGINAL, PASS
from phases.kit.inputs import Supply
from phases.kit.refusals import Refusal
from phases.power_entry.inrush import Inrush
from tests.phases.sampling import escapes

ONE_RAIL = [{"rail": "3v3", "parent": "", "voltage": "3.3 V"}]


def findings(limit: str, schedule: CapacitorSchedule) -> list[Finding]:
    return [f for v in judge(schedule).verdicts if v.limit == limit for f in v.findings]


def test_the_default_set_runs_and_passes() -> None:
    assert judge(CapacitorSchedule()).verdict == PASS


# ---- Where the pins come from --------------------------------------------------------------


def test_the_pins_of_a_card_are_listed_by_name_with_what_the_card_states() -> None:
    at_pins = {r["pin"]: r["value"] for r in CapacitorSchedule(part="brindle-48").schedule}
    assert at_pins["VDD1"] == at_pins["VDD2"] == at_pins["VDD3"] == "100 nF"
    assert at_pins["VDDA"] == at_pins["CAP"] == at_pins["REF"] == at_pins["VUSB"] == "1 µF"
    assert at_pins["VBAK"] == "100 nF"
    assert not {"VSS1", "SWDIO", "XIN"} & set(at_pins)


def test_a_thin_card_has_numbered_pins() -> None:
    pins = [row["pin"] for row in CapacitorSchedule(part="sedge-28").schedule]
    assert pins[:3] == ["supply 1", "supply 2", "analogue 1"]


def test_without_a_card_the_counts_will_do() -> None:
    counted = [{"kind": "supply", "count": "2"}, {"kind": "reference", "count": "1"}]
    pins = [row["pin"] for row in CapacitorSchedule(pins=counted, rails=ONE_RAIL).schedule]
    assert pins == ["supply 1", "supply 2", "reference 1", "3v3"]


def test_a_ground_pin_gets_none() -> None:
    counted = [{"kind": "supply", "count": "1"}, {"kind": "ground", "count": "4"}]
    pins = [row["pin"] for row in CapacitorSchedule(pins=counted, rails=ONE_RAIL).schedule]
    assert pins == ["supply 1", "3v3"]


def test_card_counts_rail_and_rails_come_from_the_brief() -> None:
    ledger = {
        "board.pins": Supply([{"kind": "supply", "count": "2"}], "brief", "brief"),
        "board.mcu_rail": Supply("cell", "brief", "brief"),
        "board.rails": Supply(
            [
                {
                    "rail": "cell",
                    "parent": "",
                    "kind": "none",
                    "voltage": "2.2 / 3.0 / 3.3 V",
                    "rating": "30 mA",
                },
                {
                    "rail": "sense",
                    "parent": "cell",
                    "kind": "switch",
                    "voltage": "2.1 .. 3.3 V",
                    "rating": "",
                },
            ],
            "brief",
            "brief",
        ),
    }
    judgement = judge(CapacitorSchedule(lookup=ledger.get))
    assert judgement.verdict == PASS
    assert judgement.rows("C_rail")["cell"].typ == pytest.approx(2.4e-6)
    assert judgement.rows("C_rail")["sense"].typ == pytest.approx(10e-6)


def test_other_parts_are_served_on_their_own_rail() -> None:
    others = [{"part": "flash", "pins": "2"}, {"part": "driver", "rail": "vbus"}]
    judgement = judge(CapacitorSchedule(others=others))
    listed = {row["pin"]: row["count"] for row in judgement.listings["schedule"]}
    assert (listed["flash"], listed["driver"]) == (2, 1)
    assert judgement.rows("C_rail")["vbus"].typ == pytest.approx(2.3e-6)
    assert judgement.rows("C_rail")["3v3"].typ == pytest.approx(10.6e-6)


# ---- Every pin -----------------------------------------------------------------------------


def test_a_core_pin_without_a_stated_value_is_found_by_name() -> None:
    counted = [{"kind": "supply", "count": "1"}, {"kind": "core", "count": "2"}]
    found = findings("every-pin", CapacitorSchedule(pins=counted))
    assert [f.where for f in found] == ["core 1", "core 2"]
    assert judge(CapacitorSchedule(pins=counted)).limit("every-pin") == FAIL


def test_the_core_capacitor_does_not_hang_on_the_rail() -> None:
    counted = [{"kind": "supply", "count": "1"}, {"kind": "core", "count": "1"}]
    with_core = judge(CapacitorSchedule(pins=counted, C_core="4.7 µF"))
    assert with_core.rows("C_rail")["3v3"].typ == pytest.approx(10.1e-6)


def test_what_a_card_states_at_a_core_pin_needs_no_hand() -> None:
    assert judge(CapacitorSchedule(part="brindle-48")).limit("every-pin") == PASS


@pytest.mark.parametrize(
    ("C_pin", "verdict"), [("100 nF", PASS), ("220 nF", PASS), ("47 nF", MARGINAL), ("0 F", FAIL)]
)
def test_less_than_usual_at_a_pin_is_a_caution_and_nothing_a_fault(
    C_pin: str, verdict: str
) -> None:
    assert judge(CapacitorSchedule(C_pin=C_pin)).limit("every-pin") == verdict


def test_the_tolerance_of_a_100_nf_capacitor_is_not_held_against_it() -> None:
    assert judge(CapacitorSchedule(C_pin="100 nF ± 20 %")).limit("every-pin") == PASS


def test_where_the_card_states_every_value_the_usual_one_is_not_judged() -> None:
    assert judge(CapacitorSchedule(part="brindle-48", C_pin="1 nF")).limit("every-pin") == PASS


def test_a_part_without_supply_pins_is_found() -> None:
    bare = CapacitorSchedule(pins=[{"kind": "ground", "count": "1"}])
    assert [f.where for f in findings("every-pin", bare)] == ["microcontroller"]
    other = CapacitorSchedule(others=[{"part": "flash", "pins": "0"}])
    assert [f.where for f in findings("every-pin", other)] == ["flash"]
    assert judge(other).limit("every-pin") == FAIL


# ---- Bulk ----------------------------------------------------------------------------------


def test_a_rail_without_bulk_is_found() -> None:
    rails = [{"rail": "vbus", "bulk": "0"}, {"rail": "3v3", "bulk": "2"}]
    assert [f.where for f in findings("bulk", CapacitorSchedule(rails=rails))] == ["vbus"]
    assert judge(CapacitorSchedule(rails=rails)).limit("bulk") == FAIL


@pytest.mark.parametrize(
    ("C_bulk", "verdict"), [("10 µF", PASS), ("22 µF", PASS), ("1 µF", MARGINAL), ("0 F", FAIL)]
)
def test_less_bulk_than_usual_is_a_caution_and_none_a_fault(C_bulk: str, verdict: str) -> None:
    assert judge(CapacitorSchedule(C_bulk=C_bulk)).limit("bulk") == verdict


# ---- To draw, and what is said -------------------------------------------------------------


def test_what_is_to_draw_has_a_role_for_each_pin_and_each_rail() -> None:
    others = [{"part": "flash", "pins": "2"}]
    parts = judge(CapacitorSchedule(others=others)).parts
    assert [part.words for part in parts][-3:] == [
        "2 x 100 nF 0603, 10 V or more, flash to GND, within 3 mm",
        "2.2 µF 0805, 16 V or more, vbus to GND, bulk",
        "10 µF 0805, 10 V or more, 3v3 to GND, bulk",
    ]
    assert len({part.role for part in parts}) == len(parts)


def test_own_values_and_cases_are_taken() -> None:
    own = CapacitorSchedule(C_pin="220 nF", case="0402", C_bulk="22 µF", case_bulk="1206")
    words = [part.words for part in judge(own).parts]
    assert words[0].startswith("220 nF 0402")
    assert words[-1].startswith("22 µF 1206")


def test_a_rail_whose_voltage_is_not_known_gets_no_rating() -> None:
    schedule = CapacitorSchedule(rails=[{"rail": "3v3"}])
    assert judge(schedule).parts[-1].words == "2.2 µF 0805, 3v3 to GND, bulk"


def cautions(**inputs: Any) -> str:
    return " ".join(note.what for note in judge(CapacitorSchedule(inputs)).notes)


def test_the_loss_under_voltage_is_always_said() -> None:
    assert "under DC bias" in cautions()


def test_more_than_10_uf_on_a_5_v_entry_is_said() -> None:
    assert "is on it" in cautions(C_entry="10 µF", others=[{"part": "driver", "rail": "vbus"}])
    assert "is on it" not in cautions()


def test_the_entry_of_a_usb_board_keeps_both_limits_of_the_port() -> None:
    # USB 2.0, 7.2.4.1: 10 µF; USB-IF inrush test: 50 µC. With nothing typed in either calculator.
    most = judge(CapacitorSchedule()).rows("C_rail")["vbus"].spread
    inrush = judge(Inrush(C_bus=most))
    assert inrush.limit("usb-capacitance") == inrush.limit("usb-charge") == PASS
    assert most.low >= 1e-6  # a sink has 1 µF or more: cSnkBulk, TI TPS25741A


def test_an_entry_without_a_microfarad_is_said() -> None:
    (said,) = findings("bulk", CapacitorSchedule(C_entry="470 nF"))
    assert (said.where, said.serious) == ("entry", False)


def test_pins_that_a_thin_card_does_not_count_are_said(tmp_path: Path) -> None:
    thin = tmp_path / "thin.toml"
    thin.write_text(
        'name = "thin"\ntitle = "Thin"\nkind = "sensor"\npackage = "8 pins"\nsource = "invented"\n'
        "[pins.count]\nsupply = 1\nanalogue = 0\nreference = 0\nground = 1\n",
        encoding="utf-8",
    )
    assert "does not count these pins: core" in cautions(part=str(thin))


def test_an_analogue_pin_with_the_usual_value_is_to_be_compared_with_the_data_sheet() -> None:
    assert "It may need more than a supply pin" in cautions()
    assert "It may need more than a supply pin" not in cautions(part="brindle-48")


# ---- The worst case ------------------------------------------------------------------------


@pytest.mark.deeper
@pytest.mark.parametrize(
    "inputs",
    [{}, {"part": "brindle-48", "C_pin": "50 .. 500 nF", "C_bulk": "22 µF +80 -20 %"}],
    ids=["default", "card"],
)
def test_nothing_inside_the_spreads_is_worse_than_reported(inputs: dict[str, Any]) -> None:
    assert escapes(judge(CapacitorSchedule(inputs))) == []


# ---- Odd input -----------------------------------------------------------------------------


def test_units_may_be_mixed() -> None:
    mixed = judge(CapacitorSchedule(C_pin="0.1 µF", C_bulk="10000 nF"))
    assert mixed.listings == judge(CapacitorSchedule()).listings


@pytest.mark.parametrize(
    ("field", "given"),
    [
        ("C_pin", "200 .. 100 nF"),
        ("C_bulk", "inf F"),
        ("C_bulk", "-10 µF"),
        ("C_core", "470 nH"),
        ("part", "brindle-49"),
        ("pins", [{"kind": "power", "count": "1"}]),
        ("pins", [{"kind": "supply", "count": "-1"}]),
        ("rails", [{"rail": "3v3", "bulk": "1.5"}]),
        ("rails", [{"rail": "3v3"}, {"rail": "3v3"}]),
        ("others", [{"part": "flash"}, {"part": "flash"}]),
        ("others", [{"part": "flash", "rail": "3v4"}]),
        ("rail", "3v4"),
    ],
)
def test_what_cannot_be_meant_is_refused_by_the_name_of_its_field(field: str, given: Any) -> None:
    with pytest.raises(Refusal) as refused:
        judge(CapacitorSchedule({field: given}))
    assert refused.value.where.startswith(field)


def test_an_unknown_rail_is_told_the_nearest_one_and_its_row() -> None:
    others = [{"part": "flash", "rail": "3v3"}, {"part": "driver", "rail": "vbuss"}]
    with pytest.raises(Refusal) as refused:
        judge(CapacitorSchedule(others=others))
    assert (refused.value.where, refused.value.do) == ("others, row 2", "Nearest: vbus")


def test_a_card_that_states_nothing_at_its_core_pin_asks_for_it(tmp_path: Path) -> None:
    card = tmp_path / "own.toml"
    card.write_text(
        'name = "own"\ntitle = "Own part"\nkind = "mcu"\n'
        '[[pin]]\nname = "VDD"\nkind = "supply"\n[[pin]]\nname = "VCORE"\nkind = "core"\n',
        encoding="utf-8",
    )
    assert [f.where for f in findings("every-pin", CapacitorSchedule(part=str(card)))] == ["VCORE"]
    stated = CapacitorSchedule(part=str(card), C_core="1 µF")
    assert judge(stated).limit("every-pin") == PASS
