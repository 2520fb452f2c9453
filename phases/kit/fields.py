"""The kinds of input a calculator declares.

A field is a descriptor: on the class it is the declaration, on a calculation it is the value
under the view being evaluated (a plain array in SI for a quantity). Its `read` turns what a
person, a file or the ledger gives into the value and the text it is shown as.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple, TypedDict, Unpack, overload

from phases.kit.grammar import count
from phases.kit.notation import read_quantity
from phases.kit.refusals import Refusal, unknown
from phases.kit.say import exactly, show_spread
from phases.kit.spread import Spread
from phases.kit.text import clean, one_line
from phases.kit.units import UNITS

if TYPE_CHECKING:
    from phases.kit.arrays import Array
    from phases.kit.calculator import Calculator
    from phases.kit.cards import CapabilityCard, PartCard
    from phases.kit.tables import Column, Rows, TableData


_LARGEST_WHOLE = 10**18
_LONGEST_NAME = 250
_WHOLE = re.compile(r"[+-]?[0-9]{1,9}")


@dataclass(frozen=True, slots=True)
class Following:
    """A default that follows a choice of the same calculator: what stands for each option.

    choice: the field of the choice. texts: by option; as a function where a spec table has them.
    """

    choice: str
    texts: Mapping[str, Any] | Callable[[], Mapping[str, Any]]

    def by_option(self) -> Mapping[str, Any]:
        return self.texts() if callable(self.texts) else self.texts


BOARD, PART, PRACTICE = "board", "part", "practice"
"""Whose figure an input is: the board's own to decide, a part's that only its data sheet knows, or
common practice and standards."""


class Common(TypedDict, total=False):
    """What every kind of input may be declared with; see `Field`."""

    ledger: str | None
    of: str
    card: str
    note: str


class Field:
    """What every kind of input has: a title, a default, perhaps a name in the ledger.

    of: whose figure it is. A part's figure that stands at its default is nobody's: what rests on
    it is assumed. card: its key on the part card (`PartCard.figure`), after the name of the card's
    field and a dot where the calculator has several.
    """

    kind = ""
    name = ""

    def __init__(
        self,
        title: str,
        *,
        default: Any = None,
        ledger: str | None = None,
        of: str = "",
        card: str = "",
        note: str = "",
    ) -> None:
        self.title = title
        self._default = default
        self.ledger = ledger
        self.of = PART if card else of
        self.card = card
        self.note = note

    def __set_name__(self, owner: type, name: str) -> None:
        self.name = name
        self._owner = owner

    @property
    def default(self) -> Any:
        """What stands where nothing is given, as if typed; rows of a spec table are read late.

        Where it follows a choice, what stands while that is at its own default.
        """
        if isinstance(self._default, Following):
            choice: Field = getattr(self._owner, self._default.choice)
            return self._default.by_option().get(choice.default)
        return self._default() if callable(self._default) else self._default

    def default_under(self, chosen: Callable[[str], Any]) -> Any:
        """The same; where it follows a choice, for the option that `chosen` tells of its field."""
        if isinstance(self._default, Following):
            return self._default.by_option().get(chosen(self._default.choice))
        return self.default

    @property
    def follows(self) -> str | None:
        """The choice that its default follows; None where it follows none."""
        return self._default.choice if isinstance(self._default, Following) else None

    @property
    def part(self) -> str:
        """The part whose figure it is, by the name of its card's field; empty for the only one."""
        return self.card.rpartition(".")[0]

    def read(self, given: Any) -> tuple[Any, str]:
        """(value, text) of what was given; Refusal naming this field where it does not fit."""
        try:
            return self._read(given)
        except Refusal as refusal:
            raise refusal.at(self.name) from None

    def _read(self, given: Any) -> tuple[Any, str]:
        raise TypeError(f"{type(self).__name__} does not say how it is read")

    def described(self) -> dict[str, Any]:
        """The declaration as plain data, for listings."""
        return {
            "kind": self.kind,
            "title": self.title,
            "default": self.default,
            "ledger": self.ledger,
            "of": self.of,
            "card": self.card or None,
            "note": self.note or None,
            "follows": self.follows,
        }


