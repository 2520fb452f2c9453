"""Comparing: the same calculation rerun over each option of a choice."""

from __future__ import annotations

from phases.kit.calculator import Calculator
from phases.kit.fields import Choice
from phases.kit.inputs import Given
from phases.kit.judging import Judgement, judge
from phases.kit.refusals import unknown


def compare(calculation: Calculator, field: str) -> dict[str, Judgement]:
    """A judgement for each option of the choice `field`, everything else kept.

    Raises Refusal where there is no choice of that name.
    """
    fields = type(calculation).fields
    choice = fields.get(field)
    if not isinstance(choice, Choice):
        choices = [name for name, one in fields.items() if isinstance(one, Choice)]
        raise unknown("choice", field, choices, where=type(calculation).name)
    return {
        option: judge(calculation.with_given({field: Given(option)})) for option in choice.options
    }
