"""Briefs to begin with: the bundled ones, a person's own, and the ones made from answers.

A person's own stand beside the journals, or in `briefs/` there, where those made from answers go.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from coach.sprint.brief.new import QUESTIONS, checked_answer
from coach.sprint.journal.reading import recognise
from coach.sprint.journal.sessions_folder import journal_path
from phases.kit.documents import read_text
from phases.kit.refusals import Refusal
from phases.kit.shared_data import list_shared, shared_dir
from phases.kit.text import line

_MOST_NAMED = 3


@dataclass(frozen=True, slots=True)
class BriefOffer:
    """A brief that can be chosen; it is checked when it is.

    name: what `load_brief` takes: a bundled brief's bare name, or a path. when: its cut-off or
    minutes in words. own: it is not one of the bundled ones. written: when its file was; None for
    a bundled one.
    """

    name: str
    title: str
    when: str
    parts: int
    own: bool
    written: datetime | None = None


def offers(folder: Path) -> list[BriefOffer]:
    """The bundled briefs, then a person's own in `folder` and its `briefs/`, by name."""
    bundled = shared_dir() / "briefs"
    found = [_offer(bundled / f"{name}.toml", name, own=False) for name in list_shared("briefs")]
    found += [_offer(path, str(path), own=True) for path in _own(folder)]
    return [offer for offer in found if offer is not None]


def _own(folder: Path) -> Iterator[Path]:
    for place in (folder / "briefs", folder):
        try:
            found = [path for path in sorted(place.glob("*.toml")) if path.is_file()]
            yield from (path for path in found if not _is_journal(path))
        except OSError:
            continue


def _is_journal(path: Path) -> bool:
    """Told by its beginning, because a journal is long."""
    try:
        with path.open("rb") as file:
            recognise(file.read(4096), str(path))
    except (OSError, Refusal):
        return False
    return True


def _offer(path: Path, name: str, *, own: bool) -> BriefOffer | None:
    """What a list shows of a brief; None for a file that is none."""
    try:
        data = tomllib.loads(read_text(path, kind="brief"))
    except (Refusal, ValueError, RecursionError):
        return None
    deadline, board = data.get("deadline"), data.get("board")
    if not isinstance(deadline, dict) or not isinstance(board, dict) or "rail" not in data:
        return None
    parts = board.get("parts")
    title = line(str(data.get("title", path.stem)))
    return BriefOffer(
        name, title, _when(deadline), parts if isinstance(parts, int) else 0, own,
        _written(path) if own else None,
    )  # fmt: skip


def _written(path: Path) -> datetime | None:
    try:
        return datetime.fromtimestamp(path.stat().st_mtime, UTC)
    except (OSError, OverflowError, ValueError):
        return None


def _when(deadline: Mapping[str, Any]) -> str:
    if "cut_off" in deadline:
        return line(f"cut-off {deadline['cut_off']}")
    return line(f"{deadline.get('minutes', '?')} min")


def title_of(answers: Mapping[str, str]) -> str:
    """A title for the board of these answers: "New board: USB-C, I2C, CAN and 2 more"."""
    words = []
    for question in QUESTIONS:
        if question.id in ("supply", "interfaces"):
            keys = checked_answer(question.id, answers.get(question.id, ""))
            words += [c.label.partition(",")[0] for c in question.choices if c.key in keys]
    rest = len(words) - _MOST_NAMED
    more = f" and {rest} more" if rest > 0 else ""
    return f"New board: {', '.join(words[:_MOST_NAMED])}{more}"


def brief_path(folder: Path, title: str) -> Path:
    """Where a brief of this title would be written: a path that is still free."""
    return journal_path(folder / "briefs", title)


def write_brief(text: str, folder: Path, title: str) -> Path:
    """Writes a brief to a new file named after its title; never over another. Raises Refusal."""
    path = brief_path(folder, title)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("x", encoding="utf-8") as file:
            file.write(text)
    except OSError as error:
        words = error.strerror or str(error)
        raise Refusal(
            f"The brief could not be written: {words[:1].lower()}{words[1:]}",
            where=line(str(path)),
            do="Choose a folder you may write to",
        ) from None
    return path
