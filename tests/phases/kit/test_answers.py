"""A calculation in a sentence, and in one line."""

from __future__ import annotations

from phases.kit.answers import headline, short_answer
from phases.kit.catalogue import calculator
from phases.kit.judging import Judgement, judge


def judged(name: str, **given: object) -> Judgement:
    return judge(calculator(name)(given))


def test_what_passes_says_so_with_its_tightest_margin() -> None:
    words = headline(judged("linear-regulator"))
    assert words == "Passes; tightest margin: junction, 25.7 K."


def test_what_fails_says_by_how_much() -> None:
    words = headline(judged("linear-regulator", I_out="300 mA"))
    assert words == "Fails: Junction 145 °C, limit 125 °C. Over by 19.7 K."


def test_several_that_fail_are_counted() -> None:
    words = headline(judged("linear-regulator", V_in="3.5 .. 12 V"))
    assert words.startswith("Fails: Junction")
    assert words.endswith("And 2 more.")


def test_what_holds_narrowly_is_marginal() -> None:
    words = headline(judged("linear-regulator", I_out="230 mA"))
    assert words.startswith("Marginal: Junction 12")


def test_a_short_answer_is_the_pick_what_it_gives_and_the_verdict() -> None:
    # (3.3 V - 2.1 V) / 2 mA = 600 Ω; the next E24 value upward is 620 Ω (IEC 60063, from
    # memory) and 1.2 V / 620 Ω = 1.94 mA.
    assert (
        short_answer(judged("indicator", V="3.3 V", V_F="2.1 V", I="2 mA"))
        == "620 Ω ± 5 %  1.94 mA  pass"
    )


def test_a_short_answer_without_a_pick_names_its_first_outputs() -> None:
    assert short_answer(judged("linear-regulator")) == "rail voltage 3.3 V  headroom 1.7 V  pass"


def test_a_short_answer_that_fails_says_why() -> None:
    words = short_answer(judged("linear-regulator", I_out="300 mA"))
    assert words.endswith("fails: Junction 145 °C, limit 125 °C. Over by 19.7 K.")
