"""A judgement is the worst case: every corner counts, and what cannot be evaluated fails."""

from __future__ import annotations

import itertools
import math
import warnings
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from phases.kit import (
    Bound,
    Calculator,
    Check,
    Column,
    Count,
    Finding,
    Part,
    Quantity,
    Table,
    Verdictable,
    above,
    below,
    found,
    holds,
    inside,
    judge,
    limit,
    listing,
    not_applicable,
    output,
)
from phases.kit.arrays import Array
from phases.kit.bounds import worst
from phases.kit.judging import Figure, Verdict
from phases.kit.record import record_of
from phases.kit.refusals import Refusal
from phases.kit.spread import Spread
from tests.depth import deep


def judged_by(method: Callable[[Any], Verdictable], **more: Any) -> Verdict:
    """The verdict of one limit over x (4 V ± 25 %) and y (2 V ± 50 %)."""
    return verdicts_by(method, **more)[0]


def verdicts_by(
    method: Callable[[Any], Verdictable], *, given_: dict[str, Any] | None = None, **more: Any
) -> Sequence[Verdict]:
    class Made(Calculator, name="made", title="Made", per="board", source="own arithmetic"):
        """Made up for one limit."""

        x = Quantity("V", "x", default="4 V ± 25 %")
        y = Quantity("V", "y", default="2 V ± 50 %")
        free = Quantity("Ω", "resistor", free=True)
        cases = Table(
            "cases",
            (Column("case", "text"), Column("V", "V"), Column("must", "yes/no", default="yes")),
            default=({"case": "low", "V": "1 V"}, {"case": "high", "V": "8 V", "must": "no"}),
            scenarios=True,
        )
        checked = limit("Checked", unit="V", **more)(method)

    return judge(Made(given_ or {})).verdicts


# ---- the worst corner --------------------------------------------------------------------


def test_below_is_judged_where_the_value_is_greatest() -> None:
    verdict = judged_by(lambda c: below(c.x + c.y, 9.0))
    assert (verdict.value, verdict.bound, verdict.margin) == (8.0, 9.0, 1.0)
    assert verdict.verdict == "pass"
    assert verdict.corner == {"x": 5.0, "y": 3.0}


def test_above_is_judged_where_the_value_is_least() -> None:
    verdict = judged_by(lambda c: above(c.x - c.y, 0.5))
    assert (verdict.value, verdict.margin) == (0.0, -0.5)
    assert verdict.verdict == "fail"
    assert verdict.corner == {"x": 3.0, "y": 3.0}


def test_inside_is_judged_at_its_nearer_end() -> None:
    verdict = judged_by(lambda c: inside(c.x, 2.0, 5.5))
    assert (verdict.value, verdict.bound, verdict.margin) == (5.0, 5.5, 0.5)
    verdict = judged_by(lambda c: inside(c.x, 3.5, 10.0))
    assert (verdict.value, verdict.bound, verdict.margin) == (3.0, 3.5, -0.5)


def test_the_corner_names_only_inputs_that_have_a_spread() -> None:
    verdict = judged_by(lambda c: below(c.x + c.y, 9.0), given_={"y": "2 V"})
    assert verdict.corner == {"x": 5.0}


def test_a_bound_with_a_spread_of_its_own_is_part_of_the_corner() -> None:
    verdict = judged_by(lambda c: above(c.x, c.y))
    assert (verdict.value, verdict.bound, verdict.margin) == (3.0, 3.0, 0.0)


# ---- pass, marginal, fail ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("bound", "verdict"),
    [(4.99, "fail"), (5.0, "marginal"), (5.2, "marginal"), (5.27, "pass"), (6.0, "pass")],
)
def test_less_margin_than_asked_is_marginal_and_none_at_all_a_fail(
    bound: float, verdict: str
) -> None:
    assert judged_by(lambda c: below(c.x, bound)).verdict == verdict


def test_the_margin_asked_is_a_share_of_the_scale_that_is_given() -> None:
    assert judged_by(lambda c: below(c.x, 5.2, of=10.0), asked=0.05).verdict == "marginal"
    assert judged_by(lambda c: below(c.x, 5.2, of=1.0), asked=0.05).verdict == "pass"
    assert judged_by(lambda c: below(c.x, 6.0), asked=0.25).verdict == "marginal"


