"""How this coach is called again from the shell it was called from."""

from __future__ import annotations

import os
import shlex
import shutil
import sys
from pathlib import Path

NAME = "coach"


def called_as() -> str:
    """ "coach" where a shell finds this very coach by that name, else the way it was run, to be
    copied: its path, or Python with the module."""
    run = Path(sys.argv[0]) if sys.argv and sys.argv[0] else Path(NAME)
    by_module = run.name == "__main__.py" and run.parent.name == NAME
    if run.stem != NAME and not by_module:  # called by another program, as by a test
        return NAME
    found = shutil.which(NAME)
    if found is not None and (by_module or _same(Path(found), run)):
        return NAME
    if by_module:
        return f"{shlex.quote(sys.executable)} -m {NAME}"
    return shlex.quote(str(run)) if run.parent != Path() else NAME


def _same(found: Path, run: Path) -> bool:
    try:
        return found.samefile(run)
    except OSError:
        return False


def from_here(path: Path) -> str:
    """A path as one would type it here: relative where that is shorter."""
    whole = str(path.absolute())
    try:
        near = os.path.relpath(whole)
    except ValueError:  # another drive
        near = whole
    return shlex.quote(min((near, whole), key=len))