class Quantity(Field):
    """A physical quantity with a spread; an array in SI, one element per corner.

    unit: the unit it is labelled with (a symbol of `units.UNITS`). least, most: bounds in SI.
    free: blank until a value is proposed or typed. inside: an output may have its extreme
    within this spread, so it is sampled there too. span: the range in SI in which remedies
    and curves look (default: a hundredth to a hundred times the value). fixed: no remedy is
    sought in it, because nobody can change it (an ambient, a property of copper). typical: left
    blank it stands for a typical figure, which is assumed like a default.
    """

    kind = "quantity"

    def __init__(
        self,
        unit: str,
        title: str,
        *,
        default: str | Following | Callable[[], str] | None = None,
        least: float | None = None,
        most: float | None = None,
        free: bool = False,
        inside: bool = False,
        span: tuple[float, float] | None = None,
        fixed: bool = False,
        typical: bool = False,
        **common: Unpack[Common],
    ) -> None:
        super().__init__(title, default=default, **common)
        self.unit = unit
        self.least = least
        self.most = most
        self.free = free
        self.inside = inside
        self.span = span
        self.fixed = fixed
        self.typical = typical

    @overload
    def __get__(self, calculation: None, owner: type) -> Quantity: ...
    @overload
    def __get__(self, calculation: Calculator, owner: type) -> Array: ...
    def __get__(self, calculation: Calculator | None, owner: type) -> Quantity | Array:
        if calculation is None:
            return self
        return calculation._frame.quantity(self)

    def _read(self, given: Any) -> tuple[Spread, str]:
        if isinstance(given, Spread):
            return given, show_spread(given, self.unit)
        text = as_typed(given, self.unit)
        spread = read_quantity(text, self.unit, least=self.least, most=self.most)
        return spread, one_line(text)

    def frozen(self, spread: Spread) -> str:
        """The text that reads back as exactly this spread."""
        return exactly(spread, self.unit)

    def described(self) -> dict[str, Any]:
        return {
            **super().described(),
            "unit": self.unit,
            "si_unit": UNITS[self.unit].si,
            "free": self.free,
        }


def as_typed(given: Any, unit: str) -> str:
    """A quantity as a person would have typed it: a plain number is meant in the field's unit."""
    if isinstance(given, str):
        return given
    if isinstance(given, bool) or not isinstance(given, (int, float)):
        raise Refusal(
            f"{repr(given)[:40]} is not a value in {unit}", do="Write a number with its unit"
        )
    if isinstance(given, int) and abs(given) > _LARGEST_WHOLE:
        raise Refusal("The number is out of any range", do="Write a number with its unit")
    return str(given)


class Interval(NamedTuple):
    low: float
    high: float


class Window(Field):
    """An allowed range from low to high: two bounds and no spread."""

    kind = "window"

    def __init__(
        self,
        unit: str,
        title: str,
        *,
        default: str | None = None,
        **common: Unpack[Common],
    ) -> None:
        super().__init__(title, default=default, **common)
        self.unit = unit

    @overload
    def __get__(self, calculation: None, owner: type) -> Window: ...
    @overload
    def __get__(self, calculation: Calculator, owner: type) -> Interval: ...
    def __get__(self, calculation: Calculator | None, owner: type) -> Window | Interval:
        if calculation is None:
            return self
        spread = calculation._frame.plain(self)
        return Interval(spread.low, spread.high)

    def _read(self, given: Any) -> tuple[Spread, str]:
        if isinstance(given, Spread):
            return given, show_spread(given, self.unit)
        text = as_typed(given, self.unit)
        return read_quantity(text, self.unit), one_line(text)

    def described(self) -> dict[str, Any]:
        return {**super().described(), "unit": self.unit, "si_unit": UNITS[self.unit].si}


class Choice(Field):
    """One of a few words.

    fact: the fact whose answer stands where nothing is given. way: another option is another way
    of doing the same, which may cure a limit (a case, a layer), not another question.
    """

    kind = "choice"

    def __init__(
        self,
        title: str,
        options: Sequence[str],
        *,
        default: str,
        fact: str = "",
        way: bool = False,
        **common: Unpack[Common],
    ) -> None:
        super().__init__(title, default=default, **common)
        self.options = tuple(options)
        self.fact = fact
        self.way = way

    @overload
    def __get__(self, calculation: None, owner: type) -> Choice: ...
    @overload
    def __get__(self, calculation: Calculator, owner: type) -> str: ...
    def __get__(self, calculation: Calculator | None, owner: type) -> Choice | str:
        if calculation is None:
            return self
        return str(calculation._frame.plain(self))

    def _read(self, given: Any) -> tuple[str, str]:
        word = one_line(str(given))
        if word in self.options:
            return word, word
        starts = [option for option in self.options if option.lower().startswith(word.lower())]
        if len(starts) == 1 and word:
            return starts[0], starts[0]
        raise unknown("choice", word, self.options)

    def described(self) -> dict[str, Any]:
        return {**super().described(), "choices": list(self.options)}


class Flag(Field):
    """Yes or no."""

    kind = "flag"

    @overload
    def __get__(self, calculation: None, owner: type) -> Flag: ...
    @overload
    def __get__(self, calculation: Calculator, owner: type) -> bool: ...
    def __get__(self, calculation: Calculator | None, owner: type) -> Flag | bool:
        if calculation is None:
            return self
        return bool(calculation._frame.plain(self))

    def _read(self, given: Any) -> tuple[bool, str]:
        return read_flag(given)


def read_flag(given: Any) -> tuple[bool, str]:
    """(value, text) of a yes or a no as people write it."""
    if isinstance(given, bool):
        return given, "yes" if given else "no"
    word = one_line(str(given)).lower()
    if word in ("yes", "y", "true", "1", "on"):
        return True, "yes"
    if word in ("no", "n", "false", "0", "off"):
        return False, "no"
    raise Refusal(f"{word[:40]!r} is neither yes nor no", do="Write yes or no")


