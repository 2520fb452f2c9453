"""What a closed item depends on: the facts, values and noted changes it hangs on, as they stand.

An item keeps them when it is closed. As soon as one stands otherwise the item is in doubt, and
when all are put back it is closed again as it was. What was not known then is no change now.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property

from coach.sprint.keys import Key
from coach.sprint.ledger.ledger import Ledger
from coach.sprint.state import Row, State
from phases.kit.facts import load_facts
from phases.kit.grammar import yes_or_no
from phases.kit.items import load_changes

_VOLTAGE, _WINDOW = ".voltage", ".window"


class Snapshot:
    """How facts, values and noted changes stand in one state, in words."""

    def __init__(self, state: State) -> None:
        self._state = state

    @cached_property
    def _values(self) -> Mapping[str, str]:
        return Ledger(self._state).texts()

    def of(self, row: Row, *, calculated: bool = False) -> dict[str, str]:
        """What a row depends on that is closed now.

        calculated: it follows its calculation, and only what no value shows can make it doubtful.
        """
        found = {
            cause: str(self._state.noted[cause.removeprefix("change:")])
            for cause in row.item.reopened_by
            if cause.removeprefix("change:") in self._state.noted and cause.startswith("change:")
        }
        if not calculated:
            found |= dict(self._facts_under(row)) | dict(self._values_under(row))
        return found

    def _facts_under(self, row: Row) -> Iterator[tuple[str, str]]:
        for cause in row.item.reopened_by:
            fact = load_facts().get(cause.removeprefix("fact:")) if ":" in cause else None
            if fact is None:
                continue
            for place in self._places(row, fact.per):
                value = self._state.knowledge.get(fact.id, place)
                if value is not None:
                    yield Key.of(cause, place), yes_or_no(value)

    def _places(self, row: Row, per: str) -> list[str]:
        """Where a fact is looked for: at the board, at the row's own subject, or at all of them."""
        if per == "board":
            return [""]
        if per == row.item.per:
            return [row.subject]
        return self._state.ids_of(per)

    def _values_under(self, row: Row) -> Iterator[tuple[str, str]]:
        for name, text in self._values.items():
            if row.item.depends_on(name, row.subject) or self._is_fallback(name, row):
                yield name, text

    def _is_fallback(self, name: str, row: Row) -> bool:
        """A rail's declared window, as long as no calculation gives its voltage."""
        voltage = name.removesuffix(_WINDOW) + _VOLTAGE
        return (
            name.endswith(_WINDOW)
            and voltage not in self._values
            and row.item.depends_on(voltage, row.subject)
        )

    def changed(self, row: Row, depends_on: Mapping[str, str]) -> str:
        """What stands otherwise than in `depends_on`, in words; empty where all is as it was."""
        for cause in row.item.reopened_by:
            change = cause.removeprefix("change:")
            if change != cause and str(self._state.noted.get(change, 0)) != depends_on.get(
                cause, "0"
            ):
                known = load_changes().get(change)
                return known.words if known else change
        for name, then in depends_on.items():
            now = self._now(name)
            if now is not None and now != then:
                return f"{_called(name)} {then} -> {now}"
        return ""

    def _now(self, name: str) -> str | None:
        if not name.startswith("fact:"):
            return self._values.get(name)
        fact = Key(name.removeprefix("fact:"))
        value = self._state.knowledge.get(fact.item, fact.subject)
        return None if value is None else yes_or_no(value)


def _called(name: str) -> str:
    if not name.startswith("fact:"):
        return name
    fact = Key(name.removeprefix("fact:"))
    return fact.item.replace("_", " ") + (f" of {fact.subject}" if fact.subject else "") + ":"
