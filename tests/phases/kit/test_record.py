"""A record can be told without computing, comes back from a journal, and runs again."""

from __future__ import annotations

import json
import math
import tomllib
from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
import pytest
import tomli_w
from pydantic import ValidationError

from phases.kit import (
    Bound,
    Calculator,
    Choice,
    Column,
    Curve,
    Finding,
    Findings,
    Part,
    Quantity,
    Table,
    Verdictable,
    Window,
    above,
    below,
    found,
    judge,
    limit,
    listing,
    not_applicable,
    output,
    proposal,
)
from phases.kit.arrays import Array
from phases.kit.inputs import Given, Supply
from phases.kit.record import Record, ledger_name, record_of
from phases.kit.spread import Spread


class Everything(Calculator, name="everything", title="", per="rail", source="own", version=3):
    """A calculation with every kind of input and answer."""

    V = Quantity("V", "supply", default="5 V ± 5 %", ledger="rail.{parent}.voltage", span=(1, 9))
    d = Quantity("mm", "width", default="0.2 mm")
    R = Quantity("Ω", "resistor", free=True)
    span = Window("V", "allowed", default="3 .. 6 V")
    kind = Choice("kind", ("one", "two"), default="one")
    loads = Table(
        "loads",
        (Column("load", "text"), Column("I", "A", default="1 mA")),
        default=({"load": "a", "I": "10 mA ± 10 %"}, {"load": "b"}),
        scenarios=True,
    )

    @proposal("R", tolerance="1 %")
    def round_ones(self) -> Iterator[float]:
        yield from (100.0, 1000.0, 10_000.0)

    @output("A", "current", publishes="rail.{rail}.current")
    def I(self) -> Array:  # noqa: E743
        return self.V / self.R

    @output("A", "each", along="loads", publishes="load.{row}.current")
    def each(self) -> Array:
        return self.loads["I"]

    @output("V", "never published", publishes="clock.{clock}.voltage")
    def V_clock(self) -> Array:
        return self.V

    @output("V", "unknown", publishes="rail.{rail}.unknown")
    def unknown(self) -> Array:
        return self.V * np.nan

    @output("V", "half known", publishes="rail.{rail}.half")
    def half_known(self) -> Array:
        return np.where(self.V > 5, np.nan, self.V)

    @output("V", "without end", publishes="rail.{rail}.endless")
    def endless(self) -> Array:
        return self.V / 0.0

    @output("A", "with a pole", publishes="rail.{rail}.pole")
    def pole(self) -> Array:
        return 1.0 / (self.V - 3.0)

    @listing("pins")
    def pins(self) -> list[dict[str, Any]]:
        return [{"pin": "1", "signal": "V"}, {"pin": "2"}]

    @limit("Current", unit="A")
    def current(self) -> Bound:
        return below(self.I, 4e-3)

    @limit("Loads", unit="A", along="loads")
    def each_load(self) -> Bound:
        return below(self.loads["I"], 5e-3, where=self.kind == "one", otherwise="Only of kind one")

    @limit("Window", unit="V")
    def window(self) -> Bound:
        return above(self.V, self.span.low)

    @limit("Never", unit="V")
    def never(self) -> Verdictable:
        return not_applicable("It never does")

    @limit("Unknown", unit="V")
    def unknown_limit(self) -> Bound:
        return below(self.unknown, 5.0)

    @limit("Endless", unit="V")
    def endless_limit(self) -> Bound:
        return below(self.V, np.inf)

    @limit("Connections")
    def connections(self) -> Findings:
        return found(Finding("CC2", "It floats", "Give it a pull-down"))

    curves = (Curve("Pole against supply", x="V", y="pole", span=(1.0, 5.0), limit="current"),)

    def parts(self) -> list[Part]:
        return [Part("R", self.text("R"), "V to GND", 2)]

    def notes(self) -> list[Finding]:
        return [Finding("R", "It is warm", serious=False)]


NAMES = {"rail": "3v3", "parent": "vbus"}


def calculation(**given: Any) -> Everything:
    supply = Supply(Spread(4.5, 5.0, 5.5), "ledger", "drop-chain@vbus")
    return Everything(given, lookup={"rail.vbus.voltage": supply}.get, names=NAMES)


