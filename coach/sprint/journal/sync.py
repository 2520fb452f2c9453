"""Bringing what was written onto the disk, off the road of a keystroke.

Writing hands bytes to the system and takes microseconds; only fsync says that they would
survive a power cut, and that may take ten milliseconds. It runs in a thread of its own.
"""

from __future__ import annotations

import os
import threading


class DiskSync:
    """Keeps one open file synced.

    synced: number of events known to be on the disk.
    trouble: what went wrong, in the words of the system; stays, because after one failure a
      later success does not vouch for what was written before it.
    """

    def __init__(self, descriptor: int, written: int) -> None:
        """`written` events are in the file already; they are synced first."""
        self.synced = 0
        self.trouble: str | None = None
        self._descriptor = descriptor
        self._written = written
        self._tried = -1
        self._stopped = False
        self._changed = threading.Condition()
        self._thread = threading.Thread(target=self._run, name="journal-sync", daemon=True)
        self._thread.start()

    def wrote(self, count: int) -> None:
        """`count` events are in the file now."""
        with self._changed:
            self._written = count
            self._changed.notify_all()

    def wait(self) -> None:
        """Until all that is written was synced, or could not be."""
        with self._changed:
            self._changed.wait_for(lambda: self._tried >= self._written)

    def stop(self) -> None:
        """Sync what is left and end; the descriptor may be closed afterwards."""
        with self._changed:
            self._stopped = True
            self._changed.notify_all()
        self._thread.join()

    def _run(self) -> None:
        while True:
            with self._changed:
                self._changed.wait_for(lambda: self._stopped or self._tried < self._written)
                if self._tried >= self._written:
                    return
                target = self._written
            trouble = _fsync(self._descriptor)
            with self._changed:
                self.trouble = self.trouble or trouble
                if self.trouble is None:
                    self.synced = target
                self._tried = target
                self._changed.notify_all()


def _fsync(descriptor: int) -> str | None:
    try:
        os.fsync(descriptor)
    except OSError as error:
        return error.strerror or str(error)
    return None
