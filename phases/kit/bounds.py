"""What a limit may return, and the verdict it gets.

A bound compares a value with a limit and says how much is left; a check is a plain yes or no;
findings name what is wrong and where. What cannot be evaluated fails: a NaN compares false and
would otherwise pass everything.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from phases.kit.grammar import sentence

if TYPE_CHECKING:
    from phases.kit.arrays import Array

PASS, MARGINAL, FAIL, NOT_APPLICABLE = "pass", "marginal", "fail", "not applicable"
VERDICTS = (NOT_APPLICABLE, PASS, MARGINAL, FAIL)
"""From best to worst."""


def worst(verdicts: Sequence[str]) -> str:
    """The worst of several verdicts; not applicable where there is none."""
    return max(verdicts, key=VERDICTS.index, default=NOT_APPLICABLE)


@dataclass(frozen=True, slots=True)
class Bound:
    """value against limit, with the margin left and the scale the margin is a per cent of.

    digit: the last digit of a limit that is printed in a table; half of it is granted, else
    parts that comply would fail. where: the rows it applies to; otherwise: why not to the rest.
    """

    value: Any
    limit: Any
    margin: Any
    scale: Any
    side: str
    digit: float = 0.0
    where: Any = True
    otherwise: str = ""


@dataclass(frozen=True, slots=True)
class Finding:
    """Something found: where it is, what it is and how to cure it. A caution never fails."""

    where: str
    what: str
    cure: str = ""
    serious: bool = True

    @property
    def words(self) -> str:
        """In a sentence or two: "VDD2: No capacitor. Place 100 nF at this pin."."""
        return " ".join(map(sentence, filter(None, (f"{self.where}: {self.what}", self.cure))))


@dataclass(frozen=True, slots=True)
class Findings:
    found: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Check:
    """A plain yes or no in every corner (and row); what: the sentence when it is a no."""

    holds: Any
    what: str
    where: Any = True
    otherwise: str = ""


@dataclass(frozen=True, slots=True)
class NotApplicable:
    reason: str


Verdictable = Bound | Findings | Check | NotApplicable


def below(
    value: Array | float,
    limit: Array | float,
    *,
    of: Any = None,
    digit: float = 0.0,
    where: Any = True,
    otherwise: str = "",
) -> Bound:
    """`value` must not exceed `limit`."""
    scale = limit if of is None else of
    return Bound(value, limit, limit - value, scale, "below", digit, where, otherwise)


def above(
    value: Array | float,
    limit: Array | float,
    *,
    of: Any = None,
    digit: float = 0.0,
    where: Any = True,
    otherwise: str = "",
) -> Bound:
    """`value` must reach `limit`."""
    scale = limit if of is None else of
    return Bound(value, limit, value - limit, scale, "above", digit, where, otherwise)


def inside(
    value: Array | float,
    low: Any,
    high: Any,
    *,
    of: Any = None,
    digit: float = 0.0,
    where: Any = True,
    otherwise: str = "",
) -> Bound:
    """`value` must lie from `low` to `high`; the nearer end is the limit that is shown."""
    import numpy as np

    to_low, to_high = value - low, high - value
    nearer_low = to_low < to_high
    return Bound(
        value,
        np.where(nearer_low, low, high),
        np.minimum(to_low, to_high),
        (high - low) / 2 if of is None else of,
        "inside",
        digit,
        where,
        otherwise,
    )


def holds(condition: Any, what: str, *, where: Any = True, otherwise: str = "") -> Check:
    return Check(condition, what, where, otherwise)


def found(*findings: Finding) -> Findings:
    return Findings(tuple(findings))


def not_applicable(reason: str) -> NotApplicable:
    return NotApplicable(reason)
