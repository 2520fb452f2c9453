"""A calculation as lines: what stands where, in which words, at every width."""

from __future__ import annotations

import math

import pytest

from coach.terminal.drawing.calculation import (
    Advice,
    calculation_lines,
    cure_line,
    headline_lines,
    scaled,
)
from coach.terminal.drawing.curve import crossings, curve_legend, curve_sentence, ticks, value_at
from coach.terminal.drawing.input_lines import InputLine, hint_lines, input_lines, shrunk
from coach.terminal.drawing.lines import Line, width_of
from phases.kit.catalogue import calculator, calculators
from phases.kit.curves import Traced, trace
from phases.kit.drivers import drivers
from phases.kit.judging import Judgement, judge
from phases.kit.remedies import remedies

WIDTHS = (38, 50, 78, 118, 158)


def judged(name: str, **given: object) -> Judgement:
    return judge(calculator(name)(given))


def advice_on(judgement: Judgement) -> Advice:
    return Advice(tuple(remedies(judgement)), tuple(drivers(judgement)), judgement.later_listings())


def texts(lines: list[Line]) -> list[str]:
    return [one.text for one in lines]


def section(lines: list[Line], head: str) -> list[str]:
    """The lines under a heading, up to the next."""
    found: list[str] = []
    inside = False
    for one in lines:
        if not one.text.startswith(" "):
            inside = one.text.startswith(head)
        elif inside:
            found.append(one.text)
    return found


# ---- the verdict ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "words", "role"),
    [
        ({}, "Passes", "done"),
        ({"I_out": "300 mA"}, "Fails", "due"),
        ({"I_out": "230 mA"}, "Marginal", "doubt"),
    ],
)
def test_the_headline_has_the_role_of_its_verdict(
    given: dict[str, str], words: str, role: str
) -> None:
    (first, *_) = headline_lines(judged("linear-regulator", **given), 78)
    assert first.text.startswith(words)
    assert {span.role for span in first.spans} == {role}


def test_a_verdict_on_other_inputs_than_are_there_says_so() -> None:
    (first, *_) = headline_lines(judged("linear-regulator"), 80, "'x' is not a number")
    assert first.text.startswith("Last valid result; current entry not understood: Passes")
    assert first.spans[0].role == "quiet"


def test_where_nothing_was_judged_yet_the_reason_stands_there() -> None:
    (said,) = headline_lines(None, 60, "A rail is missing.")
    assert (said.text, said.spans[0].role) == ("Not judged. A rail is missing.", "due")
    typed = [InputLine("V", "V", "supply", "x", "hand", unread="'x' is not a number")]
    lines = calculation_lines(None, width=60, inputs=typed)
    assert "not read" in lines[1].text


# ---- inputs --------------------------------------------------------------------------------------


def test_an_input_has_its_value_its_origin_and_what_the_ledger_says_beside_a_hand() -> None:
    (one,) = input_lines(
        [InputLine("I", "I", "load current", "200 mA", "hand", "93 mA")], 80, cursor="I"
    )
    assert one.text.split() == [
        "▸",
        "load",
        "current",
        "200",
        "mA",
        "hand",
        "ledger:",
        "93",
        "mA",
    ]
    assert one.key == "I"


def test_a_blank_input_says_that_it_is_blank() -> None:
    (one,) = input_lines([InputLine("R", "R", "resistor", "", "blank")], 60)
    assert one.text.split() == ["resistor", "blank", "blank"]


def test_cells_of_a_table_stand_under_the_names_of_their_columns() -> None:
    lines = calculation_lines(judged("load-budget"), width=80)
    head = next(one.text for one in lines if one.text.lstrip().startswith("consumer "))
    row = next(one.text for one in lines if "microcontroller" in one.text)
    assert head.index("typical") == row.index("40 mA")
    assert head.index("duty") == row.index("100 %")


def test_the_line_below_names_the_cell_one_is_in() -> None:
    field = calculator("load-budget").fields["consumers"]
    one = InputLine("consumers#0", "consumers", "consumers", "a | b", "hand", row=0)
    assert texts(hint_lines(field, one, 2, 80, "")) == ["typical: current while on, in A"]
    assert texts(hint_lines(field, one, 9, 80, "")) == ["There is no such column"]


def test_the_line_below_shows_the_options_of_a_choice() -> None:
    field = calculator("strap").fields["level"]
    one = InputLine("level", "level", "wanted level", "low", "default")
    assert texts(hint_lines(field, one, 0, 80, "")) == ["default · low | high"]


def test_why_a_text_is_not_read_comes_before_everything_else() -> None:
    field = calculator("strap").fields["level"]
    one = InputLine(
        "level", "level", "wanted level", "x", "hand", unread="There is no such choice."
    )
    (said,) = hint_lines(field, one, 0, 80, "")
    assert (said.text, said.spans[0].role) == ("There is no such choice.", "due")


