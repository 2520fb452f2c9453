"""What the load budget says of each rail: sums, conversion, ratings, the source."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest

from phases.kit import Judgement, judge
from phases.kit.bounds import VERDICTS
from phases.kit.inputs import Supply
from phases.kit.refusals import Refusal
from phases.regulation.load_budget import LoadBudget
from tests.phases.sampling import POINTS, escapes

ENTRY = {"rail": "24v", "voltage": "18 .. 30 V", "rating": "1 A"}
FIVE = {
    "rail": "5v",
    "parent": "24v",
    "kind": "switching",
    "voltage": "5 V ± 3 %",
    "efficiency": "80 .. 90 %",
    "rating": "500 mA",
}
THREE = {
    "rail": "3v3",
    "parent": "5v",
    "kind": "linear",
    "voltage": "3.3 V ± 2 %",
    "rating": "300 mA",
}
ONE_EIGHT = {
    "rail": "1v8",
    "parent": "3v3",
    "kind": "switching",
    "voltage": "1.8 V ± 2 %",
    "efficiency": "85 .. 92 %",
    "rating": "200 mA",
}
CHAIN = [ENTRY, FIVE, THREE, ONE_EIGHT]


def draws(rail: str, typical: str, peak: str, **more: Any) -> dict[str, Any]:
    return {"consumer": f"on {rail}", "rail": rail, "typical": typical, "peak": peak, **more}


def budget(consumers: Sequence[dict[str, Any]], rails: Any = CHAIN, **more: Any) -> Judgement:
    return judge(LoadBudget(consumers=consumers, rails=rails, **more))


def verdicts(judged: Judgement, limit: str) -> dict[str | None, str]:
    return {v.scenario: v.verdict for v in judged.verdicts if v.limit == limit}


# ---- Sums --------------------------------------------------------------------------------


def test_count_and_duty_make_the_average_and_count_alone_the_peak() -> None:
    judged = budget([draws("5v", "20 mA", "60 mA", duty="25 %", count=4)])
    assert judged.rows("load")["5v"].typ == pytest.approx(0.020)
    assert judged.rows("peak")["5v"].typ == pytest.approx(0.240)


def test_without_duty_and_count_there_is_one_and_it_is_always_on() -> None:
    judged = budget([draws("5v", "20 mA", "60 mA")])
    assert judged.rows("load")["5v"].typ == pytest.approx(0.020)
    assert judged.rows("peak")["5v"].typ == pytest.approx(0.060)


def test_a_typical_current_above_the_peak_counts_as_the_peak() -> None:
    assert budget([draws("5v", "80 mA", "60 mA")]).rows("peak")["5v"].typ == pytest.approx(0.080)


def test_a_linear_regulator_a_switch_and_a_filter_pass_their_current_on() -> None:
    for kind in ("linear", "switch", "none", ""):
        rails = [{"rail": "in", "voltage": "5 V"}, {**THREE, "parent": "in", "kind": kind}]
        judged = budget([draws("3v3", "40 mA", "90 mA")], rails)
        assert judged.rows("peak")["in"].typ == pytest.approx(0.090)
        assert judged.rows("load")["in"].typ == pytest.approx(0.040)


def test_a_switching_converter_passes_its_power_on_over_its_efficiency() -> None:
    rails = [
        {"rail": "in", "voltage": "12 V"},
        {"rail": "5v", "parent": "in", "kind": "switching", "voltage": "5 V", "efficiency": "80 %"},
    ]
    judged = budget([draws("5v", "240 mA", "480 mA"), draws("in", "1 mA", "2 mA")], rails)
    # Own arithmetic: 0.48 A 5 V / (0.8 12 V) = 0.25 A, and 2 mA of its own.
    assert judged.rows("peak")["in"].typ == pytest.approx(0.252)
    assert judged.rows("load")["in"].typ == pytest.approx(0.126)


def test_the_worst_of_a_converter_is_its_output_high_its_input_and_efficiency_low() -> None:
    judged = budget([draws("5v", "100 mA", "400 mA")], [ENTRY, FIVE])
    figure = judged.rows("peak")["24v"]
    assert figure.high == pytest.approx(0.4 * 5.15 / (0.80 * 18))
    assert figure.low == pytest.approx(0.4 * 4.85 / (0.90 * 30))


def test_a_rail_between_two_converters_does_not_count_its_own_voltage_twice() -> None:
    middle = {
        "rail": "5v",
        "parent": "in",
        "kind": "switching",
        "voltage": "4 .. 6 V",
        "efficiency": "80 %",
    }
    last = {
        "rail": "1v8",
        "parent": "5v",
        "kind": "switching",
        "voltage": "1.8 V",
        "efficiency": "90 %",
    }
    judged = budget(
        [draws("1v8", "500 mA", "500 mA")], [{"rail": "in", "voltage": "12 V"}, middle, last]
    )
    power = 0.5 * 1.8 / 0.9 / 0.8
    entry = judged.rows("peak")["in"]
    assert (entry.low, entry.high) == pytest.approx((power / 12, power / 12))
    assert judged.rows("peak")["5v"].high == pytest.approx(0.5 * 1.8 / 0.9 / 4)


def test_rails_may_stand_in_any_order() -> None:
    consumers = [draws(rail["rail"], "10 mA", "30 mA") for rail in CHAIN]
    forwards, backwards = budget(consumers), budget(consumers[::-1], CHAIN[::-1])
    assert forwards.rows("peak") == backwards.rows("peak")


def test_the_board_takes_what_its_entry_rails_take() -> None:
    rails = [{"rail": "usb", "voltage": "5 V"}, {"rail": "cell", "voltage": "3 V"}]
    judged = budget([draws("usb", "30 mA", "50 mA"), draws("cell", "4 mA", "9 mA")], rails)
    assert judged.output("board").typ == pytest.approx(0.034)


# ---- Ratings and the source --------------------------------------------------------------


@pytest.mark.parametrize(
    ("peak", "verdict"),
    [
        ("0 A", "pass"),
        ("240 mA", "pass"),
        ("241 mA", "marginal"),
        ("300 mA", "marginal"),
        ("301 mA", "fail"),
        ("90 A", "fail"),
        ("200 .. 310 mA", "fail"),
    ],
)
def test_a_rating_fails_below_the_demand_and_is_marginal_below_a_quarter_more(
    peak: str, verdict: str
) -> None:
    judged = budget([draws("3v3", "0 A", peak)])
    assert verdicts(judged, "rating")["3v3"] == verdict


def test_the_corner_named_is_the_one_that_made_the_figure() -> None:
    # 1 A at 5 V behind a converter from a cell: most current flows where the cell is emptiest.
    rails = [
        {"rail": "cell", "voltage": "3.0 .. 4.2 V", "rating": "3 A"},
        {
            "rail": "5v",
            "parent": "cell",
            "kind": "switching",
            "voltage": "5 V",
            "efficiency": "100 %",
        },
    ]
    judged = budget([draws("5v", "1 A", "1 A")], rails)
    (cell,) = (v for v in judged.verdicts if v.limit == "rating" and v.scenario == "cell")
    assert cell.bound == pytest.approx(5 / 3)
    assert cell.corner["rails.voltage"] == 3.0


def test_a_rail_without_a_rating_gets_no_verdict_and_says_so() -> None:
    rails = [{**ENTRY, "rating": ""}, {**FIVE, "rating": "0 A"}, THREE]
    judged = budget([draws("3v3", "10 mA", "400 mA")], rails)
    assert verdicts(judged, "rating") == {
        "24v": "not applicable",
        "5v": "not applicable",
        "3v3": "fail",
    }
    reasons = {v.scenario: v.reason for v in judged.verdicts if v.limit == "rating"}
    assert "No rating" in reasons["24v"]
    assert "No rating" not in reasons["3v3"]


@pytest.mark.parametrize(
    ("source", "verdict"), [("400 mA", "fail"), ("510 mA", "marginal"), ("1 A", "pass")]
)
def test_the_source_must_carry_the_peak_of_the_entry_rail(source: str, verdict: str) -> None:
    rails = [{"rail": "vbus", "voltage": "5 V"}, {**THREE, "parent": "vbus", "rating": "1 A"}]
    judged = budget([draws("3v3", "100 mA", "500 mA")], rails, I_source=source)
    assert judged.limit("source") == verdict


def test_what_a_charger_takes_counts_at_the_source() -> None:
    rails = [{"rail": "vbus", "voltage": "5 V"}, {**THREE, "parent": "vbus", "rating": "1 A"}]
    load = draws("3v3", "100 mA", "200 mA")
    for charge, verdict in (("200 mA", "pass"), ("290 mA", "marginal"), ("310 mA", "fail")):
        judged = budget([load], rails, I_source="500 mA", I_charge=charge)
        assert judged.limit("source") == verdict
        assert judged.rows("peak")["vbus"].typ == pytest.approx(0.2)


def test_a_step_up_converter_takes_more_current_than_it_gives() -> None:
    cell = {"rail": "cell", "voltage": "2.5 V"}
    up = {"rail": "5v", "parent": "cell", "kind": "step-up", "voltage": "5 V", "efficiency": "80 %"}
    judged = budget([draws("5v", "80 mA", "80 mA")], [cell, up])
    assert judged.rows("peak")["cell"].typ == pytest.approx(0.08 * 5 / 0.8 / 2.5)


def test_less_than_twice_the_demand_is_said_beside_the_figures() -> None:
    assert not budget([draws("3v3", "1 mA", "100 mA")], [ENTRY, FIVE, THREE]).notes
    said = budget([draws("3v3", "1 mA", "200 mA")]).notes
    assert [(note.where, note.serious) for note in said] == [("3v3", False)]
    assert "1.5 times" in said[0].what


def test_a_rail_that_nothing_is_said_to_make_is_named() -> None:
    for kind, said in (("", ["5v"]), ("none", [])):
        rails = [ENTRY, {"rail": "5v", "parent": "24v", "kind": kind, "voltage": "5 V"}]
        assert [n.where for n in budget([draws("5v", "1 mA", "2 mA")], rails).notes] == said


# ---- From the brief and for the ledger ---------------------------------------------------


def test_consumers_rails_and_source_come_from_the_brief() -> None:
    given: dict[str, Any] = {
        "board.consumers": [
            {
                "consumer": "motor",
                "rail": "vm",
                "typical": "1 A",
                "peak": "2 A",
                "duty": "10 %",
                "count": "1",
            },
        ],
        "board.rails": [
            {"rail": "vm", "parent": "", "kind": "", "voltage": "12 V", "rating": ""},
        ],
        "source.allowed": "1.5 A",
    }

    def ledger(name: str) -> Supply | None:
        return Supply(given[name], "brief", "brief") if name in given else None

    judged = judge(LoadBudget(lookup=ledger))
    assert judged.rows("load")["vm"].typ == pytest.approx(0.1)
    assert judged.limit("source") == "fail"


def test_it_owns_the_average_and_the_peak_of_each_rail() -> None:
    published = {o.publishes for o in judge(LoadBudget()).outputs if o.publishes}
    assert published == {"rail.{row}.load", "rail.{row}.peak", "board.load"}


# ---- What is refused ---------------------------------------------------------------------


def refusal(consumers: Any, rails: Any = CHAIN) -> Refusal:
    with pytest.raises(Refusal) as caught:
        budget(consumers, rails)
    return caught.value


def test_a_consumer_on_an_unknown_rail_names_its_row_and_the_nearest_rail() -> None:
    said = refusal([draws("3v3", "1 mA", "1 mA"), draws("3v", "1 mA", "1 mA")])
    assert "consumers, row 2" in said.where
    assert "3v3" in said.do


def test_an_unknown_parent_names_its_row_and_the_nearest_rail() -> None:
    said = refusal([], [ENTRY, {**FIVE, "parent": "24"}])
    assert (said.where, said.do) == ("rails, row 2", "Nearest: 24v")


@pytest.mark.parametrize(
    "rails",
    [
        [{"rail": "a", "parent": "a", "voltage": "5 V"}],
        [
            {"rail": "a", "parent": "b", "voltage": "5 V"},
            {"rail": "b", "parent": "a", "voltage": "5 V"},
        ],
        [
            ENTRY,
            {"rail": "a", "parent": "b", "voltage": "5 V"},
            {"rail": "b", "parent": "a", "voltage": "5 V"},
        ],
    ],
)
def test_rails_made_from_one_another_are_refused(rails: list[dict[str, str]]) -> None:
    said = refusal([], rails)
    assert "made from one another" in said.what
    assert "24v" not in said.what


@pytest.mark.parametrize(
    ("consumers", "rails"),
    [
        ([], []),
        ([], [ENTRY, ENTRY]),
        ([], [{**ENTRY, "voltage": "0 V"}]),
        ([], [{**ENTRY, "voltage": "30 .. 18 V"}]),
        ([], [ENTRY, {**FIVE, "efficiency": "0 %"}]),
        ([], [ENTRY, {**FIVE, "efficiency": "120 %"}]),
        ([], [ENTRY, {**FIVE, "kind": "magic"}]),
        ([draws("5v", "5 V", "1 A")], CHAIN),
        ([draws("5v", "1 mA", "1 mA", duty="150 %")], CHAIN),
        ([draws("5v", "1 mA", "1 mA", count="2.5")], CHAIN),
        ([draws("5v", "1 mA", "")], CHAIN),
    ],
)
def test_what_cannot_be_meant_is_refused_in_one_sentence(consumers: Any, rails: Any) -> None:
    refusal(consumers, rails)


def test_no_consumers_draw_nothing() -> None:
    judged = budget([])
    assert judged.rows("peak")["24v"].high == 0.0
    assert judged.verdict == "pass"


def test_mixed_units_mean_the_same() -> None:
    plain = budget([draws("3v3", "20 mA", "0.09 A")])
    other = budget([draws("3v3", "20000 µA", "90 mA", duty="100 %", count="1")])
    assert plain.rows("peak") == other.rows("peak")


# ---- In general --------------------------------------------------------------------------

LOADS = [
    draws("24v", "1 .. 3 mA", "2 .. 8 mA"),
    draws("5v", "30 mA ± 20 %", "60 .. 90 mA", duty="20 .. 60 %"),
    draws("3v3", "40 mA ± 10 %", "70 .. 120 mA", count=2),
    draws("1v8", "50 .. 60 mA", "80 .. 150 mA"),
]


def test_every_verdict_is_reached() -> None:
    reached = {
        v.verdict
        for peak in ("10 mA", "280 mA", "400 mA")
        for v in budget(
            [draws("3v3", "0 A", peak)], [{**ENTRY, "rating": ""}, FIVE, THREE]
        ).verdicts
    }
    assert reached == set(VERDICTS)


@pytest.mark.deeper
def test_no_random_point_gets_out_of_what_is_reported() -> None:
    judged = budget(LOADS, I_source="0.9 .. 1.1 A")
    assert escapes(judged) == []


def test_a_hundred_thousand_boards_worked_out_apart_stay_within_what_is_reported() -> None:
    # The helper draws the cells of a table once a chunk; here each point has its own cells, and
    # the chain 24 V, 5 V switching, 3.3 V linear, 1.8 V switching is worked out by hand.
    dice = np.random.default_rng(3)

    def drawn(low: float, high: float) -> Any:
        return dice.uniform(low, high, POINTS)

    V24, V5, V33, V18 = drawn(18, 30), drawn(4.85, 5.15), drawn(3.234, 3.366), drawn(1.764, 1.836)
    eta5, eta18 = drawn(0.80, 0.90), drawn(0.85, 0.92)
    I18 = drawn(0.08, 0.15)
    I33 = 2 * drawn(0.07, 0.12) + I18 * V18 / (eta18 * V33)
    I5 = drawn(0.06, 0.09) + I33
    I24 = drawn(2e-3, 8e-3) + I5 * V5 / (eta5 * V24)
    reported = budget(LOADS).rows("peak")
    for rail, amperes in (("1v8", I18), ("3v3", I33), ("5v", I5), ("24v", I24)):
        assert reported[rail].low <= amperes.min() < reported[rail].low * 1.25
        assert reported[rail].high >= amperes.max() > reported[rail].high * 0.85
