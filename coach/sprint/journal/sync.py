"""Bringing what was written onto the disk, off the road of a keystroke.

Writing hands bytes to the system and takes microseconds; only fsync says that they would
survive a power cut, and that may take ten milliseconds. It runs in a thread of its own.
"""

from __future__ import annotations

import os
from concurrent.futures import Future, ThreadPoolExecutor


class DiskSync:
    """Keeps one open file synced."""

    def __init__(self, descriptor: int, written: int) -> None:
        """`written` events are in the file already; they are synced first."""
        self.synced = 0
        """Number of events known to be on the disk."""
        self.trouble: str | None = None
        """What went wrong, in the words of the system; stays, because after one failure a later
        success does not vouch for what was written before it."""
        self._descriptor = descriptor
        self._tried = -1
        self._thread = ThreadPoolExecutor(1, "journal-sync")
        self.wrote(written)

    def wrote(self, count: int) -> None:
        """`count` events are in the file now."""
        self._written = count
        self._last: Future[None] = self._thread.submit(self._sync, count)

    def wait(self) -> None:
        """Until all that is written was synced, or could not be."""
        self._last.result()

    def stop(self) -> None:
        """Sync what is left and end; the descriptor may be closed afterwards."""
        self._thread.shutdown()

    def _sync(self, count: int) -> None:
        if count <= self._tried:
            return  # an earlier one took it along
        target = self._written
        try:
            os.fsync(self._descriptor)
        except OSError as error:
            self.trouble = self.trouble or error.strerror or str(error)
        if self.trouble is None:
            self.synced = target
        self._tried = target
