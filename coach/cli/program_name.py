"""How this coach is called again from the shell it was called from."""

from __future__ import annotations

import os
import shlex
import shutil
import sys
from contextlib import suppress
from pathlib import Path

NAME = "coach"


def program_name() -> str:
    """ "coach" where a shell finds this very coach by that name, else the way it was run, to be
    copied: its path, or Python with the module."""
    run = Path(next(iter(sys.argv), "") or NAME)
    by_module = run.name == "__main__.py" and run.parent.name == NAME
    if run.stem != NAME and not by_module:  # called by another program, as by a test
        return NAME
    found = shutil.which(NAME)
    if found is not None and (by_module or os.path.realpath(found) == os.path.realpath(run)):
        return NAME
    if by_module:
        return f"{shlex.quote(sys.executable)} -m {NAME}"
    return shlex.quote(str(run)) if run.parent != Path() else NAME


def from_here(path: Path) -> str:
    """A path as one would type it here: relative where that is shorter."""
    shown = str(path.absolute())
    with suppress(ValueError):  # another drive
        shown = min(os.path.relpath(shown), shown, key=len)
    return shlex.quote(shown)
