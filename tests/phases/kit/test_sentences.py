"""A verdict is a sentence with its number, its bound and what is left or over."""

from __future__ import annotations

import math

import pytest

from phases.kit import Finding
from phases.kit.judging import Verdict
from phases.kit.sentences import margin_words, verdict_sentence


def verdict(word: str, side: str, numbers: tuple[float, float, float], unit: str) -> Verdict:
    """A verdict with value, bound and margin."""
    return Verdict("it", "Junction", word, unit, *numbers, side=side)


@pytest.mark.parametrize(
    ("one", "says"),
    [
        (
            verdict("fail", "below", (131.0, 125.0, -6.0), "°C"),
            "Junction 131 °C, limit 125 °C. Over by 6 K.",
        ),
        (
            verdict("pass", "below", (100.0, 125.0, 25.0), "°C"),
            "Junction 100 °C, limit 125 °C. 25 K to spare.",
        ),
        (
            verdict("marginal", "below", (4.9, 5.0, 0.1), "V"),
            "Junction 4.9 V, limit 5 V. Only 100 mV to spare.",
        ),
        (
            verdict("fail", "above", (0.2, 0.3, -0.1), "V"),
            "Junction 200 mV, at least 300 mV. Short by 100 mV.",
        ),
        (
            verdict("pass", "inside", (3.0, 2.5, 0.5), "V"),
            "Junction 3 V, nearest limit 2.5 V. 500 mV to spare.",
        ),
        (
            verdict("fail", "inside", (2.0, 2.5, -0.5), "V"),
            "Junction 2 V, nearest limit 2.5 V. Outside by 500 mV.",
        ),
        (
            verdict("pass", "below", (5.0, math.inf, math.inf), "A"),
            "Junction 5 A, limit unlimited. Unlimited margin.",
        ),
        (
            verdict("fail", "below", (math.inf, 5.0, -math.inf), "A"),
            "Junction unlimited, limit 5 A. Over without limit.",
        ),
    ],
)
def test_a_bound_is_said_with_value_limit_and_margin(one: Verdict, says: str) -> None:
    assert verdict_sentence(one) == says


def test_what_fails_by_little_is_printed_with_the_digits_that_show_it() -> None:
    def says(value: float) -> str:
        return verdict_sentence(verdict("fail", "below", (value, 125.0, 125.0 - value), "°C"))

    assert says(125.231) == "Junction 125.2 °C, limit 125 °C. Over by 0.231 K."
    assert says(125.0123) == "Junction 125.01 °C, limit 125 °C. Over by 0.0123 K."
    assert says(125.001) == "Junction 125 °C, limit 125 °C. Over by 0.001 K."
    close = verdict("marginal", "below", (4.999, 5.0, 0.001), "V")
    assert verdict_sentence(close) == "Junction 5 V, limit 5 V. Only 1 mV to spare."


def bare(word: str, **more: object) -> Verdict:
    return Verdict("it", "Junction", word, "°C", **more)  # type: ignore[arg-type]


def test_what_does_not_apply_says_why() -> None:
    says = verdict_sentence(bare("not applicable", reason="There is no heat"))
    assert says == "Junction: There is no heat."
    assert verdict_sentence(bare("not applicable")) == "Junction: not applicable."


def test_what_cannot_be_evaluated_says_so() -> None:
    says = verdict_sentence(bare("fail", reason="Not evaluated: resistor is blank"))
    assert says == "Junction: Not evaluated: resistor is blank."
    assert verdict_sentence(bare("fail")) == "Junction: it cannot be evaluated."


def test_a_check_that_holds_just_holds() -> None:
    assert verdict_sentence(bare("pass")) == "Junction: passes."


def test_a_row_is_named() -> None:
    one = Verdict("it", "Load", "pass", "A", 0.1, 0.5, 0.4, side="below", scenario="3 A, plain")
    assert verdict_sentence(one) == "Load (3 A, plain) 100 mA, limit 500 mA. 400 mA to spare."


def test_findings_say_where_what_and_cure() -> None:
    findings = (
        Finding("CC2", "It floats", "Give it a pull-down"),
        Finding("CC1", "It is hot."),
    )
    says = verdict_sentence(bare("fail", findings=findings))
    assert says == "CC2: It floats. Give it a pull-down. CC1: It is hot."


def test_the_margin_alone_is_signed_and_of_a_temperature_in_kelvin() -> None:
    assert margin_words(verdict("fail", "below", (131.0, 125.0, -6.0), "°C")) == "-6 K"
    assert margin_words(verdict("pass", "below", (4.0, 5.0, 1.0), "V")) == "1 V"
    assert margin_words(bare("pass")) == ""
