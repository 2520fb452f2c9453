"""The rule of values: one of the brief is changed, to what its readers can read."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from coach.sprint.board_values import board_values
from coach.sprint.brief import BRIEF_NAMES, Voltage
from coach.sprint.commands import DeclareValue
from coach.sprint.events import ValueDeclared
from coach.sprint.rules.asked import Asked, Outcome, rule
from coach.sprint.state import State
from phases.kit.cards import load_capability
from phases.kit.catalogue import calculators
from phases.kit.documents import RefusedError
from phases.kit.fields import Field
from phases.kit.notation import read_quantity
from phases.kit.refusals import Refusal, unknown
from phases.kit.text import line

_UNITS = {
    "rail.{rail}.rating": "A",
    "source.current": "A",
    "board.ambient": "°C",
    "clock.{clock}.frequency": "Hz",
    "clock.{clock}.tolerance": "ppm",
}


@rule(DeclareValue)
def _declare(state: State, command: DeclareValue, asked: Asked) -> Outcome:
    name, template = line(command.name), _template_of(state, line(command.name))
    known = board_values(state)
    if name == "board.rails":
        raise Refusal(
            "The table of rails follows the rails", do="Change a rail's own window or rating"
        )
    value = _in_form(command.value, isinstance(known.get(name, ""), str), name)
    if value == known.get(name):
        raise Refusal(f"{name} is so already")
    try:
        _check(state, template, value)
    except Refusal as refusal:
        raise refusal.at(name) from None
    kept = value if isinstance(value, str) else tuple(value)
    return [ValueDeclared(name=name, value=kept)], ""


def _template_of(state: State, name: str) -> str:
    """The name of `BRIEF_NAMES` that this one is made from. Raises Refusal where there is none."""
    names = {}
    for template in BRIEF_NAMES:
        kind = re.search(r"\{(\w+)\}", template)
        if kind is None:
            names[template] = template
        else:
            for subject in state.subjects.values():
                if subject.kind == kind[1]:
                    names[template.replace(kind[0], subject.id)] = template
    if name not in names:
        raise unknown("value of the brief", name, names)
    return names[name]


def _in_form(value: Any, one: bool, name: str) -> str | list[dict[str, str]]:
    """The value as text, or as rows where the name stands for a table."""
    if isinstance(value, str):
        text = line(value)
        if not text:
            raise Refusal("A value is missing", where=name, do="Write it with its unit")
        if not one:
            raise Refusal(f"{name} is a table, not one value")
        return text
    if one:
        raise Refusal(f"{name} is one value, not a table")
    if not isinstance(value, Sequence) or not all(isinstance(row, Mapping) for row in value):
        raise Refusal(f"{name} is a table", do="Give its rows")
    return [{str(k): line(str(v)) for k, v in row.items()} for row in value]


def _check(state: State, template: str, value: str | list[dict[str, str]]) -> None:
    """Refuses what the brief would not take, and what a calculator could not read."""
    for field in _readers(template):
        field.read(value)
    if isinstance(value, str):
        _check_text(state, template, value)
    elif template == "board.consumers":
        rails = [s.id for s in state.subjects.values() if s.kind == "rail"]
        for number, row in enumerate(value, start=1):
            if row.get("rail") not in rails:
                raise unknown("rail", row.get("rail", ""), rails, where=f"row {number}")


def _check_text(state: State, template: str, text: str) -> None:
    if template == "rail.{rail}.window":
        _check_window(text)
    elif template in _UNITS:
        read_quantity(text, _UNITS[template])
    elif template == "board.mcu_rail":
        rails = [s.id for s in state.subjects.values() if s.kind == "rail"]
        if text not in rails:
            raise unknown("rail", text, rails)
    elif template == "board.capability":
        load_capability(text)


def _check_window(text: str) -> None:
    """A rail's window as the brief takes it: low voltage, no mains."""
    from pydantic import TypeAdapter, ValidationError

    try:
        TypeAdapter(Voltage).validate_python(text)
    except ValidationError as fault:
        error = fault.errors()[0].get("ctx", {}).get("error")
        raise (error.refusal if isinstance(error, RefusedError) else Refusal(str(error))) from None


def _readers(template: str) -> Iterator[Field]:
    """The inputs of every calculator that read this name."""
    for kind in calculators().values():
        for field in kind.fields.values():
            if field.ledger is not None and _same_name(field.ledger, template):
                yield field


def _same_name(ledger: str, template: str) -> bool:
    """Whether two templates stand for the same names, whatever their subjects are called.

    A rail's voltage is read where its window stands in.
    """
    plain = [re.sub(r"\{\w+\}", "{}", one) for one in (ledger, template)]
    return plain[0] == plain[1] or plain == ["rail.{}.voltage", "rail.{}.window"]
