"""Adding a subject to the board: what kind, its name, what it is on, and its figures."""

from __future__ import annotations

from collections.abc import Generator

from textual.screen import Screen

from coach.sprint.commands import AddSubject
from coach.sprint.state import State
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


def ask_subject(
    state: State, near: str
) -> Generator[Screen[str | None], str | None, AddSubject | None]:
    """Asks one thing after the other; None where one is left. near: a subject under the cursor."""
    kind = yield AskChoice("Add what?", [(kind, kind) for kind in KINDS])
    text = kind and (
        yield AskLine(
            f"The name of the {kind}, then what it is",
            hint="can2 CAN to the pump",
            check=lambda text: _name_fault(state, text),
        )
    )
    if not kind or not text:
        return None
    name, _, title = text.partition(" ")
    on = "on " if kind == "clock" else (yield _parent_question(state, kind, near))
    if not on:
        return None
    command = AddSubject(name, kind, on.partition(" ")[2], title)
    if kind == "connector":  # unsaid, every item of every kind would ask
        fact = find_fact("connector_kind")
        word = yield fact_question(fact)
        return command._replace(facts={fact.id: word}) if word else None
    values: dict[str, str] = {}
    for word, unit, prompt, example in _FIGURES.get(kind, ()):
        # A load without one of its currents has no row in the table of consumers.
        needed = kind == "load" and bool(values)
        if needed and not values["typical"]:
            break
        text = yield _figure_question(f"{prompt}: {title or name}", unit, example, needed)
        if text is None:
            return None
        values[word] = text
    return command._replace(values={word: text for word, text in values.items() if text})


def _name_fault(state: State, text: str) -> str:
    name = text.partition(" ")[0]
    taken = f"{name} is on this board already" if name in state.subjects else ""
    return fault_of(lambda: check_name(name)) or taken


def _parent_question(state: State, kind: str, near: str) -> AskChoice:
    rails = [s for s in state.subjects.values() if s.kind == "rail"]
    rails.sort(key=lambda rail: rail.id != near)
    choices = [(f"on {rail.id}", f"{rail.id}  {rail.title}") for rail in rails]
    if kind == "rail":
        choices.append(("on ", "none: another supply comes in"))
    return AskChoice("Fed from which rail?" if kind == "rail" else "On which rail?", choices)


def _figure_question(prompt: str, unit: str, example: str, needed: bool) -> AskLine:
    """A bare Enter leaves a figure unknown, where it is not needed."""

    def check(text: str) -> str:
        if text:
            return fault_of(lambda: read_quantity(text, unit))
        return "Needed together with the other one" if needed else ""

    hint = f"e.g. {example}" if needed else f"e.g. {example}; empty = unknown"
    return AskLine(prompt, hint=hint, check=check)
