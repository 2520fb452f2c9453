"""Every action with its key: one registry feeds bindings, key line, help and palette."""

from __future__ import annotations

from dataclasses import dataclass

from textual.binding import Binding


@dataclass(frozen=True, slots=True)
class Action:
    """name: of the screen's `action_` method. label: in the key line. rank: smaller is shown
    first where the line is short; 0 is never in the line. help: one line for `?`."""

    name: str
    key: str
    label: str
    help: str
    rank: int = 0

    @property
    def shown_key(self) -> str:
        return _SHOWN.get(self.key, self.key)


_SHOWN = {
    "enter": "↵", "question_mark": "?", "slash": "/", "colon": ":", "escape": "esc",
    "left": "←", "left_square_bracket": "[", "right_square_bracket": "]",
    "f1": "F1", "f2": "F2", "f3": "F3", "f8": "F8",
}  # fmt: skip

SPRINT = (
    Action("next", "enter", "do it", "Do the next thing, or what is under the cursor", 1),
    Action("calculate", "c", "calculate", "Open the calculator of this item", 2),
    Action("meet", "m", "met", "Met: it is so on the board; on a doubt: it still is", 3),
    Action("not_here", "n", "not here", "Not on this board, with everything that hangs on it", 4),
    Action("waive", "w", "waive", "Leave it out knowingly, with a reason", 5),
    Action("draw", "d", "drawn", "The first part to draw is drawn", 6),
    Action("walk", "g", "walk", "Walk this gate's open items; in the reserve, the last walk", 7),
    Action("sign_off", "s", "sign off", "Sign off this phase", 8),
    Action("park", "a", "park", "Park a thought until the next pause", 9),
    Action("undo", "u", "undo", "Take back the last command", 10),
    Action("draw_all", "D", "all drawn", "Everything to draw is drawn"),
    Action("to_draw", "t", "to draw", "The list of what is to draw; copy it out"),
    Action("sheet", "r", "data sheet", "Met by the data sheet: give the page"),
    Action("there", "y", "it is there", "Answer the item's question: it is there"),
    Action("reopen", "o", "reopen", "Open a closed item again, or take up one that was set aside"),
    Action("fold", "f", "further", "Show or fold the more checks"),
    Action("find", "slash", "find", "Find an item by a word"),
    Action("line", "colon", "quick line", "One line: a quick calculation, or a thought to park"),
    Action("calculations", "l", "calculations", "All calculators and saved calculations"),
    Action("parked", "p", "parked", "Parked thoughts; settle them"),
    Action("board", "b", "board", "Facts, values, subjects and features of this board"),
    Action("change", "x", "changed", "Say that something changed that no value shows"),
    Action("cut_off", "e", "cut-off", "Move the cut-off, with a reason"),
    Action("interrupted", "i", "interrupted", "Take the time since the last key out: interrupted"),
    Action("forecast", "W", "why", "What the forecast is made of, and what could be dropped"),
    Action("quiet", "z", "quiet", "Calls quiet, or ringing again"),
    Action("journal", "v", "journal", "What happened so far, and the calls"),
    Action("place", "P", "next place", "Placed, routed: go on to the next place, with its walk"),
    Action("step_by_step", "S", "step by step", "Walk this phase item by item, further ones too"),
    Action("joined", "J", "drawn before", "This phase was drawn before; confirm it in a walk"),
    Action("end", "E", "end", "End the sprint"),
    Action("help", "question_mark", "help", "What each number here is made of, and every key", 11),
    Action("leave", "q", "leave", "Leave; the sprint goes on, coach resume comes back"),
)
"""The keys of the sprint screen. 1 to 7 change the phase, 8 goes to the closing list."""


def bindings(actions: tuple[Action, ...]) -> list[Binding]:
    return [Binding(a.key, a.name, a.label, show=False) for a in actions]
