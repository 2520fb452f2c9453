"""What is said of a reading: inside, outside, apart from the other boards, noted."""

from __future__ import annotations

import pytest

from coach.bringup.printing import text_of
from coach.bringup.readings import command_of, judged
from coach.sprint.commands import WithdrawMeasurement
from coach.sprint.events.afterwards import AS_EXPECTED
from phases.kit.refusals import Refusal
from tests.bringup.conftest import Bench, Make

RAIL = "rail.3v3.voltage"


@pytest.fixture
def meter(make: Make) -> Bench:
    return make("usb-bench-meter", "load-budget", "drop-chain@vbus", "linear-regulator@3v3")


def said(bench: Bench, board: str, point: str) -> tuple[str, str]:
    sheet = bench.sheet
    return judged(sheet, sheet.readings[board, point])


@pytest.mark.parametrize("text", ["3.31 V", "3.31", "3V31", "3310 mV"])
def test_a_reading_is_taken_as_written_on_paper(meter: Bench, text: str) -> None:
    meter.measure("1", RAIL, text)
    reading = meter.sheet.readings["1", RAIL]
    assert reading.value == pytest.approx(3.31)
    assert reading.verdict == "inside"


def test_inside_is_said_with_the_window(meter: Bench) -> None:
    meter.measure("1", RAIL, "3.31 V")
    assert said(meter, "1", RAIL) == ("3.31 V, inside 3.2 .. 3.4 V.", "done")


def test_a_bare_number_is_said_with_its_unit(meter: Bench) -> None:
    meter.measure("1", RAIL, "3.31")
    assert said(meter, "1", RAIL)[0].startswith("3.31 V, inside")


def test_a_bare_number_is_kept_with_the_unit_it_was_read_in(meter: Bench) -> None:
    point = "supply.vbus.limit"
    assert meter.step(point).expected.unit == "A"
    meter.measure("1", point, "190")
    reading = meter.sheet.readings["1", point]
    assert (reading.text, reading.value) == ("190 mA", pytest.approx(0.19))


def test_words_where_a_number_is_judged_are_a_remark_and_no_answer(meter: Bench) -> None:
    point = "supply.vbus.idle"
    meter.measure("1", point, "warm")
    sheet = meter.sheet
    text, role = said(meter, "1", point)
    assert text.startswith("Noted: warm. Enter a number: at most ")
    assert role == "due"
    assert not sheet.answered(sheet.by_id[point], "1")
    assert "[1] warm, noted, a number is still wanted" in text_of(sheet)


@pytest.mark.parametrize(
    ("point", "words"),
    [
        ("rail.vbus.resistance", "OL"),
        ("rail.3v3.indicator", "dark"),
        ("look.polarity", "one turned"),
        (RAIL, "not fitted"),
        (RAIL, "3.9 V"),
        ("debug.answers", "no answer"),
    ],
)
def test_what_answers_a_step_settles_it(meter: Bench, point: str, words: str) -> None:
    meter.measure("1", point, words)
    sheet = meter.sheet
    assert sheet.answered(sheet.by_id[point], "1")


@pytest.mark.parametrize("text", ["3.20 V", "3.40 V"])
def test_an_end_as_it_is_printed_is_inside(meter: Bench, text: str) -> None:
    meter.measure("1", RAIL, text)
    assert meter.sheet.readings["1", RAIL].verdict == "inside"


def test_outside_is_said_with_how_far_and_what_to_look_at_first(meter: Bench) -> None:
    meter.measure("1", RAIL, "3.61 V")
    text, role = said(meter, "1", RAIL)
    assert text.startswith("3.61 V, outside 3.2 .. 3.4 V, over by 210 mV. Look first at: ")
    assert "still open: " in text.lower()
    assert role == "due"


def test_words_are_noted_and_compared_with_what_was_expected(meter: Bench) -> None:
    meter.measure("1", "rail.3v3.indicator", "dark")
    assert meter.sheet.readings["1", "rail.3v3.indicator"].verdict == "noted"
    assert said(meter, "1", "rail.3v3.indicator") == ("Noted: dark. Expected: lit.", "plain")


