"""Facts: what is known about this board and its subjects, and what is not known yet.

A fact is declared in phases/facts.toml. What is known of it stands in a `Knowledge`: under a
subject's id, or under "" for the board. Items ask by tables such as
`[{ supply = "usb-c" }, { second_supply = true }]`: any of the tables, all keys of one. Three
answers are possible, because a fact may not be known: yes, no, and not known yet (None).
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Literal, get_args

from pydantic import (
    BaseModel,
    ConfigDict,
    StrictBool,
    StrictFloat,
    StrictInt,
    model_validator,
)

from phases.kit.documents import RefusedError, read_document
from phases.kit.field_types import Name
from phases.kit.refusals import Refusal, unknown
from phases.kit.text import Line, one_line

FactValue = bool | str | float
"""A value of a fact: true or false, one of the choices, or a number."""

Given = StrictBool | StrictInt | StrictFloat | Line
"""A value of a fact as a document gives it, before it is checked against its fact."""

Table = Mapping[str, FactValue]
"""Facts and the values they must all have."""

Per = Literal["board", "rail", "bus", "connector", "clock", "load"]
"""What a fact, an item or a calculation belongs to: the board, or each subject of a kind."""

PER: tuple[Per, ...] = get_args(Per)

BOARD = ""
"""The subject id under which the facts of the board stand."""

FACTS_FILE = Path(__file__).resolve().parents[1] / "facts.toml"


class Fact(BaseModel):
    """One thing that can be known about a board or one of its subjects."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    id: Name
    per: Per
    kind: Literal["yes/no", "choice", "number"]
    question: Line
    choices: tuple[Name, ...] = ()
    unit: Line = ""
    default: Given | None = None
    """The trade's safe assumption, where there is one: it keeps items in."""

    @model_validator(mode="after")
    def _consistent(self) -> Fact:
        if (self.kind == "choice") != (len(self.choices) >= 2):
            raise RefusedError(Refusal("Two or more choices belong to a fact of kind choice"))
        if len(set(self.choices)) < len(self.choices):
            raise RefusedError(Refusal("A choice appears twice"))
        if self.unit and self.kind != "number":
            raise RefusedError(Refusal("A unit belongs to a fact of kind number"))
        if self.default is not None:
            try:
                check_value(self, self.default)
            except Refusal as refusal:
                raise RefusedError(refusal) from refusal
        return self

    @property
    def values(self) -> tuple[FactValue, ...]:
        """The values a person can answer with; empty for a number."""
        return (True, False) if self.kind == "yes/no" else self.choices


class _FactsFile(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)

    fact: tuple[Fact, ...]


@cache
def load_facts() -> Mapping[str, Fact]:
    """All declared facts by id, in the order of their file. Raises Refusal on a faulty file."""
    facts: dict[str, Fact] = {}
    for fact in read_document(FACTS_FILE, _FactsFile, kind="facts file").fact:
        if fact.id in facts:
            raise Refusal(f"The fact {fact.id!r} appears twice", where=str(FACTS_FILE))
        facts[fact.id] = fact
    return MappingProxyType(facts)


def find_fact(name: str, *, where: str = "") -> Fact:
    """The fact of this id. Raises Refusal, with the nearest one, where there is none."""
    facts = load_facts()
    if name not in facts:
        raise unknown("fact", one_line(name), facts, where=where)
    return facts[name]


def check_value(fact: Fact, value: object) -> FactValue:
    """`value` as a value of `fact`; a whole number becomes a float. Raises Refusal."""
    where = fact.id
    if fact.kind == "yes/no":
        if isinstance(value, bool):
            return value
        raise Refusal(f"{_shown(value)} is neither yes nor no", where=where, do="true or false")
    if fact.kind == "choice":
        if isinstance(value, str) and value in fact.choices:
            return value
        near = difflib.get_close_matches(str(value), fact.choices, n=1)
        do = f"Nearest: {near[0]}" if near else f"One of: {', '.join(fact.choices)}"
        raise Refusal(f"{_shown(value)} is none of the choices", where=where, do=do)
    if isinstance(value, int | float) and not isinstance(value, bool):
        number = _finite(value)
        if number is not None:
            return number
    unit = f" in {fact.unit}" if fact.unit else ""
    raise Refusal(f"{_shown(value)} is not a number", where=where, do=f"Give a number{unit}")


