"""What an output says of the bench: its texts, what is right, and how that gets into the record."""

from __future__ import annotations

import math
from typing import Any

import pytest

from phases.kit import (
    Bench,
    Bound,
    Calculator,
    Choice,
    Column,
    Quantity,
    Table,
    Words,
    above,
    below,
    judge,
    limit,
    output,
)
from phases.kit.arrays import Array
from phases.kit.bench import fill
from phases.kit.calculator import SUBJECT_KINDS
from phases.kit.catalogue import calculators
from phases.kit.expected import Expected
from phases.kit.facts import check_value, find_fact
from phases.kit.record import BenchRecord, Record, record_of

NAMES = {"rail": "3v3", "parent": "vin", "load": "pump"}


# ---- texts -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "filled"),
    [
        ("the regulator of {rail}", "the regulator of 3v3"),
        ("as it is", "as it is"),
        ("{pin} level", "level"),
        ("lit[, {I_F}]", "lit"),
        ("Measure[. Switch off if {parent} sags].", "Measure. Switch off if vin sags."),
        ("from[ {parent}] to[ {pin}] {rail}", "from vin to 3v3"),
        ("[both {rail} and {pin} known] or not", "or not"),
        ("", ""),
    ],
)
def test_names_are_put_in_and_clauses_go_with_what_is_not_known(text: str, filled: str) -> None:
    assert fill(text, NAMES) == filled


def test_what_is_put_in_is_not_read_again() -> None:
    hostile = {"rail": "{parent} [x] {rail}", "parent": "never"}
    assert fill("at {rail}", hostile) == "at {parent} [x] {rail}"
    assert fill("[at {rail}]", hostile) == "at {parent} [x] {rail}"


# ---- the record --------------------------------------------------------------------------------


class Lamp(Calculator, name="lamp", title="Lamp", per="rail", source="own arithmetic"):
    """How bright?"""

    V = Quantity("V", "supply", default="4.75 / 5 / 5.25 V")
    R = Quantity("Ω", "resistor", default="100 Ω ± 10 %")
    T_A = Quantity("°C", "ambient", default="20 .. 40 °C", ledger="board.ambient")
    colour = Words("colour", default="red")
    side = Choice("which end", ("low", "high"), default="low")
    states = Table(
        "states",
        (Column("state", "text", "state"), Column("R", "Ω", "path", default="100 Ω")),
        default=({"state": "on"}, {"state": "dim", "R": "1 kΩ"}),
        scenarios=True,
    )

    @output(
        "A",
        "current",
        publishes="rail.{rail}.lamp",
        bench=Bench("current", title="{colour} lamp of {rail}", words="lit[, {T}]"),
    )
    def current(self) -> Array:
        return self.V / self.R

    @output("°C", "temperature", bench=Bench("heat"))
    def T(self) -> Array:
        return self.T_A + 2 * self.V

    @output(
        "V",
        "at the pin",
        along="states",
        bench=Bench("level", point=".level", row="dim", limit="edge", when={"boot_rom": True}),
    )
    def V_pin(self) -> Array:
        return self.V * self.R / (self.R + self.states["R"])

    @output(
        "V",
        "ripple",
        publishes="rail.{rail}.ripple",
        when={"regulator": "linear"},
        bench=Bench("ripple", ends="high"),
    )
    def ripple(self) -> Array:
        return self.V / 1000

    @output("V", "unknown", bench=Bench("voltage", point="load.{load}.voltage"))
    def unknown(self) -> Array:
        return self.V * math.nan

    @output("F", "capacitance", bench=Bench("ripple", unit="V", words="a few millivolts"))
    def C(self) -> Array:
        return self.V * 1e-6

    @limit("Edge", unit="V", along="states")
    def edge(self) -> Bound:
        wanted = 0.3337 * self.V
        return below(self.V_pin, wanted) if self.side == "low" else above(self.V_pin, wanted)


def recorded(*, facts: Any = None, names: Any = NAMES, **given: str) -> Record:
    known = (lambda when: (facts or {}).get(next(iter(when)))) if facts else (lambda when: None)
    return record_of(judge(Lamp(given, names=names, facts=known)), "3v3")


def bench(record: Record, name: str) -> BenchRecord:
    found = record.outputs[name].bench
    assert found is not None
    return found