def test_a_margin_that_is_exactly_the_one_asked_passes() -> None:
    # 0.1 * 3 is no float, 0.3 V above 3 V is 10 % all the same.
    assert judged_by(lambda c: above(c.x + 0.1 + 0.2, 3.0), asked=0.1).verdict == "pass"


def test_where_no_margin_is_asked_a_value_at_its_limit_passes() -> None:
    verdict = judged_by(lambda c: below(c.x, 5.0), asked=0.0)
    assert (verdict.verdict, verdict.margin) == ("pass", 0.0)
    assert judged_by(lambda c: below(c.x * 1.1, 5.5), asked=0.0).verdict == "pass"


def test_the_thinnest_share_decides_where_the_scale_has_a_spread() -> None:
    # Own arithmetic: x = 5, scale 10: 1.0 left, 10 %; x = 3, scale 30: 1.2 left, 4 %.
    def method(c: Any) -> Bound:
        low_end = c.x < 4
        return Bound(c.x, 0.0, np.where(low_end, 1.2, 1.0), np.where(low_end, 30.0, 10.0), "above")

    verdict = judged_by(method)
    assert (verdict.verdict, verdict.margin) == ("marginal", 1.0)
    assert verdict.share == pytest.approx(0.04)


def test_a_printed_limit_is_granted_half_of_its_last_digit() -> None:
    granted = judged_by(lambda c: below(c.x, 4.96, digit=0.1), asked=0.0)
    assert (granted.verdict, granted.margin) == ("pass", 0.0)
    assert judged_by(lambda c: below(c.x, 4.94, digit=0.1), asked=0.0).verdict == "fail"
    assert judged_by(lambda c: below(c.x, 4.96), asked=0.0).verdict == "fail"
    assert judged_by(lambda c: inside(c.x, 3.04, 9.0, digit=0.1), asked=0.0).verdict == "pass"


# ---- what cannot be evaluated ------------------------------------------------------------


@pytest.mark.parametrize(
    "method",
    [
        lambda c: below(c.x * np.nan, 5.0),
        lambda c: below(c.x, np.nan),
        lambda c: above(np.log(-c.x), 1.0),
        lambda c: inside(c.x, np.nan, 5.0),
        lambda c: below(c.x, 9.0, of=np.nan),
        lambda c: below(0.0 * (c.x / 0.0), 9.0),
        lambda c: below(np.where(c.x > 4, np.nan, 1.0), 9.0),
        lambda c: below(np.where((c.x < 4) & (c.y > 2), np.nan, 1.0), 9.0),
    ],
)
def test_a_nan_in_any_corner_fails_and_says_so(method: Callable[[Any], Verdictable]) -> None:
    verdict = judged_by(method)
    assert verdict.verdict == "fail"
    assert math.isnan(verdict.margin)
    assert verdict.reason == "It cannot be evaluated with these values"


def test_a_check_that_is_neither_yes_nor_no_fails() -> None:
    assert judged_by(lambda c: holds(c.x * np.nan, "It must hold")).verdict == "fail"


def test_without_a_bound_there_is_all_the_margin() -> None:
    for verdict in (
        judged_by(lambda c: below(c.x, np.inf)),
        judged_by(lambda c: above(c.x, -np.inf)),
    ):
        assert (verdict.verdict, verdict.margin) == ("pass", np.inf)


def test_without_end_a_value_fails_a_bound() -> None:
    verdict = judged_by(lambda c: below(c.x / 0.0, 5.0))
    assert (verdict.verdict, verdict.margin) == ("fail", -np.inf)


def test_a_scale_of_zero_asks_for_nothing() -> None:
    assert judged_by(lambda c: below(c.x - 9.0, 0.0)).verdict == "pass"
    assert judged_by(lambda c: below(c.x - 5.0, 0.0)).verdict == "marginal"
    assert judged_by(lambda c: below(c.x - 4.0, 0.0)).verdict == "fail"


