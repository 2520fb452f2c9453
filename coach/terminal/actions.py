"""Every action with its key: one registry feeds bindings, key line, help and palette."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from textual.binding import Binding

from coach.terminal.drawing.lines import Line, Span, line, width_of


@dataclass(frozen=True, slots=True)
class Action:
    """name: of the screen's `action_` method. key: that it is on, and others behind commas. label:
    in the key line. rank: smaller is shown first where the line is short; 0 is never in the line.
    help: one line for `?`."""

    name: str
    key: str
    label: str
    help: str
    rank: int = 0

    @property
    def shown_key(self) -> str:
        key = self.key.partition(",")[0]
        return _SHOWN.get(key, key)

    @property
    def width(self) -> int:
        """Cells in the key line."""
        return width_of(self.shown_key) + width_of(self.label) + 3


_SHOWN = {
    "enter": "↵",
    "question_mark": "?",
    "slash": "/",
    "colon": ":",
    "escape": "esc",
    "left": "←",
    "left_square_bracket": "[",
    "right_square_bracket": "]",
    "f1": "F1",
    "f2": "F2",
    "f3": "F3",
    "f8": "F8",
}

BACK = Action("back", "escape", "back", "Back to where you came from", 20)
HELP = Action("help", "question_mark", "help", "Explain this screen", 30)
UNDO = Action("undo", "u", "undo", "Undo the last command", 19)

SPRINT = (
    Action("next", "enter", "do NEXT", "Do what NEXT says, or open what is under the cursor", 1),
    Action("calculate", "c", "calculate", "Open the calculator of this item", 2),
    Action("meet", "m", "met", "Confirm: done on this board, or still valid", 3),
    Action("not_here", "n", "not here", "Not on this board, with everything that depends on it", 4),
    Action("waive", "w", "waive", "Waive: leave it out, with a reason", 5),
    Action("draw", "d", "drawn", "Mark the first part in DRAW as drawn", 6),
    Action("walk", "g", "walk", "Walk this gate's open items; in the reserve, the last walk", 7),
    Action("sign_off", "s", "sign off", "Sign off this phase", 8),
    Action("park", "a", "park", "Park a note until the next pause", 9),
    Action("undo", "u", "undo", "Undo the last command", 10),
    Action("draw_all", "D", "all drawn", "Mark every part in DRAW as drawn"),
    Action("to_draw", "t", "to draw", "All parts to draw; copy the list out"),
    Action("sheet", "r", "data sheet", "Met by the data sheet: give the page"),
    Action("there", "y", "it is there", "Answer the item's question: it is there"),
    Action("reopen", "o", "reopen", "Open a closed item again, or take up one that was deferred"),
    Action("fold", "f", "more checks", "Show or fold the more checks"),
    Action("find", "slash", "find", "Find an item by a word"),
    Action("line", "colon", "quick line", "One line: a quick calculation, or a note to park"),
    Action("calculations", "l", "calculations", "All calculators and saved calculations"),
    Action("parked", "p", "parked", "Parked notes; mark them done"),
    Action("board", "b", "board", "Facts, values, subjects and features of this board"),
    Action("change", "x", "changed", "Report a change the coach cannot see"),
    Action("cut_off", "e", "cut-off", "Move the cut-off, with a reason"),
    Action("interrupted", "i", "interrupted", "Do not count the time since the last key"),
    Action("forecast", "W", "why", "What the forecast is made of, and what could be dropped"),
    Action("quiet", "z", "quiet", "Calls quiet, or ringing again"),
    Action("journal", "v", "journal", "Everything that happened so far, and the calls"),
    Action("stage", "P", "next stage", "Placed, routed: start the next stage, with its walk"),
    Action("step_by_step", "S", "step by step", "Walk this phase item by item, more checks too"),
    Action("joined", "J", "drawn before", "This phase was drawn before; confirm it in a walk"),
    Action("end", "E", "end", "End the sprint"),
    Action("help", "question_mark", "help", "What each number here is made of, and every key", 11),
    Action("leave", "q", "quit", "Quit; the sprint goes on, coach resume comes back"),
)
"""The keys of the sprint screen. 1 to 7 change the phase, 8 goes to the closing list."""


def bindings(actions: Iterable[Action]) -> list[Binding]:
    return [Binding(a.key, a.name, a.label, show=False) for a in actions]


def key_line(actions: Iterable[Action], width: int) -> Line:
    """The foot of a screen: as many keys as fit, in the order of their rank, help always last."""
    *ranked, last = sorted((a for a in actions if a.rank), key=lambda a: a.rank)
    room, shown = width - 1 - last.width, []
    for action in ranked:
        room -= action.width
        if room < 0:
            break
        shown.append(action)
    return line(" ", *(span for action in (*shown, last) for span in _key(action)))


def _key(action: Action) -> Sequence[Span]:
    return Span(action.shown_key, "key"), Span(f" {action.label}  ", "quiet")
