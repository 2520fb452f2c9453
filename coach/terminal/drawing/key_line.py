"""The line of keys at the foot of a screen: as many as fit, the most wanted first."""

from __future__ import annotations

from collections.abc import Sequence

from coach.terminal.actions import Action
from coach.terminal.drawing.lines import Line, Span, width_of


def key_line(actions: Sequence[Action], width: int) -> Line:
    """Keys in the order of their rank, `?` always the last."""
    ranked = sorted((a for a in actions if a.rank), key=lambda a: a.rank)
    last = ranked[-1:]
    spans: list[Span] = [Span(" ")]
    used = 1 + sum(_size(a) for a in last)
    for action in ranked[:-1]:
        if used + _size(action) > width:
            break
        spans += _spans(action)
        used += _size(action)
    for action in last:
        spans += _spans(action)
    return Line(tuple(spans))


def _size(action: Action) -> int:
    return width_of(action.shown_key) + width_of(action.label) + 3


def _spans(action: Action) -> list[Span]:
    return [Span(action.shown_key, "key"), Span(f" {action.label}  ", "quiet")]
