"""Adding a subject to the board: what kind, its name, what it hangs on, and its figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from coach.sprint.commands import AddSubject
from coach.sprint.state import State
from coach.terminal.screens.ask import AskChoice, AskLine
from coach.terminal.screens.asking import choices_of
from phases.kit.facts import find_fact
from phases.kit.field_types import check_name
from phases.kit.notation import read_quantity
from phases.kit.refusals import Refusal

if TYPE_CHECKING:
    from coach.terminal.screens.one_list import OneList

KINDS = ("rail", "bus", "connector", "clock", "load")

_FIGURES = {
    "rail": (("voltage", "V", "Its voltage window", "3.3 V ± 3 %"),
             ("current", "A", "What it may give", "500 mA")),
    "clock": (("frequency", "Hz", "Its frequency", "16 MHz"),
              ("tolerance", "ppm", "The error its interfaces allow", "2500 ppm")),
    "load": (("typical", "A", "Its typical current", "15 mA"),
             ("peak", "A", "Its peak current", "25 mA")),
}  # fmt: skip
"""Kind to (value, unit, prompt, example): what a brief would say of it."""


def add_subject(screen: OneList, near: str = "") -> None:
    """Asks one thing after the other and adds the subject. near: one that is under the cursor."""
    choices = [(kind, kind) for kind in KINDS]
    screen.ask(AskChoice("Add what?", choices), lambda kind: _ask_name(screen, kind, near))


def _ask_name(screen: OneList, kind: str, near: str) -> None:
    state = screen.app.sprint.state
    question = AskLine(
        f"The name of the {kind}, then what it is", hint="can2 CAN to the pump",
        check=lambda text: _name_fault(state, text),
    )  # fmt: skip
    screen.ask(question, lambda text: _ask_parent(screen, kind, text, near))


def _name_fault(state: State, text: str) -> str:
    name = text.partition(" ")[0]
    try:
        check_name(name)
    except Refusal as refusal:
        return str(refusal)
    return f"{name} is on this board already" if name in state.subjects else ""


def _ask_parent(screen: OneList, kind: str, text: str, near: str) -> None:
    name, _, title = text.partition(" ")
    if kind == "clock":
        _ask_figures(screen, AddSubject(name, kind, "", title), {})
        return
    rails = [s for s in screen.app.sprint.state.subjects.values() if s.kind == "rail"]
    rails.sort(key=lambda rail: rail.id != near)
    choices = [(f"on {rail.id}", f"{rail.id}  {rail.title}") for rail in rails]
    prompt = "Made from which rail?" if kind == "rail" else "On which rail?"
    if kind == "rail":
        choices.append(("on ", "none: another supply comes in"))

    def answered(on: str) -> None:
        command = AddSubject(name, kind, on.partition(" ")[2], title)
        if kind == "connector":
            _ask_connector_kind(screen, command)
        else:
            _ask_figures(screen, command, {})

    screen.ask(AskChoice(prompt, choices), answered)


def _ask_connector_kind(screen: OneList, command: AddSubject) -> None:
    """What it is decides which items it gets; unsaid, every item of every kind would ask."""
    fact = find_fact("connector_kind")
    screen.ask(
        AskChoice(fact.question, choices_of(fact)),
        lambda word: _add(screen, replace(command, facts={fact.id: word}), {}),
    )


def _ask_figures(screen: OneList, command: AddSubject, said: dict[str, str]) -> None:
    """The figures of the kind one by one, then the command; a bare Enter leaves one unknown."""
    waiting: Sequence[tuple[str, str, str, str]] = [
        figure for figure in _FIGURES.get(command.kind, ()) if figure[0] not in said
    ]
    # A load without one of its currents has no row in the table of consumers.
    whole = command.kind == "load" and bool(said)
    if not waiting or (whole and not said["typical"]):
        _add(screen, command, said)
        return
    word, unit, prompt, example = waiting[0]
    question = AskLine(
        f"{prompt}: {command.title or command.id}",
        hint=example if whole else f"{example}. Enter alone: not known",
        check=lambda text: _quantity_fault(text, unit, needed=whole),
    )

    def answered(text: str | None) -> None:
        if text is not None:
            _ask_figures(screen, command, {**said, word: text})

    screen.app.push_screen(question, answered)


def _add(screen: OneList, command: AddSubject, said: dict[str, str]) -> None:
    values = {word: text for word, text in said.items() if text}
    if screen.app.do(replace(command, values=values)):
        screen.rows.put_cursor(f"at:{command.id}")


def _quantity_fault(text: str, unit: str, *, needed: bool) -> str:
    if not text:
        return "It is needed beside the other one" if needed else ""
    try:
        read_quantity(text, unit)
    except Refusal as refusal:
        return str(refusal)
    return ""
