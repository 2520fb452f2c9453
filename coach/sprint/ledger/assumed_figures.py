"""Assumed figures: properties of parts that nobody gave, and what an open item rests on of them."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from coach.sprint.keys import CalculationKey
from coach.sprint.state import ASSUMED, Row, State
from phases.kit.catalogue import calculators

if TYPE_CHECKING:
    from phases.kit.calculator import Calculator
    from phases.kit.fields import Field


class AssumedPart(NamedTuple):
    """The figures of one part in one saved calculation that stand at a default.

    part: what the part is ("the regulator"). figures: field name, title and text of each, those
    first that have most of the margin.
    """

    calculation: CalculationKey
    part: str
    figures: tuple[tuple[str, str, str], ...]

    @property
    def fields(self) -> tuple[str, ...]:
        return tuple(name for name, _, _ in self.figures)

    @property
    def listed(self) -> str:
        """ "dropout 0.3 V, ground current 5 mA" """
        return ", ".join(f"{title} {text}" for _, title, text in self.figures)


def assumed_parts(state: State, row: Row) -> list[AssumedPart]:
    """What would have to be confirmed for an assumed row, part by part, the weightiest first."""
    if row.status != ASSUMED or row.state is None:
        return []
    found: dict[tuple[str, str], list[tuple[str, str, str]]] = {}
    for named in row.state.assumed:
        calculation, _, field = named.partition(" ")
        saved = state.calculations.get(CalculationKey(calculation))
        kind = calculators().get(calculation.partition("@")[0])
        if saved is None or kind is None or field not in kind.fields:
            continue
        declared, given = kind.fields[field], saved.record.inputs.get(field)
        text = given.text if given is not None and given.text else "typical"
        figures = found.setdefault((calculation, _part_of(kind, declared)), [])
        figures.append((field, declared.title, text))
    return [
        AssumedPart(CalculationKey(calculation), part, tuple(figures))
        for (calculation, part), figures in found.items()
    ]


def _part_of(kind: type[Calculator], declared: Field) -> str:
    """What the part is whose figure it is, as its card's field says."""
    cards = [one for one in kind.fields.values() if one.kind == "card"]
    card = kind.fields[declared.part] if declared.part else cards[0] if len(cards) == 1 else None
    return card.title.removeprefix("part card of ") if card is not None else "the part"


def assumed_words(row: Row) -> str:
    """What an assumed row rests on, in a few words: its first figure, and how many others."""
    if row.state is None or not row.state.assumed:
        return ""
    calculation, _, field = row.state.assumed[0].partition(" ")
    kind = calculators().get(calculation.partition("@")[0])
    title = kind.fields[field].title if kind is not None and field in kind.fields else field
    more = len(row.state.assumed) - 1
    return f"assumed: {title}{f' + {more}' if more else ''}"
