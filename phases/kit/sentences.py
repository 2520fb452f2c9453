"""Verdicts as a person would say them: "Junction 131 °C, limit 125 °C. Over by 6 K." """

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from phases.kit.bounds import FAIL, MARGINAL, NOT_APPLICABLE
from phases.kit.grammar import sentence
from phases.kit.say import show, show_difference

if TYPE_CHECKING:
    from phases.kit.judging import Verdict


_DIGITS, _MOST_DIGITS = 3, 5
_LIMIT_WORDS = {"below": "limit", "above": "at least", "inside": "nearest limit"}
_BEYOND_WORDS = {"below": "Over", "above": "Short", "inside": "Outside"}


def verdict_sentence(verdict: Verdict) -> str:
    """One limit in a sentence, with its number, its bound and its margin."""
    title = f"{verdict.title} ({verdict.scenario})" if verdict.scenario else verdict.title
    if verdict.verdict == NOT_APPLICABLE:
        return f"{title}: {sentence(verdict.reason or 'not applicable')}"
    if verdict.findings:
        return " ".join(finding.words for finding in verdict.findings)
    if math.isnan(verdict.margin):
        if verdict.verdict == FAIL:
            return f"{title}: {sentence(verdict.reason or 'it cannot be evaluated')}"
        return f"{title}: passes."
    value, bound = _told_apart(verdict)
    return f"{title} {value}, {_LIMIT_WORDS[verdict.side]} {bound}. {_margin(verdict)}"


def _told_apart(verdict: Verdict) -> tuple[str, str]:
    """Value and bound; of a limit that fails with the digits it takes to see them differ."""
    for digits in range(_DIGITS, _MOST_DIGITS + 1):
        value, bound = (
            show(number, verdict.unit, digits) for number in (verdict.value, verdict.bound)
        )
        if value != bound or verdict.verdict != FAIL:
            break
    return value, bound


def _margin(verdict: Verdict) -> str:
    if math.isinf(verdict.margin):
        fails = verdict.verdict == FAIL
        return f"{_BEYOND_WORDS[verdict.side]} without limit." if fails else "Unlimited margin."
    if verdict.margin == 0:
        return "Nothing to spare."
    size = show_difference(abs(verdict.margin), verdict.unit)
    if verdict.verdict == FAIL:
        return f"{_BEYOND_WORDS[verdict.side]} by {size}."
    if verdict.verdict == MARGINAL:
        return f"Only {size} to spare."
    return f"{size} to spare."


def margin_words(verdict: Verdict) -> str:
    """The margin alone, for a line of a list; empty where there is no number."""
    if math.isnan(verdict.margin):
        return ""
    return show_difference(verdict.margin, verdict.unit)
