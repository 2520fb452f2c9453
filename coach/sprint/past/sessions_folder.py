"""Where the journals of sprints go, and which of them is the newest that has not ended.

From a checkout they go to its `sessions/`, from an installed coach to the person's data folder.
The folder is made when the first journal is.
"""

from __future__ import annotations

import itertools
from datetime import datetime
from pathlib import Path

from coach.sprint.past.glance import Glance, glance
from phases.kit.refusals import Refusal
from phases.kit.text import name_words

_LONGEST_NAME = 60
_LOOKED_AT = 20
"""Journals looked at for a sprint that goes on, the last written first: a sprint begins at once."""


def sessions_folder() -> Path:
    """The folder for this person's journals; it may not be there yet."""
    checkout = Path(__file__).resolve().parents[3]
    if (checkout / "pyproject.toml").is_file() and (checkout / "shared" / "briefs").is_dir():
        return checkout / "sessions"
    from platformdirs import user_data_path

    return user_data_path("coach", appauthor=False) / "sessions"


def journal_path(folder: Path, name: str, started: datetime | None = None) -> Path:
    """A path that is still free, named after the brief and the wall time of the start."""
    stem = "-".join(name_words(name))[:_LONGEST_NAME].strip("-") or "sprint"
    if started is not None:
        stem = f"{stem}-{started:%Y-%m-%d-%H%M}"
    names = itertools.chain([stem], (f"{stem}-{number}" for number in itertools.count(2)))
    return next(p for p in (folder / f"{n}.toml" for n in names) if not p.exists())


def journals(folder: Path) -> list[Path]:
    """The files in the folder that may be journals, the last written first."""
    try:
        found = [(path.stat().st_mtime_ns, path) for path in folder.glob("*.toml")]
    except OSError:
        return []
    return [path for _, path in sorted(found, reverse=True)]


def newest_unended(folder: Path) -> Path:
    """The last written journal whose sprint goes on. Raises Refusal where there is none."""
    path = _newest(folder, ended=False)
    if path is None:
        raise Refusal(
            "There is no sprint to go on with",
            where=str(folder),
            do="Start one with coach sprint BRIEF, or name its journal",
        )
    return path


def newest_worked_on(folder: Path) -> tuple[Path, int]:
    """The last written journal whose sprint has ended and was not given up at once, and how many
    newer ones were; where all were, the newest. Raises Refusal where none has ended."""
    passed_over = 0
    for path in journals(folder):
        try:
            seen = glance(path)
        except Refusal:
            continue
        if seen.ended and not seen.given_up:
            return path, passed_over
        passed_over += seen.ended
    return newest_ended(folder), 0


def passed_over_words(passed_over: int) -> list[str]:
    """That newer journals were passed over, in a line; none where none was."""
    if not passed_over:
        return []
    newer = "1 newer sprint" if passed_over == 1 else f"{passed_over} newer sprints"
    return [f"{newer}, given up at once, {'is' if passed_over == 1 else 'are'} passed over"]


def newest_ended(folder: Path) -> Path:
    """The last written journal whose sprint has ended. Raises Refusal where there is none."""
    path = _newest(folder, ended=True)
    if path is None:
        raise Refusal("There is no sprint here that has ended", where=str(folder),
                      do="Name its journal")  # fmt: skip
    return path


def _newest(folder: Path, *, ended: bool) -> Path | None:
    for path in journals(folder):
        try:
            if glance(path).ended == ended:
                return path
        except Refusal:
            continue
    return None


def going_on(folder: Path, title: str, now: datetime) -> Glance | None:
    """The last written sprint of this title that has not ended and whose cut-off is still ahead;
    a rehearsal's is as long as its own clock, which stood still, has not reached it."""
    for path in journals(folder)[:_LOOKED_AT]:
        try:
            seen = glance(path)
        except (Refusal, OSError):
            continue
        if seen.title == title and not seen.ended and seen.left(now) > 0:
            return seen
    return None
