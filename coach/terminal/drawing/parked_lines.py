"""Parked thoughts: those that wait, then those that are settled."""

from __future__ import annotations

from coach.sprint.durations import elapsed
from coach.sprint.state import State, Thought
from coach.terminal.drawing.lines import BLANK, Line, Span, line, spread_out, wrapped


def parked_title(state: State, width: int) -> list[Line]:
    waiting = sum(not thought.settled for thought in state.thoughts)
    count = f"{waiting} waiting " if waiting else ""
    return [spread_out((Span(" Parked", "title"),), (Span(count, "quiet"),), width)]


def parked_lines(state: State, width: int) -> list[Line]:
    """Each thought with the time it was parked at; its number is the key of its line."""
    if not state.thoughts:
        words = "Nothing is parked. A thought put aside here waits for the next pause."
        return [BLANK, *(line(Span(f" {part}")) for part in wrapped(words, width - 2, 4))]
    waiting = [thought for thought in state.thoughts if not thought.settled]
    settled = [thought for thought in state.thoughts if thought.settled]
    found = [one for thought in waiting for one in _thought(thought, width)]
    if not waiting:
        found.append(line(Span(" Everything is settled", "done")))
    if settled:
        found += [BLANK, line(Span(" settled", "quiet"))]
        found += [one for thought in settled for one in _thought(thought, width)]
    return found


def _thought(thought: Thought, width: int) -> list[Line]:
    role = "quiet" if thought.settled else "plain"
    key = "" if thought.settled else str(thought.number)
    first, *more = wrapped(thought.text, max(width - 10, 16), 4) or [""]
    found = [line(Span(f" {elapsed(thought.t):>5}  ", "quiet"), Span(first, role), key=key)]
    return found + [line(Span(" " * 8), Span(part, role)) for part in more]
