"""A person at a terminal: a pseudo-terminal with the coach in it, read as a screen of text.

Nothing here sleeps: what is waited for is something on the screen, with a deadline.
"""

from __future__ import annotations

import os
import re
import signal
import sys
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Self

import pexpect
import pyte

ROOT = Path(__file__).resolve().parents[2]
PATIENCE = 30.0
"""Seconds until what was waited for counts as missing; a busy machine may be slow."""

_KEYS = {"enter": "\r", "escape": "\x1b", "up": "\x1b[A", "down": "\x1b[B", "ctrl+q": "\x11"}
# The alternate screen buffer: xterm control sequences, "DEC private mode set", 1049.
_TAKES_THE_SCREEN, _GIVES_IT_BACK = b"\x1b[?1049h", b"\x1b[?1049l"
_SEQUENCE = re.compile(rb"\x1b(?:\[[<-?]?[0-9;]*[ -/]*[@-~]|\][^\x07]*\x07)")


class Terminal:
    """`python -m coach` with these words, in a terminal of `size` columns and lines.

    home: where it runs, and the home folder it finds. code: where its packages lie.
    env: on top of an environment that holds only what a terminal has.
    """

    def __init__(
        self,
        *words: str,
        home: Path,
        size: tuple[int, int] = (80, 24),
        code: Path = ROOT,
        env: Mapping[str, str] | None = None,
    ) -> None:
        columns, rows = size
        bare = {
            "HOME": str(home),
            "PATH": os.environ.get("PATH", ""),
            "LANG": "C.UTF-8",
            "TZ": "UTC",
            "TERM": "xterm-256color",
            "COLORTERM": "truecolor",
            "PYTHONPATH": str(code),
        }
        self.raw = b""
        """All that was sent to the terminal so far."""
        self.keys = 0
        """How many keys were pressed."""
        self._screen = pyte.Screen(columns, rows)
        self._stream = pyte.ByteStream(self._screen)
        self._child = pexpect.spawn(
            sys.executable,
            ["-m", "coach", *words],
            dimensions=(rows, columns),
            cwd=str(home),
            env={**bare, **(env or {})},
        )
        self._child.delaybeforesend = None

    # ---- what is seen --------------------------------------------------------------------------

    @property
    def lines(self) -> list[str]:
        return [line.rstrip() for line in self._screen.display]

    @property
    def text(self) -> str:
        return "\n".join(self.lines)

    @property
    def window_title(self) -> str:
        return str(self._screen.title)

    def line_with(self, words: str) -> str:
        """The first line that holds these words; empty where there is none."""
        return next((line for line in self.lines if words in line), "")

    def wait_for(self, *words: str) -> None:
        """Reads until the screen shows all of these words."""
        self.wait_until(lambda: all(one in self.text for one in words), " and ".join(words))

    def wait_until(self, seen: Callable[[], bool], what: str) -> None:
        """Reads until `seen`. Where that never comes, says so and shows the screen."""
        end = time.monotonic() + PATIENCE
        while not seen():
            if time.monotonic() > end or not self.read():
                raise AssertionError(f"not to be seen: {what}\n{self.text}\n{self.said}")

    def read(self) -> bool:
        """Takes what was sent, waiting a moment for it; False when nothing comes any more."""
        try:
            data = self._child.read_nonblocking(1 << 16, timeout=0.25)
        except pexpect.TIMEOUT:
            return True
        except pexpect.EOF:
            return False
        self.raw += data
        self._stream.feed(data)
        return True

    # ---- what is done --------------------------------------------------------------------------

    def press(self, *keys: str) -> None:
        """Keys by name, or by their character."""
        for key in keys:
            self.keys += 1
            self._child.send(_KEYS.get(key, key))

    def type(self, text: str) -> None:
        self.press(*text)

    def paste(self, text: str) -> None:
        """As terminals paste: between marks, so that nothing in it counts as a key."""
        self._child.send(f"\x1b[200~{text}\x1b[201~")

    def resize(self, columns: int, rows: int) -> None:
        """The window is pulled to another size; what was on it is drawn anew."""
        self._screen.resize(rows, columns)
        self._screen.reset()
        self._child.setwinsize(rows, columns)

    # ---- the end -------------------------------------------------------------------------------

    def kill(self) -> None:
        """SIGKILL: it can say nothing and write nothing any more."""
        self._child.kill(signal.SIGKILL)
        self._read_to_the_end()
        assert self._child.signalstatus == signal.SIGKILL

    def wait_for_the_end(self) -> int:
        """Reads until the program has ended by itself; its exit code."""
        self._read_to_the_end()
        assert self._child.exitstatus is not None, "it was killed"
        return int(self._child.exitstatus)

    def _read_to_the_end(self) -> None:
        end = time.monotonic() + PATIENCE
        while self.read():
            assert time.monotonic() < end, f"it does not end\n{self.text}"
        self._child.wait()

    @property
    def said(self) -> str:
        """What stands in the terminal as plain lines: after the screens, or without any."""
        _, took, rest = self.raw.rpartition(_TAKES_THE_SCREEN)
        _, gave_back, after = rest.rpartition(_GIVES_IT_BACK)
        if took and not gave_back:
            return ""
        return _SEQUENCE.sub(b"", after).decode(errors="replace").replace("\r\n", "\n").strip()

    def close(self) -> None:
        """The window is closed: the program is hung up on, and killed if it does not mind."""
        self._child.close(force=True)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()
