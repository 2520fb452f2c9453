"""Rules of values: those of the brief are changed, to what their readers can read."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from typing import Any

from coach.sprint.brief.document import BRIEF_NAMES, Voltage
from coach.sprint.brief.loading import card_of_mcu
from coach.sprint.commands import DeclareValue
from coach.sprint.events.board import FactSet, ValueDeclared
from coach.sprint.events.event import Event
from coach.sprint.ledger.brief_values import board_values
from coach.sprint.ledger.ledger import FALLBACKS
from coach.sprint.rules.rule import CommandContext, Outcome, provisional, rule
from coach.sprint.state import State
from phases.kit.cards import load_capability, load_part
from phases.kit.catalogue import calculators
from phases.kit.documents import RefusedError
from phases.kit.field_types import Amperes, Degrees, Hertz, Ppm
from phases.kit.fields import Field
from phases.kit.refusals import Refusal, check_known
from phases.kit.text import one_line

_TABLES = ("board.consumers", "board.pins", "board.rails")
_TYPES = {
    "rail.{rail}.window": Voltage,
    "rail.{rail}.rating": Amperes,
    "source.current": Amperes,
    "board.ambient": Degrees,
    "clock.{clock}.frequency": Hertz,
    "clock.{clock}.tolerance": Ppm,
}
"""What the brief takes for a value, by its template."""
_OF_KIND = {
    "rail": {"voltage": "rail.{}.window", "current": "rail.{}.rating"},
    "clock": {"frequency": "clock.{}.frequency", "tolerance": "clock.{}.tolerance"},
    "load": {"typical": "", "peak": "", "duty": "", "count": ""},
}
"""What may be said of a new subject, and the ledger name it gets; a load is a row of a table."""

Rows = list[dict[str, str]]


@rule(DeclareValue)
def _declare(state: State, command: DeclareValue, context: CommandContext) -> Outcome:
    name = one_line(command.name)
    value = checked_value(state, name, command.value)
    if value == board_values(state).get(name):
        raise Refusal("Already set", where=name)
    if name == "board.layers":  # items ask the same number as a fact
        return [FactSet(fact="layers", value=float(str(value)))], ""
    followed = _of_the_card(state, str(value)) if name == "board.mcu" else []
    return [declared(name, value), *followed], ""


def declared(name: str, value: str | Rows) -> ValueDeclared:
    """The event that a value of the brief is another now."""
    return ValueDeclared(name=name, value=value if isinstance(value, str) else tuple(value))


def _of_the_card(state: State, name: str) -> list[Event]:
    """What another microcontroller's card answers, but for what a person said otherwise."""
    earlier: dict[str, bool] = {}
    with suppress(Refusal):  # no file of it any more: nothing is known to have come from it
        if fitted := board_values(state).get("board.mcu"):
            earlier = load_part(fitted).facts()
    return [
        FactSet(fact=fact, value=value)
        for fact, value in load_part(name).facts().items()
        if state.knowledge.get(fact) in (None, earlier.get(fact))
        and state.knowledge.get(fact) != value
    ]


# ---- of a new subject ------------------------------------------------------------------------


def values_of_subject(
    state: State, added: Sequence[Event], name: str, values: Mapping[str, Any]
) -> list[Event]:
    """What is said of a subject that `added` puts on the board, as values of the brief."""
    state = provisional(state, *added)
    subject = state.subjects[name]
    names = _OF_KIND.get(subject.kind, {})
    for word in values:
        check_known(f"value of a {subject.kind}", word, names)
    if subject.kind == "load":
        row = consumer_row(subject.title, subject.parent, values)
        rows = [*board_values(state).get("board.consumers", ()), row]
        return [declared("board.consumers", checked_value(state, "board.consumers", rows))]
    named = {names[word].format(subject.id): value for word, value in values.items()}
    return [declared(at, checked_value(state, at, value)) for at, value in named.items()]


