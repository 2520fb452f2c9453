"""What a calculator is given: where each input comes from and what it was read as."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from phases.kit.fields import PART, Choice, Field
from phases.kit.refusals import Refusal, unknown

if TYPE_CHECKING:
    from phases.kit.cards import PartCard
    from phases.kit.facts import FactValue

ORIGINS = (
    "brief",
    "ledger",
    "hand",
    "proposed",
    "confirmed",
    "card",
    "default",
    "blank",
)
"""confirmed: a default of which a person said that their part is no worse."""


@dataclass(frozen=True, slots=True)
class Supply:
    """What stands in the ledger under one name.

    value: a Spread, or the raw text or rows as the brief gave them.
    origin: "brief" or "ledger"; owner: the calculation that published it, or "brief". assumed:
    the part figures nobody gave that it rests on (see `Reading`).
    """

    value: Any
    origin: str
    owner: str
    assumed: tuple[str, ...] = ()


Lookup = Callable[[str], Supply | None]


def empty_ledger(name: str) -> Supply | None:
    """A ledger with nothing in it: a calculator used by itself."""
    return None


Facts = Callable[[Mapping[str, "FactValue"]], bool | None]
"""Whether a table of facts holds at the subject: yes, no, or None while that is not known."""


def nothing_known(when: Mapping[str, FactValue]) -> bool | None:
    """No facts: a calculator used by itself."""
    return None


@dataclass(frozen=True, slots=True)
class Given:
    """An input as somebody gave it: its text (or rows), and whether a hand or a proposal did, or
    a hand that confirmed the default."""

    value: Any
    origin: str = "hand"


@dataclass(frozen=True, slots=True)
class Reading:
    """One input as typed and as read.

    value: Spread, float, bool, str, table data or card, by the field's kind; None while blank.
    ledger: the full ledger name where the field has one. beside: what the ledger says there,
    shown next to a hand-typed input. owner: who published a value that came from the ledger, or
    the name of the card. assumed: the part figures nobody gave that it rests on: itself by its
    name, those of another calculation as "calculation field".
    """

    field: str
    text: str
    value: Any
    origin: str
    ledger: str | None = None
    beside: str | None = None
    owner: str | None = None
    assumed: tuple[str, ...] = ()


class Inputs:
    """The inputs of one calculation, read lazily.

    Lazily, because pulling a ledger name evaluates another calculation: an output then
    depends only on the inputs it reads, and loops that are only apparent never close.
    """

    def __init__(
        self,
        fields: Mapping[str, Field],
        given: Mapping[str, Any],
        lookup: Lookup,
        names: Mapping[str, str],
        facts: Facts = nothing_known,
    ) -> None:
        for name in given:
            if name not in fields:
                raise unknown("field", name, fields)
        self.fields = fields
        self.given = {k: v if isinstance(v, Given) else Given(v) for k, v in given.items()}
        self.lookup = lookup
        self.names = dict(names)
        self.facts = facts
        self._readings: dict[str, Reading] = {}
        self._together: dict[str, tuple[str, ...]] = {}

    def reading(self, name: str) -> Reading:
        if name not in self._readings:
            self._readings[name] = self._read(self.fields[name])
        return self._readings[name]

    def readings(self) -> list[Reading]:
        return [self.reading(name) for name in self.fields]

    def with_given(self, more: Mapping[str, Given]) -> Inputs:
        """The same inputs with some replaced; what else was given is not read again.

        A default is, because it may follow a choice that is replaced.
        """
        twin = Inputs(self.fields, {**self.given, **more}, self.lookup, self.names, self.facts)
        kept = {
            k: v
            for k, v in self._readings.items()
            if v.origin in ("brief", "ledger", "hand", "proposed", "confirmed")
        }
        twin._readings = {k: v for k, v in kept.items() if k not in more}
        return twin

    def fed_together(self, name: str) -> tuple[str, ...]:
        """The quantities fed by the same ledger name as this one, itself included: one thing."""
        if name not in self._together:
            self._together[name] = self._fed_together(name)
        return self._together[name]

    def _fed_together(self, name: str) -> tuple[str, ...]:
        ledger, origin = self.ledger_name(self.fields[name]), self.reading(name).origin
        if ledger is None or origin not in ("ledger", "brief"):
            return (name,)
        return tuple(
            other
            for other, field in self.fields.items()
            if field.kind == "quantity"
            and self.ledger_name(field) == ledger
            and self.reading(other).origin == origin
        )

    def _read(self, field: Field) -> Reading:
        name = self.ledger_name(field)
        given = self.given.get(field.name)
        if given is not None and not _is_blank(given.value):
            value, text = field.read(given.value)
            beside = self._beside(field, name)
            return Reading(field.name, text, value, given.origin, name, beside)
        supply = self.lookup(name) if name else None
        if supply is not None:
            try:
                value, text = field.read(supply.value)
            except Refusal as refusal:
                raise refusal.at(f"{name} from {supply.owner}") from None
            return Reading(
                field.name, text, value, supply.origin, name, None, supply.owner, supply.assumed
            )
        if field.card and (found := self._on_card(field)) is not None:
            return found
        default = self._by_fact(field) or field.default_under(
            lambda choice: self.reading(choice).value
        )
        if default is None:
            return self._blank(field, name, given)
        value, text = field.read(default)
        assumed = (field.name,) if field.of == PART else ()
        return Reading(field.name, text, value, "default", name, assumed=assumed)

    def _by_fact(self, field: Field) -> str | None:
        """The option of a choice that the facts of the board name."""
        fact = field.fact if isinstance(field, Choice) else ""
        if not isinstance(field, Choice) or not fact:
            return None
        return next((option for option in field.options if self.facts({fact: option})), None)

    def _blank(self, field: Field, name: str | None, given: Given | None) -> Reading:
        """A blank that stands for a typical figure is assumed, until that is confirmed."""
        if given is not None and given.origin == "confirmed":
            return Reading(field.name, "", None, "confirmed", name)
        assumed = (field.name,) if field.of == PART and getattr(field, "typical", False) else ()
        return Reading(field.name, "", None, "blank", name, assumed=assumed)

    def _on_card(self, field: Field) -> Reading | None:
        """What the part card says of a field; None where none is named or it does not say."""
        role, _, key = field.card.rpartition(".")
        cards = [one.name for one in self.fields.values() if one.kind == "card"]
        card: PartCard | None = self.reading(role or cards[0]).value
        figure = card.figure(key) if card is not None else None
        if card is None or figure is None:
            return None
        try:
            value, text = field.read(figure)
        except Refusal as refusal:
            raise refusal.at(f"{key} of part card {card.name}") from None
        return Reading(field.name, text, value, "card", owner=card.name)

    def assumed(self, names: Iterable[str]) -> tuple[str, ...]:
        """The part figures nobody gave that inputs of these names rest on."""
        return tuple(dict.fromkeys(one for name in names for one in self.reading(name).assumed))

    def _beside(self, field: Field, name: str | None) -> str | None:
        """What the ledger says where something else is given; a fault in it hinders nobody."""
        try:
            supply = self.lookup(name) if name else None
            return field.read(supply.value)[1] if supply is not None else None
        except Refusal:
            return None

    def ledger_name(self, field: Field) -> str | None:
        """The field's ledger name with the subject's names filled in; None where one is missing."""
        if field.ledger is None:
            return None
        try:
            return field.ledger.format_map(self.names)
        except KeyError:
            return None


def _is_blank(value: Any) -> bool:
    return value is None or (isinstance(value, str) and not value.strip())