def test_an_ohmmeter_beyond_its_range_is_above_a_lower_end(meter: Bench) -> None:
    meter.measure("1", "rail.vbus.resistance", "OL")
    reading = meter.sheet.readings["1", "rail.vbus.resistance"]
    assert (reading.value, reading.verdict) == (None, "inside")


def test_as_expected_is_enough_where_the_answer_is_words(meter: Bench) -> None:
    meter.measure("1", "look.polarity", AS_EXPECTED)
    assert said(meter, "1", "look.polarity") == ("Noted: as expected.", "done")


@pytest.mark.parametrize("text", ["3,31 V", "3.3 A", "3.3 kg", "1e999"])
def test_what_cannot_be_read_is_refused_with_a_sentence(meter: Bench, text: str) -> None:
    with pytest.raises(Refusal):
        meter.do(command_of(meter.step(RAIL), "1", text))
    assert not meter.sheet.readings


def test_a_difference_may_be_below_zero(make: Make) -> None:
    from tests.bringup.made_briefs import made_brief

    bench = make(made_brief(interfaces="c"))
    bench.measure("1", "bus.can1.difference", "-0.02 V")
    assert bench.sheet.readings["1", "bus.can1.difference"].verdict == "inside"


def test_the_second_board_is_held_against_the_first(meter: Bench) -> None:
    meter.measure("1", RAIL, "3.30 V")
    meter.measure("2", RAIL, "3.37 V")
    assert said(meter, "2", RAIL) == (
        "3.37 V, inside 3.2 .. 3.4 V, but board 1 read 3.30 V.",
        "due",
    )


def test_the_first_board_is_not_held_against_the_second(meter: Bench) -> None:
    meter.measure("1", RAIL, "3.30 V")
    meter.measure("2", RAIL, "3.37 V")
    assert said(meter, "1", RAIL) == ("3.30 V, inside 3.2 .. 3.4 V.", "done")


def test_what_two_meters_differ_by_is_not_pointed_out(meter: Bench) -> None:
    meter.measure("1", RAIL, "3.30 V")
    meter.measure("2", RAIL, "3.32 V")
    assert said(meter, "2", RAIL)[0] == "3.32 V, inside 3.2 .. 3.4 V."


def test_several_boards_are_held_against_their_own_spread(meter: Bench) -> None:
    for board, text in (("1", "3.25"), ("2", "3.30"), ("3", "3.33"), ("4", "3.39")):
        meter.measure(board, RAIL, text)
    assert said(meter, "3", RAIL)[0].startswith("3.33 V, inside 3.2 .. 3.4 V.")
    assert said(meter, "4", RAIL)[0] == "3.39 V, inside 3.2 .. 3.4 V."
    meter.do(WithdrawMeasurement("1", RAIL))
    text, role = said(meter, "4", RAIL)
    assert text == "3.39 V, inside 3.2 .. 3.4 V, but 2 other boards read 3.3 V .. 3.33 V."
    assert role == "due"


def test_a_board_that_was_outside_is_no_example(meter: Bench) -> None:
    meter.measure("1", RAIL, "2.9 V")
    meter.measure("2", RAIL, "3.31 V")
    assert said(meter, "2", RAIL)[0] == "3.31 V, inside 3.2 .. 3.4 V."


def test_what_was_expected_stays_for_the_second_board(meter: Bench) -> None:
    before = meter.step(RAIL).expected
    meter.measure("1", RAIL, "3.38 V")
    assert meter.step(RAIL).expected == before


@pytest.mark.parametrize("text", ["OL", "ol", "O.L", "open"])
def test_an_open_contact_is_more_than_any_upper_end(meter: Bench, text: str) -> None:
    """A pull-down that is not fitted: the ohmmeter shows that nothing is there."""
    point = "connector.j-usb.cc-resistance"
    meter.measure("1", point, text)
    reading = meter.sheet.readings["1", point]
    assert (reading.value, reading.verdict) == (None, "outside")
    words, role = said(meter, "1", point)
    assert words.startswith(f"{text}, outside ")
    assert role == "due"