def consumer_row(title: str, rail: str, values: Mapping[str, Any]) -> dict[str, str]:
    """A load as a row of the table of consumers."""
    said = {
        k: one_line(str(values[k])) for k in ("typical", "peak", "duty", "count") if k in values
    }
    return {"consumer": title, "rail": rail, **said}


# ---- checks ----------------------------------------------------------------------------------


def checked_value(state: State, name: str, value: Any) -> str | Rows:
    """`value` as text or rows, if the brief would take it and every calculator can read it."""
    template = _template_of(state, name)
    if name == "board.rails":
        raise Refusal(
            "The table of rails follows the rails", do="Change a rail's own window or rating"
        )
    if template.endswith((".withstands", ".needs")):
        raise Refusal(f"{name} follows the part cards", do="Name the cards of what the rail feeds")
    if template.startswith("load.") and ".card." not in template:
        raise Refusal(
            f"{name} follows the table of loads", do="Change it there, in board.consumers"
        )
    try:
        kept = _in_form(value, name in _TABLES)
        if isinstance(kept, str):
            _check_text(state, template, kept)
        elif name == "board.consumers":
            _check_rails(state, kept)
        for field in _readers(template):
            field.read(kept)
    except Refusal as refusal:
        raise refusal.at(name) from None
    return kept


def _template_of(state: State, name: str) -> str:
    """The name of `BRIEF_NAMES` that this one is made from. Raises Refusal where there is none."""
    names = {template: template for template in BRIEF_NAMES if "{" not in template}
    for subject in state.subjects.values():
        kind = f"{{{subject.kind}}}"
        names |= {one.replace(kind, subject.id): one for one in BRIEF_NAMES if kind in one}
    check_known("value of the brief", name, names)
    return names[name]


def _in_form(value: Any, is_table: bool) -> str | Rows:
    if isinstance(value, str):
        if is_table:
            raise Refusal("This is a table, not one value", do="Give its rows")
        text = one_line(value)
        if not text:
            raise Refusal("A value is missing", do="Write it with its unit")
        return text
    if not is_table:
        raise Refusal("This is one value, not a table", do="Write it with its unit")
    if not isinstance(value, Sequence) or not all(isinstance(row, Mapping) for row in value):
        raise Refusal("This is a table", do="Give its rows")
    return [{str(k): one_line(str(v)) for k, v in row.items()} for row in value]


def _check_text(state: State, template: str, text: str) -> None:
    if template in _TYPES:
        _check_type(_TYPES[template], text)
    elif template == "board.mcu_rail":
        check_known("rail", text, state.ids_of("rail"))
    elif template == "board.capability":
        load_capability(text)
    elif template == "board.mcu":
        card_of_mcu(text)
    elif ".card." in template:
        load_part(text)


def _check_type(kind: Any, text: str) -> None:
    """Refuses what the brief would not take: a current in volts, mains."""
    from pydantic import TypeAdapter, ValidationError

    try:
        TypeAdapter(kind).validate_python(text)
    except ValidationError as fault:
        error = fault.errors()[0].get("ctx", {}).get("error")
        raise (error.refusal if isinstance(error, RefusedError) else Refusal(str(error))) from None


def _check_rails(state: State, rows: Rows) -> None:
    for number, row in enumerate(rows, start=1):
        check_known("rail", row.get("rail", ""), state.ids_of("rail"), where=f"row {number}")


def _readers(template: str) -> Iterator[Field]:
    """The inputs of every calculator that read a name of this template.

    Those too that read a name it stands in for, as a rail's window does for its voltage.
    """
    head, _, last = _plain(template).rpartition(".")
    lasts = {last, *(name for name, other in FALLBACKS.items() if other == last)}
    wanted = {f"{head}.{name}" for name in lasts}
    for kind in calculators().values():
        for field in kind.fields.values():
            if field.ledger is not None and _plain(field.ledger) in wanted:
                yield field


def _plain(template: str) -> str:
    """A template without what its subjects are called."""
    return re.sub(r"\{\w+\}", "{}", template)
