"""Where the journals of sprints go, and how they are named.

From a checkout they go to its `sessions/`, from an installed coach to the person's data folder.
The folder is made when the first journal is.
"""

from __future__ import annotations

import itertools
from datetime import datetime
from pathlib import Path

from phases.kit.text import name_words

_LONGEST_NAME = 60


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