def test_a_blank_free_input_fails_and_says_which() -> None:
    verdict = judged_by(lambda c: below(c.x / c.free, 1.0))
    assert verdict.verdict == "fail"
    assert verdict.reason == "Not evaluated: resistor is blank"


def test_a_blank_input_hinders_only_what_reads_it() -> None:
    class Two(Calculator, name="two", title="Two", per="board", source="own arithmetic"):
        """One limit needs the free input, the other does not."""

        V = Quantity("V", "supply", default="5 V")
        R = Quantity("Ω", "resistor", free=True)

        @output("A", "current")
        def current(self) -> Array:
            return self.V / self.R

        @limit("Current", unit="A")
        def low(self) -> Bound:
            return below(self.current, 1.0)

        @limit("Supply", unit="V")
        def supply(self) -> Bound:
            return below(self.V, 6.0)

        def parts(self) -> Sequence[Part]:
            return [Part("R", f"{self.R.item():g} Ω", "in series")]

        def notes(self) -> Sequence[Finding]:
            return [Finding("R", f"It is {self.R.item():g} Ω", serious=False)]

    judged = judge(Two())
    assert (judged.limit("low"), judged.limit("supply")) == ("fail", "pass")
    assert math.isnan(judged.output("current").typ)
    assert (judged.parts, judged.notes, judged.picks) == ((), (), {})
    filled = judge(Two(R="10 Ω"))
    assert filled.output("current").typ == 0.5
    assert (filled.parts[0].words, filled.notes[0].what) == ("10 Ω, in series", "It is 10 Ω")


def test_an_input_that_cannot_be_read_refuses_the_whole() -> None:
    with pytest.raises(Refusal, match="x: A is not a unit of voltage"):
        judged_by(lambda c: below(c.x, 5.0), given_={"x": "5 A"})


# ---- kinds of limit ----------------------------------------------------------------------


def test_what_does_not_apply_carries_its_reason() -> None:
    verdict = judged_by(lambda c: not_applicable("There is no antenna"))
    assert (verdict.verdict, verdict.reason) == ("not applicable", "There is no antenna")
    assert math.isnan(verdict.value)


def test_a_check_holds_in_every_corner_or_fails_with_its_sentence() -> None:
    assert judged_by(lambda c: holds(c.x > 2.9, "x is low")).verdict == "pass"
    verdict = judged_by(lambda c: holds(c.x > 3.1, "x is low"))
    assert (verdict.verdict, verdict.reason) == ("fail", "x is low")
    assert judged_by(lambda c: holds(True, "")).verdict == "pass"
    assert judged_by(lambda c: holds(False, "no")).verdict == "fail"


def test_findings_fail_when_serious_are_marginal_as_cautions_and_pass_when_none() -> None:
    serious = Finding("CC2", "It floats", "Give it a pull-down")
    caution = Finding("CC1", "It is hot", serious=False)
    assert judged_by(lambda c: found()).verdict == "pass"
    assert judged_by(lambda c: found(caution)).verdict == "marginal"
    verdict = judged_by(lambda c: found(caution, serious))
    assert (verdict.verdict, verdict.findings) == ("fail", (caution, serious))


def test_the_whole_is_as_good_as_its_worst_limit() -> None:
    assert worst([]) == "not applicable"
    assert worst(["pass", "not applicable"]) == "pass"
    assert worst(["pass", "marginal", "pass"]) == "marginal"
    assert worst(["marginal", "fail", "not applicable"]) == "fail"


# ---- scenarios and tables ----------------------------------------------------------------


def test_scenarios_give_a_verdict_a_row() -> None:
    verdicts = verdicts_by(lambda c: below(c.cases["V"], c.x), along="cases")
    assert [(v.scenario, v.verdict, v.margin) for v in verdicts] == [
        ("low", "pass", 2.0),
        ("high", "fail", -5.0),
    ]
    assert [v.corner for v in verdicts] == [{"x": 3.0}, {"x": 3.0}]


def test_a_limit_that_does_not_differ_between_rows_still_says_so_for_each() -> None:
    verdicts = verdicts_by(lambda c: below(c.x, 9.0), along="cases")
    assert [(v.scenario, v.value) for v in verdicts] == [("low", 5.0), ("high", 5.0)]
    checks = verdicts_by(lambda c: holds(c.x < 9, "no"), along="cases")
    assert [v.scenario for v in checks] == ["low", "high"]


