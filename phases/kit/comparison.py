"""Comparing: the same calculation rerun over each option of a choice."""

from __future__ import annotations

from phases.kit.calculator import Calculator
from phases.kit.fields import Choice
from phases.kit.inputs import Given
from phases.kit.judging import Judgement, judge


def compare(calculation: Calculator, field: str) -> dict[str, Judgement]:
    """A judgement for each option of the choice `field`, everything else kept."""
    choice = type(calculation).fields[field]
    if not isinstance(choice, Choice):
        raise TypeError(f"{field} is no choice")
    return {
        option: judge(calculation.with_given({field: Given(option)})) for option in choice.options
    }
