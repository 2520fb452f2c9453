"""Comparing: one calculation rerun over each option of a choice, or several on one question."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from phases.kit.calculator import Calculator
from phases.kit.fields import Choice
from phases.kit.frame import View
from phases.kit.inputs import Given
from phases.kit.judging import Judgement, judge
from phases.kit.refusals import unknown

if TYPE_CHECKING:
    from phases.kit.arrays import Array


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


def side_by_side(calculations: Mapping[str, Calculator]) -> dict[str, Judgement]:
    """A judgement for each of several calculations that answer one question, by what they are."""
    return {name: judge(calculation) for name, calculation in calculations.items()}


def answer_of(other: Calculator, answer: str, asker: Calculator, feeds: Mapping[str, str]) -> Array:
    """An output of another calculation, over all its corners, where `asker` is evaluated now.

    feeds: the input of the asker that each of the other's inputs was made of; where the asker
    exchanges or holds it, the other does too. For an answer of the asker, not for going on:
    corners of two others do not belong together.
    """
    view = asker._frame.view
    scan = {own: view.scan[field] for own, field in feeds.items() if field in view.scan}
    held = frozenset(own for own, field in feeds.items() if field in view.held)
    value: Array = getattr(other.under(View(view.corners, scan, held)), answer)
    return value.reshape(-1, *(1,) * (asker._frame.axes.count - 2), value.shape[-1])
