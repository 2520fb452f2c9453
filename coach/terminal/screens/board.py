"""This board: facts, values, subjects and features, each changed by a key."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import ClassVar

from textual.binding import Binding, BindingType

from coach.sprint.board_values import board_values
from coach.sprint.commands import (
    Command,
    DeclareValue,
    DropFeature,
    DropSubject,
    RestoreFeature,
    SetFact,
)
from coach.sprint.rules.values import checked_value
from coach.terminal.actions import Action, bindings
from coach.terminal.drawing.board_lines import COLUMNS, board_lines, board_title, value_prompt
from coach.terminal.drawing.lines import Line
from coach.terminal.screens import adding, asking
from coach.terminal.screens.ask import AskChoice, AskLine
from coach.terminal.screens.one_list import BACK, HELP, UNDO, OneList
from phases.kit.facts import find_fact
from phases.kit.refusals import Refusal

ACTIONS = (
    Action("change", "enter", "change", "Change what is under the cursor; a subject opens", 1),
    Action("add", "a", "add", "Add a rail, bus, connector, clock or load", 2),
    Action("drop", "x", "drop", "Take a subject off the board, or drop an optional feature", 3),
    Action("unfold", "f", "all", "Open everything, or shut it again", 4),
    UNDO, BACK, HELP,
)  # fmt: skip


class BoardScreen(OneList):
    """The tree of subjects; what is known of one is shown once it is opened."""

    NAME = "board"
    ACTIONS: ClassVar[tuple[Action, ...]] = ACTIONS
    BINDINGS: ClassVar[list[BindingType]] = [
        *bindings(ACTIONS), Binding("space", "change", show=False),
    ]  # fmt: skip

    def __init__(self) -> None:
        super().__init__()
        self.unfolded: frozenset[str] = frozenset()

    def title_lines(self, width: int) -> list[Line]:
        return board_title(self.app.sprint.state, width)

    def body_lines(self, width: int) -> list[Line]:
        return board_lines(self.app.sprint.state, self.unfolded, width)

    # ---- opening and shutting ------------------------------------------------------------------

    def action_unfold(self) -> None:
        everything = frozenset(("", *self.app.sprint.state.subjects))
        self.unfolded = frozenset() if self.unfolded else everything
        self.repaint()

    def _turn(self, subject: str) -> None:
        self.unfolded = self.unfolded ^ {subject}
        self.repaint()

    # ---- changing ------------------------------------------------------------------------------

    def action_change(self) -> None:
        kind, _, rest = self.rows.key.partition(":")
        if kind == "at":
            self._turn(rest)
        elif kind == "fact":
            subject, _, fact = rest.partition(":")
            self._change_fact(subject, fact)
        elif kind == "value":
            self._change_value(rest)
        elif kind == "row":
            name, _, index = rest.rpartition(":")
            self._change_row(name, int(index))
        elif kind == "feature":
            self._turn_feature(rest)
        elif kind == "calculated":
            name, _, calculation = rest.partition(":")
            self.app.say(f"{calculation} computes {name}; change it there", "due")

    def _change_fact(self, subject: str, name: str) -> None:
        fact = find_fact(name)
        if fact.kind == "number":
            question = AskLine(fact.question, hint=fact.unit, check=_number_fault)
            self.ask(question, lambda text: self._do(SetFact(name, float(text), subject)))
        else:
            self.ask(
                AskChoice(fact.question, asking.choices_of(fact)),
                lambda word: self._do(
                    SetFact(name, word == "yes" if fact.kind == "yes/no" else word, subject)
                ),
            )

    def _change_value(self, name: str) -> None:
        value = board_values(self.app.sprint.state).get(name, "")
        question = AskLine(
            value_prompt(self.app.sprint.state, name), value=str(value),
            check=lambda text: self._fault(name, text),
        )  # fmt: skip
        self.ask(question, lambda text: self._do(DeclareValue(name, text)))

    def _fault(self, name: str, value: object) -> str:
        """Why the brief would not take this value; empty where it would."""
        return fault_of(lambda: checked_value(self.app.sprint.state, name, value))

    def _change_row(self, name: str, index: int) -> None:
        """Asks which column of the row, then for its text."""
        rows = board_values(self.app.sprint.state).get(name, [])
        if index >= len(rows):
            return
        row = rows[index]
        titled = next(iter(row.values()))
        columns = [(c, f"{c}  {row.get(c, '')}") for c in COLUMNS[name]]
        if len(columns) == 1:
            self._change_cell(name, rows, index, columns[0][0])
            return
        self.ask(
            AskChoice(f"Change what of {titled}?", columns),
            lambda column: self._change_cell(name, rows, index, column),
        )

    def _change_cell(
        self, name: str, rows: Sequence[Mapping[str, str]], index: int, column: str
    ) -> None:
        def changed(text: str) -> list[dict[str, str]]:
            return [
                {**row, column: text} if i == index else dict(row) for i, row in enumerate(rows)
            ]

        question = AskLine(
            f"{next(iter(rows[index].values()))}, {column}", value=rows[index].get(column, ""),
            check=lambda text: self._fault(name, changed(text)),
        )  # fmt: skip
        self.ask(question, lambda text: self._do(DeclareValue(name, changed(text))))

    # ---- adding and dropping -------------------------------------------------------------------

    def action_add(self) -> None:
        kind, _, rest = self.rows.key.partition(":")
        adding.add_subject(self, near=rest if kind == "at" else "")

    def action_drop(self) -> None:
        kind, _, rest = self.rows.key.partition(":")
        if kind == "feature":
            self._turn_feature(rest)
        elif kind == "at" and rest:
            subject = self.app.sprint.state.subjects[rest]
            choices = [("drop", f"Take {rest} off the board"), ("keep", "Keep it")]
            self.ask(
                AskChoice(f"{subject.title}: its items and calculations go with it.", choices),
                lambda word: self._do(DropSubject(rest)) if word == "drop" else None,
            )
        else:
            self.app.say("Put the cursor on a subject or a feature", "due")

    def _turn_feature(self, name: str) -> None:
        dropped = name in self.app.sprint.state.dropped
        self._do(RestoreFeature(name) if dropped else DropFeature(name))

    def _do(self, command: Command) -> None:
        self.app.do(command)


def _number_fault(text: str) -> str:
    try:
        float(text)
    except ValueError:
        return f"{text!r} is no number"
    return ""


def fault_of(read: Callable[[], object]) -> str:
    """The sentence of a refusal; empty where there is none."""
    try:
        read()
    except Refusal as refusal:
        return str(refusal)
    return ""
