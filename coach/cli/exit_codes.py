"""What the coach returns to the shell."""

from __future__ import annotations

from typing import Final

HOLDS: Final = 0
"""All limits hold; what was asked for is done; the journal is whole."""

FAILS: Final = 1
"""A limit fails, a reading is outside what is expected, the journal is not whole."""

WRONG: Final = 2
"""The call was wrong, or could not be carried out. One sentence on stderr says why."""

INTERRUPTED: Final = 130
"""Stopped with Ctrl+C, as shells count it."""

NOBODY_READS: Final = 141
"""Whoever read the output has gone, as shells count it."""

EXPLAINED = """exit codes:
  0  all limits hold, or what was asked for is done
  1  a limit fails, a reading is outside, or a journal is not whole
  2  the call was wrong; one sentence on stderr says why"""
