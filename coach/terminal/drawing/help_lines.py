"""What a screen means: its lines and marks explained, then every key with what it does."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from coach.terminal.actions import Action
from coach.terminal.drawing.lines import BLANK, Line, Span, fit, line, width_of, wrapped


@dataclass(frozen=True, slots=True)
class Mark:
    """A word or a mark on the screen, as it is drawn there, and what it means."""

    mark: str
    words: str
    role: str = "plain"


@dataclass(frozen=True, slots=True)
class About:
    """What a screen is for, and what stands on it."""

    title: str
    words: str
    marks: tuple[Mark, ...] = ()


_STATES = (
    Mark("open", "not closed yet"),
    Mark("met", "so on the board; behind it stands by what evidence", "done"),
    Mark("waived", "left out knowingly, with its reason", "done"),
    Mark("reopened", "was closed; what it rests on has changed. m says it still holds", "doubt"),
    Mark("asked", "not known whether this board needs it: y it is there, n it is not", "doubt"),
    Mark("later", "cannot be seen yet: its place comes later", "quiet"),
    Mark("not here", "not on this board", "quiet"),
)
_SEVERITIES = (
    Mark("hazard", "left out, it can hurt somebody or start a fire", "hazard"),
    Mark("dead board", "left out, the board does not run", "hazard"),
    Mark("degraded", "left out, it runs worse than it should"),
    Mark("rework", "left out, it costs time at the bench"),
)

SPRINT = About(
    "The sprint",
    "A look answers: how long is left, will it do, what is next, what is open.",
    (
        Mark("NEXT", "the next thing, with its answer where a calculation gave one", "next"),
        Mark("OPEN", "essentials that were skipped: still open though their phase was left", "due"),
        Mark("DRAW", "parts that calculations imply, until you say they are drawn", "next"),
        Mark("═", "time line: the phases as they really were", "done"),
        Mark("─", "time line: what is left of each time box"),
        Mark("╸now", "where you are on it", "next"),
        Mark("┃", "the cut-off", "due"),
        Mark("├──●──┤", "when it will be done: 8 in 10 so; ● is expected", "next"),
        Mark("→", "it goes on beyond the line", "quiet"),
        Mark("'", "where a past phase was planned to end", "quiet"),
        Mark("gate 3 of 7", "rows of the gate that are closed, of those that can be seen by now"),
        Mark("box 14  used 9", "minutes this phase is given, and has taken"),
        *_STATES,
        Mark("✓ w ·", "beside a subject: met, waived, open"),
        *_SEVERITIES,
        Mark("1 min", "what the item costs if it was left out"),
        Mark("1 .. 7", "go to that phase, in any order", "key"),
        Mark("8", "go to the closing list", "key"),
        Mark(
            "caution",
            "the coach sizes low-voltage boards; the last word have data sheet, local codes and "
            "licensed practice",
        ),
    ),
)
WALK = About(
    "The walk",
    "One open item after the other. Work from the head first; the walk confirms. What was "
    "confirmed in one walk is not asked again in the next.",
    (
        Mark("4 of 11", "which item this is, and of how many"),
        Mark("Else", "what happens if it is left out"),
        Mark(
            "Last walk",
            "in the reserve, after the first upload: every essential that is open, the worst "
            "first, each with its quickest honest way",
        ),
        *_SEVERITIES,
        Mark("y m ↵", "yes, it is so; where it takes a calculation, its calculator opens", "key"),
        Mark("n", "not on this board, with everything that hangs on it", "key"),
        Mark("space →", "not yet: it stays open", "key"),
        Mark("←", "back to the one before", "key"),
        Mark("w", "waive it, with a reason", "key"),
        Mark("r", "met by the data sheet: give the page", "key"),
        Mark("c", "open its calculator", "key"),
        Mark("f", "the more checks too, where the walk has folded some away", "key"),
        Mark("u", "take back the last command", "key"),
        Mark("esc q", "leave; what was not asked stays open", "key"),
    ),
)
CALCULATOR = About(
    "The calculator",
    "Every input stands with its origin; the verdict follows as you type. What is saved goes to "
    "the ledger, to the items it proves and to the list of what is to draw.",
    (
        Mark("brief", "the brief says so"),
        Mark("ledger", "another calculation of this sprint published it"),
        Mark("hand", "typed by you; what the ledger says stands beside it"),
        Mark("proposed", "picked from the proposals, and kept"),
        Mark("default", "a usual value; check it against your part"),
        Mark("pass", "holds with the margin asked", "done"),
        Mark("marginal", "holds with less margin than asked", "doubt"),
        Mark("fail", "does not hold; below it what would make it pass", "hazard"),
    ),
)
START = About(
    "The start",
    "Take up a sprint that has not ended, begin with a brief, or answer seven questions. The "
    "clock of a sprint runs while the coach is closed.",
    (
        Mark("1 .. 9", "take up that sprint, the last one first", "key"),
        Mark("a .. z", "begin with that brief: its sprint starts at once", "key"),
        Mark("left", "time to the cut-off", "next"),
        Mark("past", "the cut-off has passed; the sprint can still be closed", "due"),
        Mark("own", "a brief of your own, beside the journals or in briefs/ there", "quiet"),
    ),
)
NEW = About(
    "A new board",
    "Seven questions, the clock first, because it runs already. What you do not say stays "
    "unknown and is asked when it matters. The brief is written to a file you can change.",
    (
        Mark("120", "minutes from now, as 1 h 30 is too; or a cut-off, as in 15:36"),
        Mark("↵", "beside an answer: what a bare Enter takes", "key"),
        Mark("[x]", "chosen; the same key takes it out again", "done"),
    ),
)
DEBRIEF = About(
    "The debrief",
    "What a sprint was worth, from its journal alone, while it is running too: first what can "
    "still be changed, what was forgotten, and three sentences; the rest is a digit away.",
    (
        Mark("1 .. 9", "one part in full; esc goes back to the first page", "key"),
        Mark("Still changeable", "what is open, the worst first, with what can be done", "next"),
        Mark("Forgotten", "essentials nobody closed; each is named under 1", "due"),
        *_SEVERITIES,
        Mark("planned ─", "the phases as they were planned"),
        Mark("actual ═", "the phases as they really were", "done"),
        Mark("·", "not counted: the coach was closed, or something else was going on", "quiet"),
        Mark("┃", "the cut-off", "due"),
        Mark("late", "closed after its phase was left, or after the cut-off", "doubt"),
        Mark("reopened", "closed once; what it depends on changed since", "doubt"),
        Mark("−8.0 %", "margin of a limit, of what it is a per cent of; below zero it fails"),
        Mark("late finding", "a fault found after the sprint, with the item that let it through"),
        Mark("house rule", "an item of your own, made of a finding; the next sprints ask it"),
    ),
)
JOURNAL = About(
    "The journal",
    "Everything that happened, in order, the newest last. It is written before it is shown.",
    (
        Mark("0:14", "hours and minutes since the start"),
        Mark("!", "a call that rang", "due"),
        Mark("*", "a call that was made silently", "due"),
        Mark("·", "what the coach did by itself", "quiet"),
        Mark("x", "taken back later", "quiet"),
    ),
)
BOARD = About(
    "This board",
    "What is known of the board and its subjects. A change runs through at once: calculations "
    "run again, and what no longer holds is open again.",
    (
        Mark("+", "there is more below; ↵ opens and shuts it", "quiet"),
        Mark("asked", "an item asks it; answer here or at the item", "doubt"),
        Mark("not known", "nobody has said yet, and no item asks it", "quiet"),
        Mark("brief", "from the brief", "quiet"),
        Mark("assumed", "the trade's safe assumption", "quiet"),
        Mark("answered", "said in this sprint", "quiet"),
        Mark("changed", "a value of the brief, changed in this sprint", "quiet"),
        Mark("calculated", "published by that calculation; change it there", "quiet"),
        Mark("points", "what a feature counts; an optional one may be dropped and comes back"),
    ),
)
TO_DRAW = About(
    "To draw",
    "The parts and connections that saved calculations imply. Drawing the last part of a "
    "calculation that passes meets its items.",
    (Mark("change .. to ..", "drawn once; its value has changed since", "doubt"),),
)
PARKED = About(
    "Parked",
    "Thoughts and questions put aside until a pause. Settled ones stay in the journal.",
    (Mark("settled", "done with", "quiet"),),
)

BRINGUP = About(
    "The bring-up sheet",
    "What to look at and measure at the first power-on, in order. The step under the cursor says "
    "what to do and what to expect; what is entered is judged at once and kept in the journal.",
    (
        Mark("✓", "inside what was expected", "done"),
        Mark("!", "outside: see to it before the next step", "due"),
        Mark("?", "inside, but apart from what the other boards read", "due"),
        Mark("-", "a remark only: a number, or what became of the part, is still wanted", "due"),
        Mark("·", "noted: words, or nothing to judge it by"),
    ),
)

ABOUT: Mapping[str, About] = {
    "sprint": SPRINT, "walk": WALK, "calculator": CALCULATOR, "start": START, "new": NEW,
    "debrief": DEBRIEF, "journal": JOURNAL, "board": BOARD, "to draw": TO_DRAW,
    "parked": PARKED, "bring-up": BRINGUP,
}  # fmt: skip
"""What is explained, by the name of the screen."""


def help_lines(about: About, actions: Sequence[Action], width: int) -> list[Line]:
    """The screen in a few words, its marks, then its keys."""
    found = [line(Span(f" {part}")) for part in wrapped(about.words, width - 2, 6)]
    if about.marks:
        column = min(max(width_of(mark.mark) for mark in about.marks), width // 3)
        found.append(BLANK)
        for mark in about.marks:
            found += _explained(mark.mark, mark.role, mark.words, column, width)
    if actions:
        column = max(width_of(action.shown_key) for action in actions)
        found += [BLANK, line(Span(" Keys", "quiet"))]
        for action in actions:
            found += _explained(action.shown_key, "key", action.help, column, width)
    return found


def _explained(mark: str, role: str, words: str, column: int, width: int) -> list[Line]:
    """A mark, and beside it its words, wrapped under each other."""
    first, *more = wrapped(words, max(width - column - 5, 12), 6)
    found = [line(Span("  "), Span(fit(mark, column), role), Span("  "), Span(first))]
    return found + [line(Span(" " * (column + 4)), Span(part)) for part in more]
