"""Briefs to begin with: the bundled ones, a person's own, and the ones made from answers.

A person's own are beside the journals, or in `briefs/` there, where those made from answers go.
"""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import tomli

from coach.sprint.brief.new import QUESTIONS, checked_answer
from coach.sprint.durations import duration
from coach.sprint.journal.reading import recognise
from coach.sprint.journal.sessions_folder import journal_path
from phases.kit.documents import read_text
from phases.kit.refusals import Refusal, from_system
from phases.kit.shared_data import list_shared, shared_dir
from phases.kit.text import one_line

_MOST_NAMED = 3


@dataclass(frozen=True, slots=True)
class BriefOffer:
    """A brief that can be chosen; it is checked when it is."""

    name: str
    """What `load_brief` takes: a bundled brief's bare name, or a path."""
    title: str
    when: str
    """Its cut-off or minutes in words."""
    parts: int
    written: datetime | None = None
    """When its file was; None for a bundled one."""

    @property
    def own(self) -> bool:
        """Whether it is not one of the bundled ones."""
        return self.written is not None


def offers(folder: Path) -> list[BriefOffer]:
    """The bundled briefs, then a person's own in `folder` and its `briefs/`, by name."""
    bundled = shared_dir() / "briefs"
    paths = [*sorted((folder / "briefs").glob("*.toml")), *sorted(folder.glob("*.toml"))]
    found = [
        *(_offer(bundled / f"{name}.toml", name) for name in list_shared("briefs")),
        *(_offer(path) for path in paths if path.is_file() and not _is_journal(path)),
    ]
    return [offer for offer in found if offer is not None]


def _is_journal(path: Path) -> bool:
    """Told by its beginning, because a journal is long."""
    with suppress(OSError, Refusal), path.open("rb") as file:
        recognise(file.read(4096), str(path))
        return True
    return False


def _offer(path: Path, bundled: str = "") -> BriefOffer | None:
    """What a list shows of a brief; None for a file that is not one."""
    try:
        data = tomli.loads(read_text(path, kind="brief"))
        written = None if bundled else datetime.fromtimestamp(path.stat().st_mtime, UTC)
    except (Refusal, OSError, ValueError, OverflowError, RecursionError):
        return None
    deadline, board = data.get("deadline"), data.get("board")
    if not isinstance(deadline, dict) or not isinstance(board, dict) or "rail" not in data:
        return None
    cut_off, minutes = deadline.get("cut_off"), deadline.get("minutes")
    when = "no cut-off"
    if cut_off is not None:
        when = f"cut-off {cut_off}"
    elif isinstance(minutes, int) and 0 < minutes < 10_000:
        when = duration(60 * minutes)
    parts = board.get("parts")
    title = one_line(str(data.get("title", path.stem)))
    return BriefOffer(
        bundled or str(path), title, one_line(when), parts if isinstance(parts, int) else 0, written
    )


def title_of(answers: Mapping[str, str]) -> str:
    """A title for the board of these answers: "New board: USB-C, I2C, CAN and 2 more"."""
    words = [
        choice.label.partition(",")[0]
        for question in QUESTIONS
        if question.id in ("supply", "interfaces")
        for choice in question.choices
        if choice.key in checked_answer(question.id, answers.get(question.id, ""))
    ]
    more = f" and {len(words) - _MOST_NAMED} more" if len(words) > _MOST_NAMED else ""
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
        do = "Choose a folder you may write to"
        raise from_system(error, "The brief could not be written", path, do=do) from None
    return path