def test_wide_columns_give_way_first() -> None:
    assert shrunk([30, 6, 20], 40) == [17, 6, 17]
    assert shrunk([30, 30], 10) == [12, 12]


# ---- outputs -------------------------------------------------------------------------------------


def test_min_typ_and_max_stand_under_one_prefix_aligned_on_the_unit() -> None:
    lines = calculation_lines(judged("linear-regulator"), width=78)
    head = next(one.text for one in lines if one.text.startswith("Outputs"))
    rows = [t for t in section(lines, "Outputs") if "dissipation  " in t or "headroom" in t]
    for row, unit in zip(rows, ("V", "mW"), strict=True):
        at = row.rindex(unit)
        assert row[:at].rstrip()[-1] == row[head.index("max") + 2]
        assert at == head.index("max") + 4


def test_an_exact_output_is_one_number() -> None:
    lines = calculation_lines(judged("linear-regulator"), width=78)
    row = next(t for t in section(lines, "Outputs") if "current from the input" in t)
    assert row.split()[-2:] == ["155", "mA"]
    assert len(row.split()) == 6


def test_on_a_strip_the_typical_value_gives_way_to_the_worst_cases() -> None:
    lines = calculation_lines(judged("linear-regulator"), width=38)
    head = next(one.text for one in lines if one.text.startswith("Outputs"))
    assert head.split() == ["Outputs", "min", "max"]


@pytest.mark.parametrize(
    ("values", "unit", "numbers", "label"),
    [
        ((0.00047, 0.0012, 0.0031), "A", ["0.47", "1.2", "3.1"], "mA"),
        ((0.05, 0.1, 0.2), "%", ["5", "10", "20"], "%"),
        ((2e-4, 4e-4, 5e-4), "mm", ["0.2", "0.4", "0.5"], "mm"),
        ((0.0, 0.0, 0.0), "V", ["0", "0", "0"], "V"),
        ((1.5, 2.0, 3.0), "1", ["1.5", "2", "3"], ""),
        ((1e3, 2e3, math.inf), "Ω", ["1", "2", "unlimited"], "kΩ"),
        ((-0.5, 0.1, math.nan), "V", ["-500", "100", "unknown"], "mV"),
    ],
)
def test_one_prefix_serves_all_values_of_an_output(
    values: tuple[float, ...], unit: str, numbers: list[str], label: str
) -> None:
    assert scaled(values, unit) == (numbers, label)


# ---- limits --------------------------------------------------------------------------------------


def test_limits_stand_the_worst_first_each_with_its_verdict_in_front() -> None:
    judgement = judged("linear-regulator", I_out="300 mA")
    rows = section(calculation_lines(judgement, width=78), "Limits")
    assert rows[0] == "  fail      Junction 145 °C, limit 125 °C. Over by 19.7 K."
    assert all(row.startswith("  pass") for row in rows[1:])


def test_rows_a_limit_does_not_apply_to_share_a_line_and_its_reason() -> None:
    rows = section(calculation_lines(judged("strap"), width=200), "Limits")
    assert [row for row in rows if row.startswith("  n/a")] == [
        "  n/a       Level held (button or jumper): Here the override must win",
        "  n/a       Override wins (reset released; indicator or module on the pin; debug "
        "adapter attached, off; capacitor still charging): Here the pull must win",
    ]


# ---- what follows --------------------------------------------------------------------------------


def test_what_would_fix_it_and_what_drives_it_follow() -> None:
    judgement = judged("linear-regulator", I_out="300 mA")
    lines = calculation_lines(judgement, width=78, advice=advice_on(judgement))
    assert "  Passes with load current 222 mA or less" in section(lines, "What would fix it")
    assert section(lines, "Largest contributors")[0].startswith(
        "  Junction: θJA factor: your board / data sheet"
    )


def test_until_then_it_says_that_it_is_looking() -> None:
    judgement = judged("linear-regulator", I_out="300 mA")
    assert section(calculation_lines(judgement, width=78), "What would fix it") == ["  looking"]
    assert not section(calculation_lines(judged("linear-regulator"), width=78), "What would fix it")


def test_a_list_that_takes_its_time_follows_with_the_advice() -> None:
    judgement = judged("feedback-divider")
    assert section(calculation_lines(judgement, width=78), "best pairs") == ["  looking"]
    lines = calculation_lines(judgement, width=78, advice=advice_on(judgement))
    rows = section(lines, "best pairs")
    assert len(rows) == 1 + len(judgement.later_listings()["best_pairs"])
    stopped = calculation_lines(judgement, width=78, advice=Advice((), ()))
    assert "best pairs" not in texts(stopped)


def test_that_no_single_value_fixes_it_is_said() -> None:
    judgement = judged("linear-regulator", I_out="300 mA")
    (cure,) = cure_line(judgement, Advice((), ()), 78)
    assert cure.text == "No single input change fixes it."


