"""What the product says when it cannot go on: one family, made of what, where and what to do.

A refusal is the only exception meant for a person. It prints as one sentence or two,
"WHERE: what is wrong. What to do.", and never carries a traceback to the screen.
"""

from __future__ import annotations

import difflib
import errno
from collections.abc import Iterable
from pathlib import Path

from phases.kit.text import line

_LONGEST_WORD = 60
_MOST_LISTED = 12
_NO_SPACE = frozenset({errno.ENOSPC, errno.EDQUOT})


class Refusal(Exception):
    """Something a person gave cannot be used.

    what: the fault, a clause with a capital and no full stop ("Unit V does not fit a current").
    where: the file and line, the field or the key it happened in; may be empty.
    do: what to do about it, a clause with a capital and no full stop; may be empty.
    """

    def __init__(self, what: str, *, where: str = "", do: str = "") -> None:
        self.what = what
        self.where = where
        self.do = do
        super().__init__(str(self))

    def at(self, where: str) -> Refusal:
        """The same refusal, met further out: `where` goes in front of what is known already."""
        inner = f"{where}, {self.where}" if self.where else where
        return Refusal(self.what, where=inner, do=self.do)

    def __str__(self) -> str:
        sentences = [part.rstrip(".") + "." for part in (self.what, self.do) if part]
        text = " ".join(sentences)
        return f"{self.where}: {text}" if self.where else text


def unknown(kind: str, word: str, known: Iterable[str], *, where: str = "") -> Refusal:
    """A name that does not exist, with the nearest one that does."""
    word = word if len(word) <= _LONGEST_WORD else word[: _LONGEST_WORD - 2] + ".."
    names = sorted(set(known))
    near = difflib.get_close_matches(word, names, n=1, cutoff=0.5)
    if not near:
        folded = {name.lower(): name for name in names}
        near = [folded[word.lower()]] if word.lower() in folded else []
    if near:
        return Refusal(f"There is no {kind} {word!r}", where=where, do=f"Nearest: {near[0]}")
    listed = ", ".join(names[:_MOST_LISTED])
    if len(names) > _MOST_LISTED:
        listed += f" and {len(names) - _MOST_LISTED} more"
    known_words = f"Known: {listed}" if names else ""
    return Refusal(f"There is no {kind} {word!r}", where=where, do=known_words)


def from_system(error: Exception, what: str, path: Path, *, do: str = "") -> Refusal:
    """What the system said of a file, as one of ours: "The brief could not be written: .."."""
    reason = line(getattr(error, "strerror", None) or "the path is not valid")
    if getattr(error, "errno", None) in _NO_SPACE:
        reason = "no space left on the device"
        do = "Free some space and do it again; nothing was lost"
    return Refusal(f"{what}: {reason[:1].lower()}{reason[1:]}", where=line(str(path)), do=do)