def test_the_point_of_an_output_is_its_ledger_name_and_its_window_the_figure() -> None:
    # 4.75 V / 110 Ω = 43.18 mA, 5 V / 100 Ω = 50 mA, 5.25 V / 90 Ω = 58.33 mA; outwards.
    one = bench(recorded(), "current")
    assert one.point == "rail.3v3.lamp"
    assert (one.low, one.typ, one.high) == (0.0431, 0.05, 0.0584)
    assert one.title == "red lamp of 3v3"


def test_another_output_is_said_with_its_ends() -> None:
    # 20 °C + 2 x 4.75 = 29.5, 40 + 10.5 = 50.5; to two digits.
    assert bench(recorded(), "current").words == "lit, 30 °C .. 50 °C"


def test_a_temperature_is_expected_by_its_rise_on_a_bench() -> None:
    # 25 + 2 x 5 = 35, 25 + 2 x 5.25 = 35.5 °C: the ambient of the bench and not that of the board.
    one = bench(recorded(), "T")
    assert (one.low, one.typ, one.high) == (None, 35.0, 35.5)
    assert one.point == ".T"
    assert one.how == "its rise above a bench of 25 °C"


def test_a_limit_s_bound_is_rounded_to_the_safe_side() -> None:
    # At the worst corner of the row: 0.3337 x 4.75 = 1.585 V, below which a low is sure: 1.58 V;
    # for a high 0.3337 x 5.25 = 1.7519 V: 1.76 V.
    low, high = bench(recorded(), "V_pin"), bench(recorded(side="high"), "V_pin")
    assert (low.low, low.high) == (None, pytest.approx(1.58))
    assert (high.low, high.high) == (pytest.approx(1.76), None)
    assert low.how.startswith("computed ")


def test_a_row_that_is_not_there_has_no_figure() -> None:
    one = bench(recorded(states=[{"state": "off", "R": "1 kΩ"}]), "V_pin")  # type: ignore[arg-type]
    assert not one.expected.judged


def test_what_cannot_be_evaluated_has_no_figure() -> None:
    assert bench(recorded(), "unknown").expected == Expected(unit="V")


def test_another_unit_is_measured_in_words() -> None:
    assert bench(recorded(), "C").expected == Expected(unit="V", words="a few millivolts")


def test_only_the_upper_end_where_only_that_counts() -> None:
    one = bench(recorded(), "ripple")
    assert (one.low, one.high) == (None, 0.00525)


def test_facts_take_a_point_off_the_sheet() -> None:
    linear = recorded(facts={"regulator": True, "boot_rom": True})
    assert linear.outputs["ripple"].bench and linear.outputs["V_pin"].bench
    other = recorded(facts={"regulator": False, "boot_rom": False})
    assert other.outputs["ripple"].bench is None  # another calculation gives it
    assert other.outputs["V_pin"].bench is None  # not on this board
    assert other.outputs["current"].bench


def test_a_point_whose_subject_is_not_known_is_nowhere() -> None:
    record = recorded(names={"rail": "3v3"})
    assert record.outputs["unknown"].bench is None
    assert record.outputs["current"].bench


def test_the_record_comes_back_from_a_journal_as_it_was() -> None:
    record = recorded()
    assert Record.model_validate(record.model_dump(exclude_defaults=True)) == record


# ---- every calculator --------------------------------------------------------------------------


def test_what_calculators_declare_for_the_bench_can_be_made() -> None:
    filled = {kind: f"{kind}1" for kind in SUBJECT_KINDS}
    names = {**filled, "parent": "vin", "entry": "vin", "mcu_rail": "3v3"}
    faults, declared = [], 0
    for name, kind in calculators().items():
        own = {key: word for key, word in names.items() if key in (kind.per, "entry", "mcu_rail")}
        own |= {"parent": "vin"} if kind.per == "rail" else {"rail": "3v3"}
        record = record_of(judge(kind(names=own)), advice=False)
        for out in kind.outputs.values():
            if out.bench is None:
                continue
            declared += 1
            made = record.outputs[out.name].bench
            for fact, value in (out.bench.when or {}).items():
                assert check_value(find_fact(fact), value) == value
            if bool(out.along) is not bool(out.bench.row):
                faults.append(f"{name}.{out.name}: a row for an output along a table, and no other")
            if out.bench.limit and out.bench.limit not in kind.limits:
                faults.append(f"{name}.{out.name}: there is no limit {out.bench.limit}")
            if made is None or not (made.expected.judged or made.words):
                faults.append(f"{name}.{out.name}: nothing is expected")
            if made and "{" in made.model_dump_json().replace("{", "", 1):
                faults.append(f"{name}.{out.name}: a name is left as it is")
    assert faults == []
    assert declared >= 12
