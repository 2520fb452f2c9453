"""Adding a subject to the board: what kind, its name, what it is on, and its figures."""

from __future__ import annotations

from coach.sprint.commands import AddSubject
from coach.sprint.state import State
from coach.terminal.screens.one_list import OneList
from coach.terminal.screens.prompts import AskChoice, AskLine, fact_question, fault_of
from phases.kit.facts import find_fact
from phases.kit.field_types import check_name
from phases.kit.notation import read_quantity

KINDS = ("rail", "bus", "connector", "clock", "load")

_FIGURES = {
    "rail": (
        ("voltage", "V", "Its voltage window", "3.3 V ± 3 %"),
        ("current", "A", "Its current rating", "500 mA"),
    ),
    "clock": (
        ("frequency", "Hz", "Its frequency", "16 MHz"),
        ("tolerance", "ppm", "Allowed frequency error", "2500 ppm"),
    ),
    "load": (
        ("typical", "A", "Its typical current", "15 mA"),
        ("peak", "A", "Its peak current", "25 mA"),
    ),
}
"""Kind to (value, unit, prompt, example): what a brief would say of it."""


def add_subject(screen: OneList, near: str = "") -> None:
    """Asks one thing after the other and adds the subject. near: one that is under the cursor."""

    def kind_is(kind: str) -> None:
        question = AskLine(
            f"The name of the {kind}, then what it is",
            hint="can2 CAN to the pump",
            check=lambda text: _name_fault(screen.state, text),
        )
        screen.ask(question, lambda text: _ask_parent(screen, kind, text, near))

    screen.ask(AskChoice("Add what?", [(kind, kind) for kind in KINDS]), kind_is)


def _name_fault(state: State, text: str) -> str:
    name = text.partition(" ")[0]
    taken = f"{name} is on this board already" if name in state.subjects else ""
    return fault_of(lambda: check_name(name)) or taken


def _ask_parent(screen: OneList, kind: str, text: str, near: str) -> None:
    name, _, title = text.partition(" ")
    if kind == "clock":
        _ask_figures(screen, AddSubject(name, kind, "", title), {})
        return
    rails = [s for s in screen.state.subjects.values() if s.kind == "rail"]
    rails.sort(key=lambda rail: rail.id != near)
    choices = [(f"on {rail.id}", f"{rail.id}  {rail.title}") for rail in rails]
    if kind == "rail":
        choices.append(("on ", "none: another supply comes in"))

    def answered(on: str) -> None:
        command = AddSubject(name, kind, on.partition(" ")[2], title)
        if kind == "connector":
            _ask_connector_kind(screen, command)
        else:
            _ask_figures(screen, command, {})

    prompt = "Fed from which rail?" if kind == "rail" else "On which rail?"
    screen.ask(AskChoice(prompt, choices), answered)


def _ask_connector_kind(screen: OneList, command: AddSubject) -> None:
    """What it is decides which items it gets; unsaid, every item of every kind would ask."""
    fact = find_fact("connector_kind")
    screen.ask(
        fact_question(fact), lambda word: _add(screen, command._replace(facts={fact.id: word}), {})
    )


def _ask_figures(screen: OneList, command: AddSubject, said: dict[str, str]) -> None:
    """The figures of the kind one by one, then the command; a bare Enter leaves one unknown."""
    waiting = [one for one in _FIGURES.get(command.kind, ()) if one[0] not in said]
    # A load without one of its currents has no row in the table of consumers.
    needed = command.kind == "load" and bool(said)
    if not waiting or (needed and not said["typical"]):
        _add(screen, command, said)
        return
    word, unit, prompt, example = waiting[0]

    def check(text: str) -> str:
        if text:
            return fault_of(lambda: read_quantity(text, unit))
        return "Needed together with the other one" if needed else ""

    def answered(text: str | None) -> None:
        if text is not None:
            _ask_figures(screen, command, {**said, word: text})

    hint = f"e.g. {example}" if needed else f"e.g. {example}; empty = unknown"
    question = AskLine(f"{prompt}: {command.title or command.id}", hint=hint, check=check)
    screen.app.push_screen(question, answered)


def _add(screen: OneList, command: AddSubject, said: dict[str, str]) -> None:
    values = {word: text for word, text in said.items() if text}
    if screen.app.do(command._replace(values=values)):
        screen.catch_up()
        screen.rows.put_cursor(f"at:{command.id}")