def kept(**given: Any) -> dict[str, Any]:
    return as_kept(record_of(judge(calculation(**given)), "3v3"))


def as_kept(record: Record) -> dict[str, Any]:
    """As a journal keeps it: without what is at its default."""
    return record.model_dump(mode="json", exclude_defaults=True)


def given_of(kept_: Mapping[str, Any]) -> dict[str, Given]:
    """What has to be given again, from a record alone."""
    return {
        field: Given(entry["rows"] if "rows" in entry else entry["text"], entry["origin"])
        for field, entry in kept_["inputs"].items()
        if entry["origin"] in ("hand", "proposed")
    }


# ---- plain data --------------------------------------------------------------------------


@pytest.mark.parametrize("advice", [True, False])
def test_everything_a_judgement_says_is_plain_json(advice: bool) -> None:
    record = record_of(judge(calculation()), advice=advice)
    said = record.model_dump(mode="json")
    assert json.loads(json.dumps(said, allow_nan=False)) == said
    assert bool(said["drivers"]) is advice
    assert bool(record.listings) is True


def test_a_record_comes_back_from_toml_as_it_was() -> None:
    record = record_of(judge(calculation()), "3v3")
    text = tomli_w.dumps(as_kept(record))
    assert Record.model_validate(tomllib.loads(text)) == record


def test_a_record_says_whose_it_is_and_how_it_came_out() -> None:
    record = record_of(judge(calculation()), "3v3")
    assert (record.calculator, record.version, record.subject) == ("everything", 3, "3v3")
    assert record.verdict == "fail"
    assert record.verdict_of("window") == "pass"
    assert record.verdict_of("each-load") == "fail", "the worst of its rows"
    assert record.verdict_of("moon") is None


