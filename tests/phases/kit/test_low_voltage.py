"""Only low voltage is sized: whatever is above it is refused in the same words everywhere."""

from __future__ import annotations

import re

import pytest

from phases.kit import (
    Calculator,
    SupplyColumn,
    SupplyVoltage,
    SupplyWindow,
    Table,
    judge,
    output,
)
from phases.kit.arrays import Array
from phases.kit.catalogue import calculators
from phases.kit.low_voltage import HIGHEST_DC, refuse_high, refuse_mains
from phases.kit.refusals import Refusal
from phases.kit.spread import Spread


class Supplied(Calculator, name="supplied", title="Supplied", per="board", source="a test"):
    """Reads a supply and a window."""

    V = SupplyVoltage("supply", default="5 V", least=1.0, ledger="rail.vin.voltage")
    V_ok = SupplyWindow("allowed", default="3 .. 6 V")

    @output("V", "sum")
    def both(self) -> Array:
        return self.V + self.V_ok.low


def test_60_v_dc_is_the_bound() -> None:
    # UL class 2 and IEC 62368-1, energy source class 1 (both from memory).
    assert HIGHEST_DC == 60.0


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
    assert "above 60 V DC: low-voltage DC boards only" in said
    assert "Have a qualified person handle" in said


@pytest.mark.parametrize("text", ["24 V AC", "230VAC", "~24 V", "12 vac", "mains", "5 V ac"])
def test_alternating_supplies_are_refused_at_any_voltage(text: str) -> None:
    with pytest.raises(Refusal) as caught:
        judge(Supplied(V=text))
    assert "mains and AC supplies are refused" in str(caught.value)
    assert "Have a qualified person handle" in str(caught.value)


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
    with pytest.raises(Refusal):
        judge(Supplied(V="\x1b[31m5"))


@pytest.mark.parametrize("text", ["active supply", "Vacuum pump", "backup", "5 V", "traces"])
def test_innocent_words_are_no_mains(text: str) -> None:
    refuse_mains(text)
    refuse_high(text, 60.0)


def test_a_supply_is_described_as_a_quantity_in_volts() -> None:
    described = Supplied.fields["V"].described()
    assert (described["kind"], described["unit"]) == ("quantity", "V")


def test_a_column_of_supplies_names_the_row_that_is_too_high() -> None:
    table = Table("rails", (SupplyColumn("voltage", least=0.1),), default=())
    table.__set_name__(object, "rails")
    for given in ("230 V", "12 V AC", 61, Spread(50.0, 55.0, 61.0)):
        with pytest.raises(Refusal, match="low-voltage") as caught:
            table.read([{"voltage": "5 V"}, {"voltage": given}])
        assert caught.value.where == "rails, row 2, voltage"
    with pytest.raises(Refusal, match="too small"):
        table.read([{"voltage": "0 V"}])
    assert table.read([{"voltage": "60 V"}])[0].texts == ({"voltage": "60 V"},)


# ---- in every calculator -----------------------------------------------------------------

_SUPPLY = re.compile(r"\b(supply|input|output|rail|source|bus)\b")
_RAIL = re.compile(r"rail\.\{\w+\}\.\w*(voltage|window)")
RATINGS = re.compile(r"absolute maximum|abs. max.|recommended max|rated|ripple")
"""What a part stands may be more than is sized here, and a ripple is no supply."""


def _supplies() -> list[tuple[str, str, str]]:
    """(calculator, field, column) of all that is a supply by its title or by what feeds it."""
    found = []
    for kind in calculators().values():
        for name, field in kind.fields.items():
            fed = _RAIL.fullmatch(field.ledger or "") is not None
            if getattr(field, "unit", "") == "V" and (fed or _is_supply(field.title)):
                found.append((kind.name, name, ""))
            for column in field.columns.values() if isinstance(field, Table) else ():
                of_rails = field.ledger == "board.rails"
                if column.kind == "V" and (of_rails or _is_supply(column.title)):
                    found.append((kind.name, name, column.name))
    return found


def _is_supply(title: str) -> bool:
    return _SUPPLY.search(title) is not None and RATINGS.search(title) is None


def test_the_supplies_are_found_by_title_and_by_ledger() -> None:
    found = set(_supplies())
    assert len(found) >= 18
    assert found >= {
        ("indicator", "V", ""),
        ("strap", "V", ""),
        ("linear-regulator", "V_out", ""),
        ("output-capacitor", "V", ""),
        ("feedback-divider", "V_out", ""),
        ("load-budget", "rails", "voltage"),
        ("capacitor-schedule", "rails", "voltage"),
        ("type-c-sink", "sources", "V"),
    }


@pytest.mark.parametrize("given", ["230 V", "61 V", "230VAC", "24 V AC"])
@pytest.mark.parametrize(("calculator", "name", "column"), _supplies())
def test_every_calculator_refuses_a_supply_that_is_not_low(
    calculator: str, name: str, column: str, given: str
) -> None:
    kind = calculators()[calculator]
    field = kind.fields[name]
    value: object = given
    if column:
        value = [dict(field.default[0]), {**field.default[0], column: given}]
    with pytest.raises(Refusal, match="low-voltage DC boards only") as caught:
        judge(kind({name: value}))
    assert caught.value.where == (f"{name}, row 2, {column}" if column else name)