def _finite(value: int | float) -> float | None:
    try:
        number = float(value)
    except OverflowError:
        return None
    return number if math.isfinite(number) else None


def _shown(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    text = one_line(str(value))
    return repr(text if len(text) <= 40 else f"{text[:39]}…")


def default_values() -> tuple[tuple[str, str, FactValue], ...]:
    """The safe assumptions as (subject, fact, value), all at the board.

    A sprint starts from these, so that its journal tells what was assumed; whatever the brief
    says comes after them.
    """
    return tuple(
        (BOARD, fact.id, check_value(fact, fact.default))
        for fact in load_facts().values()
        if fact.default is not None
    )


class Knowledge:
    """What is known: subject id ("" is the board) to fact to value. Immutable."""

    __slots__ = ("_values",)

    def __init__(self, values: Mapping[str, Table] = MappingProxyType({})) -> None:
        self._values: Mapping[str, Table] = {
            subject: dict(facts) for subject, facts in values.items() if facts
        }

    @classmethod
    def of(cls, entries: Iterable[tuple[str, str, FactValue]]) -> Knowledge:
        """From entries (subject, fact, value); a later one replaces an earlier one."""
        values: dict[str, dict[str, FactValue]] = {}
        for subject, fact, value in entries:
            values.setdefault(subject, {})[fact] = value
        return cls(values)

    def get(self, fact: str, subject: str = BOARD) -> FactValue | None:
        """The value at the subject, else at the board, else None: not known yet."""
        for place in (subject, BOARD):
            value = self._values.get(place, {}).get(fact)
            if value is not None:
                return value
        return None

    def with_value(self, fact: str, value: FactValue, subject: str = BOARD) -> Knowledge:
        """The same knowledge with one fact set."""
        at_subject = {**self._values.get(subject, {}), fact: value}
        return Knowledge({**self._values, subject: at_subject})

    def without_subject(self, subject: str) -> Knowledge:
        """The same knowledge without what was known of one subject."""
        return Knowledge({name: facts for name, facts in self._values.items() if name != subject})

    def __iter__(self) -> Iterator[tuple[str, str, FactValue]]:
        """The entries (subject, fact, value)."""
        for subject, facts in self._values.items():
            for fact, value in facts.items():
                yield subject, fact, value

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Knowledge):
            return NotImplemented
        return self._values == other._values

    __hash__ = None  # type: ignore[assignment]  # compared by content, not meant as a key

    def __repr__(self) -> str:
        return f"Knowledge({self._values!r})"


def match(when: Iterable[Table], knowledge: Knowledge, subject: str = BOARD) -> bool | None:
    """Whether one of the tables holds for `subject`; None while that is not known yet.

    No tables at all hold always.
    """
    tables = tuple(when)
    if not tables:
        return True
    answers = [_holds(table, knowledge, subject) for table in tables]
    if True in answers:
        return True
    return None if None in answers else False


def unknown_facts(
    when: Iterable[Table], knowledge: Knowledge, subject: str = BOARD
) -> tuple[str, ...]:
    """The facts that would decide it, in the order of the tables; none once it is decided."""
    tables = tuple(when)
    if match(tables, knowledge, subject) is not None:
        return ()
    missing: dict[str, None] = {}
    for table in tables:
        if _holds(table, knowledge, subject) is None:
            missing |= {fact: None for fact in table if knowledge.get(fact, subject) is None}
    return tuple(missing)


def _holds(table: Table, knowledge: Knowledge, subject: str) -> bool | None:
    """One table: no as soon as one key differs, yes when all agree."""
    known = [(knowledge.get(fact, subject), wanted) for fact, wanted in table.items()]
    if any(value is not None and not _same(value, wanted) for value, wanted in known):
        return False
    return None if any(value is None for value, _ in known) else True


def _same(value: FactValue, wanted: FactValue) -> bool:
    """Equal, where true is not the number 1."""
    return value == wanted and isinstance(value, bool) == isinstance(wanted, bool)
