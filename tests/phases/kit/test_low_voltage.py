"""Only low voltage is sized: whatever is above it is refused in the same words everywhere."""

from __future__ import annotations

import pytest

from phases.kit import Calculator, SupplyVoltage, SupplyWindow, judge, output
from phases.kit.arrays import Array
from phases.kit.catalogue import calculators
from phases.kit.low_voltage import HIGHEST_AC, HIGHEST_DC, refuse_high, refuse_mains
from phases.kit.refusals import Refusal
from phases.kit.spread import Spread


class Supplied(Calculator, name="supplied", title="Supplied", per="board", source="a test"):
    """Reads a supply and a window."""

    V = SupplyVoltage("supply", default="5 V", least=1.0, ledger="rail.vin.voltage")
    V_ok = SupplyWindow("allowed", default="3 .. 6 V")

    @output("V", "sum")
    def both(self) -> Array:
        return self.V + self.V_ok.low


def test_60_v_dc_and_30_v_ac_are_the_bounds() -> None:
    # UL class 2 and IEC 62368-1, energy source class 1 (both from memory).
    assert (HIGHEST_DC, HIGHEST_AC) == (60.0, 30.0)


@pytest.mark.parametrize("text", ["60 V", "18 .. 60 V", "57 V ± 5 %", "3V3", "48"])
def test_low_voltage_is_read_as_any_quantity(text: str) -> None:
    assert Supplied(V=text).text("V") == text
    assert judge(Supplied(V=text)).output("both").typ > 3


@pytest.mark.parametrize("text", ["60.1 V", "12 .. 61 V", "60 V ± 1 %", "0.4 kV", "325"])
@pytest.mark.parametrize("field", ["V", "V_ok"])
def test_more_is_refused_by_name_and_with_where_it_belongs(text: str, field: str) -> None:
    with pytest.raises(Refusal) as caught:
        judge(Supplied({field: text}))
    said = str(caught.value)
    assert said.startswith(f"{field}: ")
    assert "above 60 V DC; the coach sizes low-voltage boards and refuses mains" in said
    assert "licensed practice" in said


@pytest.mark.parametrize("text", ["24 V AC", "230VAC", "~24 V", "12 vac", "mains", "5 V ac"])
def test_alternating_supplies_are_refused_at_any_voltage(text: str) -> None:
    with pytest.raises(Refusal) as caught:
        judge(Supplied(V=text))
    assert "30 V AC" in str(caught.value)
    assert "licensed practice" in str(caught.value)


def test_what_comes_as_numbers_is_held_to_the_same() -> None:
    for given in (61.0, 61, Spread(50.0, 55.0, 61.0)):
        with pytest.raises(Refusal, match="60 V DC"):
            judge(Supplied(V=given))
    assert judge(Supplied(V=Spread(50.0, 55.0, 60.0))).output("both").high == 63.0


def test_its_own_bound_and_a_wrong_unit_are_refused_as_in_any_field() -> None:
    with pytest.raises(Refusal, match="too small"):
        judge(Supplied(V="0.5 V"))
    with pytest.raises(Refusal, match="unit"):
        judge(Supplied(V="5 A"))


@pytest.mark.parametrize("text", ["active supply", "Vacuum pump", "backup", "5 V", "traces"])
def test_innocent_words_are_no_mains(text: str) -> None:
    refuse_mains(text)
    refuse_high(text, 60.0)


def test_a_supply_is_described_as_a_quantity_in_volts() -> None:
    described = Supplied.fields["V"].described()
    assert (described["kind"], described["unit"]) == ("quantity", "V")


def test_every_calculator_of_the_power_entry_refuses_a_supply_above_60_v() -> None:
    for kind in calculators().values():
        if kind.phase != "power-entry" or kind.name == "type-c-sink":  # which has no such input
            continue
        supplies = [
            n for n, f in kind.fields.items() if isinstance(f, SupplyVoltage | SupplyWindow)
        ]
        assert supplies, kind.name
        for name in supplies:
            with pytest.raises(Refusal, match="low-voltage"):
                judge(kind({name: "61 V"}))