def test_rows_that_need_not_pass_say_why_and_count_for_nothing() -> None:
    def bound(c: Any) -> Bound:
        return below(
            c.cases["V"], c.x, where=c.cases["must"], otherwise="It need not run from this"
        )

    def check(c: Any) -> Check:
        return holds(c.cases["V"] < 2, "no", where=c.cases["must"], otherwise="It need not")

    verdicts = verdicts_by(bound, along="cases")
    assert [v.verdict for v in verdicts] == ["pass", "not applicable"]
    assert [v.reason for v in verdicts] == ["", "It need not run from this"]
    assert math.isnan(verdicts[1].margin)
    checks = verdicts_by(check, along="cases")
    assert [v.verdict for v in checks] == ["pass", "not applicable"]
    assert [v.reason for v in checks] == ["", "It need not"]


def test_corners_where_a_limit_does_not_apply_count_for_nothing() -> None:
    # At x = 5 it would fail, but it applies only below 4.
    assert judged_by(lambda c: below(c.x, 3.3, where=c.x < 4)).value == 3.0
    assert judged_by(lambda c: below(c.x, 3.3, where=c.x < 4)).verdict == "pass"
    assert judged_by(lambda c: holds(c.x < 4, "no", where=c.x < 4)).verdict == "pass"
    nan_elsewhere = judged_by(lambda c: below(np.where(c.x > 4, np.nan, c.x), 3.3, where=c.x < 4))
    assert nan_elsewhere.verdict == "pass"
    assert judged_by(lambda c: below(c.x, 3.3, where=c.x > 9)).verdict == "not applicable"


def test_each_row_says_its_own_reason() -> None:
    def method(c: Any) -> Bound:
        return below(np.where(c.cases["V"] > 5, np.nan, 9.0 + c.cases["V"]), 5.0)

    verdicts = verdicts_by(method, along="cases")
    assert [v.verdict for v in verdicts] == ["fail", "fail"]
    assert [v.reason for v in verdicts] == ["", "It cannot be evaluated with these values"]


def test_the_corner_of_a_row_holds_that_row_s_own_value() -> None:
    rows = [{"case": "a", "V": "1 .. 2 V"}, {"case": "b", "V": "3 .. 4 V"}]
    verdicts = verdicts_by(
        lambda c: below(c.cases["V"], c.x), along="cases", given_={"cases": rows, "x": "9 V"}
    )
    assert [v.corner for v in verdicts] == [{"cases.V": 2.0}, {"cases.V": 4.0}]


def test_where_no_row_can_be_named_the_corner_names_none() -> None:
    rows = [{"case": "a", "V": "1 .. 2 V"}, {"case": "b", "V": "3 .. 4 V"}]
    verdict = verdicts_by(lambda c: below(c.cases.sum(c.cases["V"]), c.x), given_={"cases": rows})[
        0
    ]
    assert (verdict.value, verdict.corner) == (6.0, {"x": 3.0})


def test_a_limit_over_all_rows_is_judged_at_the_worst_of_them() -> None:
    verdict = verdicts_by(lambda c: below(c.cases["V"], 9.0))[0]
    assert (verdict.value, verdict.scenario) == (8.0, None)


@pytest.mark.parametrize("along", [None, "cases"])
@pytest.mark.parametrize(
    "method",
    [lambda c: below(c.cases["V"], 9.0), lambda c: holds(c.cases["V"] < 9, "no")],
)
def test_a_table_without_rows_gives_no_verdict_and_says_so(
    method: Callable[[Any], Verdictable], along: str | None
) -> None:
    verdicts = verdicts_by(method, along=along, given_={"cases": []})
    (verdict,) = verdicts
    assert (verdict.verdict, verdict.reason) == ("not applicable", "The table has no rows")


# ---- outputs -----------------------------------------------------------------------------


