"""The sprint drawn as two dimensions under each other: as planned, and as it really was.

In the manner of the sprint screen's own time line: end marks, a segment a phase, the cut-off as
a mark through all of it. Below it the times by which one reads it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from coach.debrief.account.data import Account
from coach.debrief.report.figures import clock, sane
from coach.terminal.drawing.lines import Line, Span, width_of

_NAMED = 60
"""Cells from which the two lines say in full what they are."""
_SHORTEST = 3  # letters of a name that still tell it from the others


@dataclass(frozen=True, slots=True)
class _Piece:
    name: str
    begin: float
    end: float


def timeline_lines(account: Account, width: int) -> list[Line]:
    """Four lines of at most `width` cells; none where there is no time to draw."""
    planned = _pieces((one.name, *one.planned) for one in account.phases)
    actual = _pieces(
        (one.name, begin, end) for one in account.phases for begin, end in one.stretches
    )
    ends = [piece.end for piece in (*planned, *actual)]
    ends += [t for t in (account.deadline, account.ended_at or account.last) if sane(t)]
    whole = max(ends, default=0.0)
    if whole < 1 or (not planned and not actual):
        return []
    words = (" planned ", " actual  ") if width >= _NAMED else (" plan ", " was  ")
    scale = _Scale(whole, max(width - len(words[0]) - 2, 12))
    cut = account.deadline if sane(account.deadline) else None
    return [
        _drawn(words[0], planned, scale, cut),
        _drawn(words[1], actual, scale, cut, past=True),
        *_times(account, len(words[0]), scale, cut),
    ]


def _pieces(stretches: Iterable[tuple[str, float, float]]) -> list[_Piece]:
    found = [
        _Piece(name, begin, end)
        for name, begin, end in stretches
        if sane(begin) and sane(end) and 0 <= begin < end
    ]
    return sorted(found, key=lambda piece: piece.begin)


@dataclass(frozen=True, slots=True)
class _Scale:
    whole: float
    cells: int

    def x(self, seconds: float) -> int:
        return min(max(round(seconds / self.whole * self.cells), 0), self.cells)


def _drawn(
    word: str, pieces: Sequence[_Piece], scale: _Scale, cut: float | None, *, past: bool = False
) -> Line:
    stroke, role = ("═", "done") if past else ("─", "plain")
    row, roles = [" "] * (scale.cells + 1), ["quiet"] * (scale.cells + 1)
    for piece in pieces:
        for at in range(scale.x(piece.begin), scale.x(piece.end)):
            row[at], roles[at] = stroke, role
    for piece in pieces:
        _label(row, roles, piece.name, scale.x(piece.begin), scale.x(piece.end))
    ends = {scale.x(piece.end) for piece in pieces}
    for at in {scale.x(piece.begin) for piece in pieces} - ends:
        row[at], roles[at] = "├", "plain"
    for at in ends:
        row[at], roles[at] = "┤", "plain"
    if cut is not None:
        row[scale.x(cut)], roles[scale.x(cut)] = "┃", "due"
    return Line((Span(word, "quiet"), *_spans(row, roles)))


def _label(row: list[str], roles: list[str], name: str, begin: int, end: int) -> None:
    """The name in the middle of its piece: whole, or its first word, or its first letters."""
    room = end - begin - 2
    words = (name, name.partition(" ")[0], name[:_SHORTEST])
    word = next((one for one in words if 0 < len(one) <= room and width_of(one) == len(one)), "")
    start = begin + 1 + (room - len(word)) // 2
    for offset, letter in enumerate(word):
        row[start + offset], roles[start + offset] = letter, "quiet"


def _times(account: Account, indent: int, scale: _Scale, cut: float | None) -> list[Line]:
    """The times below: the start, the cut-off, the end; a second line where they collide."""
    marks = [(0.0, "0:00", "quiet")]
    if cut is not None:
        marks.append((cut, f"cut-off {clock(cut)}", "due"))
    if account.ended_at is not None and sane(account.ended_at):
        word = "accepted" if account.accepted else "ended"
        marks.append((account.ended_at, f"{word} {clock(account.ended_at)}", "title"))
    elif sane(account.last):
        marks.append((account.last, f"so far {clock(account.last)}", "title"))
    rows: list[list[tuple[int, str, str]]] = [[], []]
    for t, words, role in marks:
        start = min(max(scale.x(t) - len(words) // 2, 0), max(scale.cells + 1 - len(words), 0))
        row = next((one for one in rows if _free(one, start, len(words))), rows[-1])
        row.append((start, words, role))
    return [_placed(row, indent) for row in rows if row]


def _free(row: Sequence[tuple[int, str, str]], start: int, length: int) -> bool:
    return all(
        start > at + len(words) or start + length < at for at, words, _ in row
    )  # fmt: skip


def _placed(row: Sequence[tuple[int, str, str]], indent: int) -> Line:
    spans: list[Span] = []
    used = 0
    for start, words, role in sorted(row):
        gap = max(indent + start - used, 0)
        spans += [Span(" " * gap), Span(words, role)]
        used += gap + len(words)
    return Line(tuple(spans))


def _spans(row: Sequence[str], roles: Sequence[str]) -> list[Span]:
    """Cells put together into spans of one role."""
    spans: list[Span] = []
    for cell, role in zip(row, roles, strict=True):
        if spans and spans[-1].role == role:
            spans[-1] = Span(spans[-1].text + cell, role)
        else:
            spans.append(Span(cell, role))
    return spans
