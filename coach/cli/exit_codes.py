"""What the coach returns to the shell."""

from __future__ import annotations

from typing import Final

HOLDS: Final = 0
"""All limits pass; what was asked for is done; the journal is intact."""

FAILS: Final = 1
"""A limit fails, a reading is out of limits, the journal is damaged."""

WRONG: Final = 2
"""A usage error, or it could not be carried out. One sentence on stderr says why."""

INTERRUPTED: Final = 130
"""Stopped with Ctrl+C, as shells count it."""

NOBODY_READS: Final = 141
"""Whoever read the output has gone, as shells count it."""

EXPLAINED = """exit codes:
  0  all limits pass, or what was asked for is done
  1  a limit fails, a reading is out of limits, or a journal is damaged
  2  usage error; the reason is on stderr"""