class Outputs(Calculator, name="outputs", title="Outputs", per="board", source="own arithmetic"):
    """Outputs of several shapes."""

    x = Quantity("1", "x", default="0 .. 1", inside=True)
    x_ends = Quantity("1", "x, its ends only", default="0 .. 1")
    n = Count("count", default=3)
    rows = Table(
        "rows",
        (Column("row", "text"), Column("I", "A")),
        default=({"row": "a", "I": "1 A ± 10 %"}, {"row": "b", "I": "2 A"}),
    )

    @output("1", "greatest inside")
    def inner(self) -> Array:
        return self.x * (1.0 - self.x)

    @output("1", "at its ends")
    def ends(self) -> Array:
        return self.x_ends * (1.0 - self.x_ends)

    @output("1", "signed")
    def signed(self) -> Array:
        return self.x - 0.75

    @output("1", "constant")
    def constant(self) -> Any:
        return 7.0

    @output("1", "unknown")
    def unknown(self) -> Array:
        return np.where(self.x > 0.9, np.nan, 1.0)

    @output("A", "each", along="rows")
    def each(self) -> Array:
        return self.n * self.rows["I"]

    @output("1", "the same for each", along="rows")
    def same(self) -> Array:
        return self.x


def test_an_extreme_inside_a_spread_is_sampled_where_the_field_says_so() -> None:
    judged = judge(Outputs())
    assert (judged.output("inner").low, judged.output("inner").high) == (0.0, 0.25)
    # The typical value is always looked at; between it and the ends nothing is.
    assert (judged.output("ends").low, judged.output("ends").high) == (0.0, 0.25)
    off = judge(Outputs(x="0 / 0.9 / 1", x_ends="0 / 0.9 / 1"))
    assert off.output("inner").high == 0.25
    assert off.output("ends").high == pytest.approx(0.09)


def test_outputs_keep_their_sign() -> None:
    signed = judge(Outputs()).output("signed")
    assert (signed.low, signed.typ, signed.high) == (-0.75, -0.25, 0.25)


def test_an_output_need_not_depend_on_anything() -> None:
    assert judge(Outputs()).output("constant").spread == Spread.exact(7.0)


def test_an_output_unknown_in_one_corner_has_no_ends() -> None:
    unknown = judge(Outputs()).output("unknown")
    assert unknown.typ == 1.0
    assert math.isnan(unknown.low) and math.isnan(unknown.high)


def test_an_output_along_a_table_has_a_figure_a_row() -> None:
    judged = judge(Outputs())
    a = judged.rows("each")["a"]
    assert (a.low, a.typ, a.high) == pytest.approx((2.7, 3.0, 3.3))
    assert judged.rows("each")["b"].spread == Spread.exact(6.0)
    assert judged.rows("same")["b"] == Figure(0.0, 0.5, 1.0, "b")


def test_an_output_along_a_table_without_rows_has_no_figures() -> None:
    judged = judge(Outputs(rows=[]))
    assert judged.rows("each") == judged.rows("same") == {}


class Raising(Calculator, name="raising", title="Raising", per="board", source="a test"):
    """A formula that cannot digest some values."""

    x = Quantity("1", "x", default="1")

    @output("1", "what is raised")
    def y(self) -> Array:
        if (self.x == 1).all():
            return self.x
        raise {2: ValueError, 3: ZeroDivisionError, 4: KeyError}[int(self.x.max())]


@pytest.mark.parametrize("x", ["2", "3", "4", "5"])
def test_what_a_formula_cannot_digest_is_refused_in_a_sentence(x: str) -> None:
    with pytest.raises(Refusal, match="Raising cannot be computed with these values"):
        judge(Raising(x=x))
    assert judge(Raising()).output("y").typ == 1.0


# ---- against brute force -----------------------------------------------------------------

INPUTS = ("a", "b", "c", "d", "e")
Expression = str | float | tuple[str, Any, Any]

LEAVES = st.one_of(st.sampled_from(INPUTS), st.floats(-10, 10).map(lambda v: round(v, 3)))
EXPRESSIONS: st.SearchStrategy[Expression] = st.recursive(
    LEAVES,
    lambda inner: st.tuples(st.sampled_from(["+", "-", "*", "/", "max", "min"]), inner, inner),
    max_leaves=8,
)
ENDS = st.floats(-10, 10).map(lambda v: round(v, 2))
SPREADS = st.lists(
    st.tuples(ENDS, ENDS, ENDS).map(lambda ends: Spread(*sorted(ends))), min_size=5, max_size=5
)