def test_the_first_cure_is_one_that_this_calculation_has_in_its_hands() -> None:
    judgement = judged("linear-regulator", I_out="300 mA")
    (cure,) = cure_line(judgement, advice_on(judgement), 200)
    assert cure.text.startswith("Passes with ")
    assert "or load current 222 mA or less" in cure.text
    assert cure_line(judged("linear-regulator"), None, 78) == []


def test_parts_and_cautions_follow() -> None:
    lines = calculation_lines(judged("linear-regulator"), width=78)
    assert section(lines, "To draw") == ["  linear regulator, 3.3 V, 150 mA or more, input to rail"]
    assert section(lines, "Notes")[0].startswith("  caution   regulator: It gets too hot to touch")


def test_formulas_and_source_are_shown_when_asked_for() -> None:
    judgement = judged("linear-regulator")
    plain = calculation_lines(judgement, width=118)
    assert not section(plain, "Formulas")
    lines = calculation_lines(judgement, width=118, source=True)
    assert "  T_J           T_J = T_A + theta P_D" in section(lines, "Formulas")
    assert "SPRA953D" in section(lines, "Source")[0]
    assert any("input voltage 5.25 V" in row for row in section(lines, "Worst at"))


# ---- everywhere ----------------------------------------------------------------------------------


@pytest.mark.parametrize("name", calculators())
@pytest.mark.parametrize("width", WIDTHS)
def test_no_line_is_wider_than_its_room(name: str, width: int) -> None:
    judgement = judged(name)
    lines = calculation_lines(judgement, width=width, advice=advice_on(judgement), source=True)
    assert [one.text for one in lines if width_of(one.text) > width] == []


@pytest.mark.parametrize("name", calculators())
def test_every_limit_of_every_calculator_is_in_the_list(name: str) -> None:
    judgement = judged(name)
    rows = " ".join(section(calculation_lines(judgement, width=300), "Limits"))
    for verdict in judgement.verdicts:
        assert all(f.what in rows for f in verdict.findings)
        assert verdict.findings or verdict.title in rows


# ---- curves --------------------------------------------------------------------------------------


def traced(name: str, which: int = 0) -> Traced:
    kind = calculator(name)
    found = trace(judged(name).calculation, kind.curves[which])
    assert found is not None
    return found


def test_a_curve_in_words_says_its_ends_where_one_is_and_where_it_meets_the_limit() -> None:
    curve = traced("linear-regulator")
    (met,) = crossings(curve, "below")
    # Where the curve meets the limit, the remedy ends too: both are 235 mA at no margin asked.
    high = judged("linear-regulator", I_out=f"{met * 1e3:.2f} mA").output("T_J").high
    assert high == pytest.approx(125.0, abs=0.05)
    words = curve_sentence(curve, "below")
    assert words.startswith("Junction against load: ")
    assert "here, at 150 mA, up to 99.3 °C. Limit 125 °C, met at 235 mA." in words


def test_a_curve_without_a_limit_says_what_is_typical() -> None:
    words = curve_sentence(traced("debug-wiring"), "")
    assert "typically" in words and "Limit" not in words


def test_ticks_are_round_and_have_their_unit() -> None:
    amps = ["0 A", "200 mA", "400 mA", "600 mA", "800 mA", "1 A"]
    assert list(ticks(0.0, 1.0, "A", 6).values()) == amps
    assert list(ticks(-3.0, 41.0, "°C", 5)) == [0.0, 10.0, 20.0, 30.0, 40.0]
    decades = ["10 Ω", "100 Ω", "1 kΩ", "10 kΩ", "100 kΩ", "1 MΩ"]
    assert list(ticks(10.0, 1e6, "Ω", 6, log=True).values()) == decades
    assert list(ticks(1.0, 1.0, "V", 5)) == [1.0]


@pytest.mark.parametrize("most", [2, 3, 5, 8])
def test_there_are_never_more_ticks_than_have_room(most: int) -> None:
    for low, high in ((0.0, 0.37), (-12.0, 3e4), (1e-9, 4.4e-9), (999.0, 1001.0)):
        assert 1 <= len(ticks(low, high, "1", most)) <= most
        assert len(ticks(1.0, 1e9, "1", most, log=True)) <= most


def test_a_value_on_the_line_lies_straight_between_its_points() -> None:
    assert value_at((0.0, 1.0, 2.0), (0.0, 10.0, 30.0), 1.5) == 20.0
    assert value_at((0.0, 1.0), (5.0, 6.0), -1.0) == 5.0
    assert value_at((0.0, 1.0), (5.0, 6.0), 9.0) == 6.0


def test_the_legend_names_each_stroke_and_drops_whole_entries_where_it_is_narrow() -> None:
    curve = traced("linear-regulator")
    assert curve_legend(curve, 80).text == " ⠒⠒ typ   ⠒⠒ min max   ╌╌ limit 125 °C   ● here 150 mA"
    assert curve_legend(curve, 24).text == " ⠒⠒ typ   ⠒⠒ min max"