@pytest.mark.parametrize(
    "spoilt",
    [
        {"calculator": None},
        {"limits": [{"name": "x", "verdict": "perhaps"}]},
        {"parts": [{"role": "", "what": "x", "where": ""}]},
        {"parts": [{"role": "R", "what": "x", "where": "", "count": 10**9}]},
        {"inputs": {"V": {"text": "5 V", "origin": "hand", "min": 2.0, "max": 1.0}}},
        {"inputs": {"V": {"text": "5 V", "origin": "hand", "min": 3.0, "typ": 2.0, "max": 1.0}}},
        {"outputs": {"V": {"unit": "V", "title": "x", "min": float("nan")}}},
        {"outputs": {"V": {"unit": "V", "title": "x", "min": 1e30, "typ": 1e30, "max": 1e30}}},
        {"curve": {"title": "", "x": [1.0, 2.0], "y": [1.0], "x_unit": "V", "y_unit": "V"}},
        {"more": 1},
    ],
)
def test_what_no_calculator_wrote_is_no_record(spoilt: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        Record.model_validate({**kept(), **spoilt})


def test_texts_of_a_record_are_cleaned_where_they_come_in() -> None:
    part = {"role": "R", "what": "10 k\x1b[31mΩ", "where": "a\nb"}
    record = Record.model_validate({**kept(), "parts": [part]})
    assert record.parts[0].words == "10 kΩ, a b"


def test_a_record_is_small() -> None:
    assert len(json.dumps(kept())) < 8000


# ---- inputs ------------------------------------------------------------------------------


def test_inputs_are_kept_as_typed_and_as_read_with_their_origin() -> None:
    inputs = kept(d="8 mil")["inputs"]
    assert inputs["V"] == {
        "text": "5 V ± 10 %",
        "min": 4.5,
        "typ": 5.0,
        "max": 5.5,
        "unit": "V",
        "origin": "ledger",
        "ledger": "rail.vbus.voltage",
        "owner": "drop-chain@vbus",
    }
    assert inputs["d"] == {
        "text": "8 mil",
        "min": 2.032e-4,
        "typ": 2.032e-4,
        "max": 2.032e-4,
        "unit": "m",
        "origin": "hand",
    }
    assert inputs["kind"] == {"text": "one", "origin": "default"}
    assert (inputs["span"]["min"], inputs["span"]["max"]) == (3.0, 6.0)
    assert inputs["R"]["origin"] == "proposed"


def test_a_hand_typed_input_keeps_what_the_ledger_said_beside_it() -> None:
    assert kept(V="4.8 V")["inputs"]["V"]["beside"] == "5 V ± 10 %"


def test_a_table_is_kept_as_the_texts_of_its_cells() -> None:
    entry = kept()["inputs"]["loads"]
    assert entry["text"] == "2 rows"
    assert entry["rows"] == [{"load": "a", "I": "10 mA ± 10 %"}, {"load": "b", "I": "1 mA"}]


def test_a_record_runs_again_to_the_same_record() -> None:
    first = kept(
        V="4.7 / 5 / 5.2 V",
        R="1k",
        kind="t",
        span="3.1 .. 5.9",
        d=0.3,
        loads="a;10 mA\nb;1 .. 2 mA",
    )
    through_toml = tomllib.loads(tomli_w.dumps(first))
    assert kept(**given_of(through_toml)) == first


def test_a_pick_stays_a_proposal_when_it_runs_again() -> None:
    first = kept()
    assert given_of(first) == {"R": Given("10 kΩ ± 1 %", "proposed")}
    assert kept(**given_of(first)) == first


# ---- answers -----------------------------------------------------------------------------


def test_numbers_are_si_to_twelve_digits() -> None:
    one = kept(R="3k ± 1 %")
    assert one["outputs"]["I"]["typ"] == 0.00166666666667
    assert one["outputs"]["I"]["unit"] == "A"


def test_an_output_along_a_table_is_kept_by_row() -> None:
    each = kept()["outputs"]["each"]
    assert [row["row"] for row in each["rows"]] == ["a", "b"]
    assert each["rows"][0]["max"] == pytest.approx(0.011)
    assert "min" not in each


def test_an_end_that_is_not_finite_is_left_out_and_there_is_no_spread_then() -> None:
    outputs = record_of(judge(calculation())).outputs
    assert [outputs[name].spread for name in ("unknown", "half_known", "endless")] == [None] * 3
    assert (outputs["half_known"].typ, outputs["half_known"].max) == (5.0, None)
    assert "typ" not in kept()["outputs"]["unknown"]


def test_limits_are_kept_with_value_bound_margin_corner_and_their_sentence() -> None:
    limits = {(e["name"], e.get("scenario")): e for e in kept()["limits"]}
    window = limits["window", None]
    assert (window["verdict"], window["value"], window["bound"]) == ("pass", 4.5, 3.0)
    assert (window["margin"], window["share"], window["unit"]) == (1.5, 0.5, "V")
    assert window["corner"] == {"V": 4.5}
    assert window["message"] == "Window 4.5 V, at least 3 V. 1.5 V to spare."
    assert limits["each-load", "a"]["verdict"] == "fail"
    assert limits["each-load", "b"]["verdict"] == "pass"
    assert limits["never", None]["message"] == "Never: It never does."
    assert "value" not in limits["unknown-limit", None]
    assert limits["endless-limit", None]["verdict"] == "pass"
    assert "margin" not in limits["endless-limit", None]
    assert limits["connections", None]["message"] == "CC2: It floats. Give it a pull-down."


def test_parts_findings_listings_and_picks_are_kept() -> None:
    one = kept()
    assert one["parts"] == [{"role": "R", "what": "10 kΩ ± 1 %", "where": "V to GND", "count": 2}]
    assert one["findings"] == [
        {"where": "CC2", "what": "It floats", "cure": "Give it a pull-down", "kind": "fault"},
        {"where": "R", "what": "It is warm", "kind": "caution"},
    ]
    assert one["listings"]["pins"] == [{"pin": "1", "signal": "V"}, {"pin": "2"}]
    assert one["picks"] == {"R": "10 kΩ ± 1 %"}


# ---- advice ------------------------------------------------------------------------------


class Hot(Calculator, name="hot", title="Hot", per="board", source="own arithmetic"):
    """One limit that fails."""

    P = Quantity("W", "power", default="2 W ± 10 %", span=(1e-3, 10.0))

    @limit("Power", unit="W", asked=0.0)
    def power(self) -> Bound:
        return below(self.P, 1.1)


def test_remedies_are_kept_in_words_and_as_intervals_with_open_ends() -> None:
    (one,) = record_of(judge(Hot())).remedies
    assert one.message == "Passes with power 1 W or less, typical"
    assert [(interval.min, interval.max) for interval in one.intervals] == [(None, 1.0)]
    assert (one.field, one.cures, one.unit) == ("P", ("power",), "W")


def test_drivers_are_kept_with_what_they_cost() -> None:
    assert as_kept(record_of(judge(Hot())))["drivers"] == [
        {"limit": "power", "field": "P", "gain": 0.2, "unit": "W"}
    ]


# ---- published, curve --------------------------------------------------------------------


def test_published_names_are_filled_in_with_the_names_of_the_subject() -> None:
    values = record_of(judge(calculation(R="1 kΩ"))).published
    assert set(values) == {
        "rail.3v3.current",
        "load.a.current",
        "load.b.current",
        "rail.3v3.pole",
    }
    assert values["rail.3v3.current"] == Spread(0.0045, 0.005, 0.0055)


def test_a_name_without_a_number_is_not_published() -> None:
    names = record_of(judge(calculation())).published
    assert not {"rail.3v3.unknown", "rail.3v3.half", "rail.3v3.endless"} & set(names)
    assert all(math.isfinite(value.low + value.typ + value.high) for value in names.values())


def test_a_name_the_subject_lacks_is_not_published() -> None:
    assert ledger_name("clock.{clock}.voltage", NAMES, None) is None
    assert ledger_name("load.{row}.current", NAMES, "a") == "load.a.current"
    assert ledger_name("board.load", {}, None) == "board.load"


def test_the_curve_is_kept_with_33_points_less_those_that_have_no_value() -> None:
    curve = kept()["curve"]
    assert (curve["title"], curve["x_unit"], curve["y_unit"]) == ("Pole against supply", "V", "A")
    assert len(curve["x"]) == len(curve["y"])
    # 1 .. 5.5 V in 33 points: none falls on the pole at 3 V; on 1 .. 5 V the middle one does.
    assert len(curve["x"]) == 33
    exact = kept(V="5 V")["curve"]
    assert len(exact["x"]) == 32
    assert 3.0 not in exact["x"]


def test_the_curve_is_kept_with_its_limit_and_where_the_calculation_stands() -> None:
    class Divided(Calculator, name="divided", title="", per="board", source="own arithmetic"):
        """An output that must stay above its limit: the low edge meets it first."""

        V = Quantity("V", "supply", default="5 V ± 10 %", span=(1.0, 9.0))
        k = Quantity("1", "ratio", default="0.4 .. 0.6")

        @output("V", "divided")
        def divided(self) -> Array:
            return self.k * self.V

        @limit("divided", unit="V")
        def enough(self) -> Bound:
            return above(self.divided, 1.5)

        curves = (Curve("Divided against supply", x="V", y="divided", limit="enough"),)

    curve = as_kept(record_of(judge(Divided())))["curve"]
    assert curve["at"] == 5.0
    assert set(curve["bound"]) == {1.5}
    assert len(curve["bound"]) == len(curve["x"]) == len(curve["y"])
    assert (curve["y"][0], curve["y"][-1]) == (0.4, 3.6)  # 0.4 x 1 V and 0.4 x 9 V


def test_a_blank_calculation_can_be_kept_too() -> None:
    class Blank(Calculator, name="blank", title="", per="board", source="own arithmetic"):
        """A free input for which there is no candidate."""

        R = Quantity("Ω", "resistor", free=True)

        @output("Ω", "twice", publishes="board.twice")
        def twice(self) -> Array:
            return 2 * self.R

        @limit("Twice", unit="Ω")
        def low(self) -> Bound:
            return below(self.twice, 1.0)

        curves = (Curve("Twice", x="R", y="twice"),)

    record = record_of(judge(Blank()))
    one = as_kept(record)
    assert one["inputs"]["R"] == {"text": "", "unit": "Ω", "origin": "blank"}
    assert record.published == {}
    assert "curve" not in one
    assert one["limits"][0]["message"] == "Twice: Not evaluated: resistor is blank."
    assert tomllib.loads(tomli_w.dumps(one)) == one