def value_of(expression: Expression, read: Callable[[str], Any]) -> Any:
    if isinstance(expression, str):
        return read(expression)
    if isinstance(expression, float):
        return np.float64(expression)
    operator, left, right = expression
    x, y = value_of(left, read), value_of(right, read)
    with np.errstate(all="ignore"):
        return {
            "+": np.add,
            "-": np.subtract,
            "*": np.multiply,
            "/": np.divide,
            "max": np.maximum,
            "min": np.minimum,
        }[operator](x, y)


def made_of(expression: Expression, bound: float) -> type[Calculator]:
    body: dict[str, Any] = {name: Quantity("K", name, default="1 K") for name in INPUTS}
    body["value"] = output("K", "value")(
        lambda self: value_of(expression, lambda name: getattr(self, name))
    )
    body["low"] = limit("Low", unit="K")(lambda self: below(self.value, bound, of=10.0))
    declare: Any = type(Calculator)
    made: type[Calculator] = declare(
        "Made", (Calculator,), body, name="made", title="", per="board", source="own arithmetic"
    )
    return made


@settings(max_examples=deep(250))
@given(EXPRESSIONS, SPREADS, st.floats(-20, 20))
def test_the_worst_case_is_that_of_brute_force_over_all_corners(
    expression: Expression, spreads: list[Spread], bound: float
) -> None:
    given_ = dict(zip(INPUTS, spreads, strict=True))
    judged = judge(made_of(expression, bound)(given_))
    corners = [
        dict(zip(INPUTS, ends, strict=True))
        for ends in itertools.product(*({s.low, s.high} for s in spreads))
    ]
    values = [float(value_of(expression, corner.__getitem__)) for corner in corners]
    typ = float(value_of(expression, {n: s.typ for n, s in given_.items()}.__getitem__))
    figure, verdict = judged.output("value"), judged.verdicts[0]
    if any(map(math.isnan, values)):
        assert verdict.verdict == "fail"
        assert math.isnan(figure.high)
        return
    margin = bound - max(values)
    if not math.isnan(typ):
        assert figure.low == min(*values, typ)
        assert figure.high == max(*values, typ)
    assert verdict.margin == (0.0 if -1e-8 < margin < 0 else margin)
    expected = "fail" if margin < -1e-8 else "pass" if margin / 10 >= 0.05 - 1e-9 else "marginal"
    assert verdict.verdict == expected
    there = {n: verdict.corner.get(n, given_[n].typ) for n in INPUTS}
    assert float(value_of(expression, there.__getitem__)) == verdict.value


class Lists(Calculator, name="lists", title="Lists", per="board", source="a test"):
    """Two lists, one of which takes its time, and an output that divides by what may be zero."""

    x = Quantity("1", "divisor", default="0")

    @output("1", "quotient")
    def quotient(self) -> Array:
        return 1 / self.x

    @listing("quick")
    def quick(self) -> list[dict[str, Any]]:
        return [{"quotient": float(self.quotient.max())}]

    @listing("slow", later=True)
    def slow(self) -> list[dict[str, Any]]:
        return [{"twice": float((2 / self.x).max())}]


def test_a_list_that_takes_its_time_is_left_out_until_it_is_asked_for() -> None:
    judgement = judge(Lists(x="2"))
    assert judgement.listings == {"quick": [{"quotient": 0.5}]}
    assert judgement.later_listings() == {"slow": [{"twice": 1.0}]}
    assert set(record_of(judgement).listings) == {"quick", "slow"}
    assert set(record_of(judgement, advice=False).listings) == {"quick"}


def test_a_division_by_zero_is_a_value_and_warns_nobody() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert Lists().quotient.item() == math.inf
        judgement = judge(Lists())
        assert judgement.listings["quick"] == [{"quotient": math.inf}]
        assert judgement.later_listings()["slow"] == [{"twice": math.inf}]
        assert record_of(judgement).listings == {"quick": ({},), "slow": ({},)}