class Count(Field):
    """A whole number."""

    kind = "count"

    def __init__(
        self,
        title: str,
        *,
        default: int,
        least: int = 0,
        most: int = 100_000,
        **common: Unpack[Common],
    ) -> None:
        super().__init__(title, default=default, **common)
        self.least = least
        self.most = most

    @overload
    def __get__(self, calculation: None, owner: type) -> Count: ...
    @overload
    def __get__(self, calculation: Calculator, owner: type) -> int: ...
    def __get__(self, calculation: Calculator | None, owner: type) -> Count | int:
        if calculation is None:
            return self
        return int(calculation._frame.plain(self))

    def _read(self, given: Any) -> tuple[int, str]:
        return read_count(given, self.least, self.most)


def read_count(given: Any, least: int, most: int) -> tuple[int, str]:
    """(value, text) of a whole number between `least` and `most`."""
    text = one_line(str(given))
    if isinstance(given, bool) or not _WHOLE.fullmatch(text):
        raise Refusal(
            f"{text[:40]!r} is not a whole number", do=f"Write one from {least} to {most}"
        )
    value = int(text)
    if not least <= value <= most:
        raise Refusal(f"{value} is out of range", do=f"Write one from {least} to {most}")
    return value, str(value)


class Words(Field):
    """Free text: a name, a connection."""

    kind = "text"

    @overload
    def __get__(self, calculation: None, owner: type) -> Words: ...
    @overload
    def __get__(self, calculation: Calculator, owner: type) -> str: ...
    def __get__(self, calculation: Calculator | None, owner: type) -> Words | str:
        if calculation is None:
            return self
        return str(calculation._frame.plain(self))

    def _read(self, given: Any) -> tuple[str, str]:
        text = one_line(clean(str(given)))
        if len(text) > 400:
            raise Refusal(f"The text is {len(text)} characters long", do="Use at most 400")
        return text, text


class Card(Field):
    """A part card, by the name of a bundled one or by its path; None where none is named."""

    kind = "card"

    @overload
    def __get__(self, calculation: None, owner: type) -> Card: ...
    @overload
    def __get__(self, calculation: Calculator, owner: type) -> PartCard | None: ...
    def __get__(self, calculation: Calculator | None, owner: type) -> Card | PartCard | None:
        if calculation is None:
            return self
        card: PartCard | None = calculation._frame.plain(self)
        return card

    def _read(self, given: Any) -> tuple[PartCard | None, str]:
        from phases.kit.cards import load_part

        name = _card_name(given)
        return (None, "") if name in ("", "none") else (load_part(name), name)


class Capability(Field):
    """A capability card, by the name of a bundled one or by its path; there always is one."""

    kind = "capability"

    def __init__(self, title: str, *, default: str, **common: Unpack[Common]) -> None:
        super().__init__(title, default=default, **common)

    @overload
    def __get__(self, calculation: None, owner: type) -> Capability: ...
    @overload
    def __get__(self, calculation: Calculator, owner: type) -> CapabilityCard: ...
    def __get__(self, calculation: Calculator | None, owner: type) -> Capability | CapabilityCard:
        if calculation is None:
            return self
        card: CapabilityCard = calculation._frame.plain(self)
        return card

    def _read(self, given: Any) -> tuple[CapabilityCard, str]:
        from phases.kit.cards import load_capability

        name = _card_name(given)
        return load_capability(name), name


def _card_name(given: Any) -> str:
    name = one_line(str(given))
    if len(name) > _LONGEST_NAME:
        raise Refusal(f"The name is {len(name)} characters long", do="Name a card or its file")
    return name


class Table(Field):
    """Rows with typed columns. As scenarios, each row is a case that gets its own verdict."""

    kind = "table"

    def __init__(
        self,
        title: str,
        columns: Sequence[Column],
        *,
        default: Sequence[Mapping[str, Any]]
        | Callable[[], Sequence[Mapping[str, Any]]]
        | Following,
        scenarios: bool = False,
        **common: Unpack[Common],
    ) -> None:
        super().__init__(title, default=default, **common)
        self.columns = {column.name: column for column in columns}
        self.scenarios = scenarios
        if scenarios:
            self.kind = "scenarios"

    @overload
    def __get__(self, calculation: None, owner: type) -> Table: ...
    @overload
    def __get__(self, calculation: Calculator, owner: type) -> Rows: ...
    def __get__(self, calculation: Calculator | None, owner: type) -> Table | Rows:
        if calculation is None:
            return self
        return calculation._frame.rows(self)

    def _read(self, given: Any) -> tuple[TableData, str]:
        from phases.kit.tables import read_rows

        data = read_rows(self.columns, given)
        return data, count(len(data.rows), "row")

    def described(self) -> dict[str, Any]:
        return {
            **super().described(),
            "columns": [column.described() for column in self.columns.values()],
        }
