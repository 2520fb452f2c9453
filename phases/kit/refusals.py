"""What the product says when it cannot go on: one family, made of what, where and what to do.

A refusal is the only exception meant for a person. It prints as one sentence or two,
"WHERE: what is wrong. What to do.", and never carries a traceback to the screen. However long
what it repeats may be, typed or out of a file, it stays short: it is cut here and nowhere else.
"""

from __future__ import annotations

import difflib
import errno
import re
from collections.abc import Collection, Iterable
from pathlib import Path

from phases.kit.text import one_line

_LONGEST = 150
_LONGEST_OTHER = 240
_LONGEST_WITH_PATH = 600  # a file that is named is copied from there
_LONGEST_QUOTED = 60
_QUOTED = re.compile(rf"(?<!\w)(['\"])(.{{{_LONGEST_QUOTED},}}?)\1(?!\w)", re.DOTALL)
_MOST_LISTED = 12
_NO_SPACE = frozenset({errno.ENOSPC, errno.EDQUOT})
_LONGEST_LIST = 100


class Refusal(Exception):
    """Something a person gave cannot be used.

    what: the fault, a clause with a capital and no full stop ("Unit V does not fit a current").
    where: the file and line, the field or the key it happened in; may be empty.
    do: what to do about it, a clause with a capital and no full stop; may be empty.
    """

    def __init__(self, what: str, *, where: str = "", do: str = "") -> None:
        self.what = _cut(what, _LONGEST)
        self.where, self.do = (
            _cut(text, _LONGEST_WITH_PATH if "/" in text or "\\" in text else _LONGEST_OTHER)
            for text in (where, do)
        )
        super().__init__(str(self))

    def at(self, where: str) -> Refusal:
        """The same refusal, met further out: `where` goes in front of what is known already."""
        inner = f"{where}, {self.where}" if self.where else where
        return Refusal(self.what, where=inner, do=self.do)

    def __str__(self) -> str:
        sentences = [part.rstrip(".") + "." for part in (self.what, self.do) if part]
        text = " ".join(sentences)
        return f"{self.where}: {text}" if self.where else text


def _cut(text: str, most: int) -> str:
    """A text that is too long: first what it quotes is cut, then its own middle."""
    if len(text) <= most:
        return text
    text = _ends(text, 1000)  # so that no search takes long, whatever it was given
    text = _QUOTED.sub(lambda found: found[1] + _ends(found[2], _LONGEST_QUOTED) + found[1], text)
    return _ends(text, most)


def _ends(text: str, most: int) -> str:
    """The beginning and the end of a text that is longer than `most`."""
    half = most // 2
    return text if len(text) <= most else f"{text[:half]}…{text[1 - half :]}"


def unknown(kind: str, word: str, known: Iterable[str], *, where: str = "") -> Refusal:
    """A name that does not exist, with the nearest one that does."""
    names = sorted(set(known) - {""})
    word = _ends(word, _LONGEST_QUOTED)
    near = difflib.get_close_matches(word, names, n=1, cutoff=0.5)
    if not near:
        near = [name for name in names if name.lower() == word.lower()]
    if near:
        return Refusal(f"There is no {kind} {word!r}", where=where, do=f"Nearest: {near[0]}")
    shown = names[:_MOST_LISTED]
    while len(", ".join(shown)) > _LONGEST_LIST and shown[1:]:
        shown.pop()
    more = f" and {len(names) - len(shown)} more" if len(names) > len(shown) else ""
    known_words = f"Known: {', '.join(shown)}{more}" if names else ""
    return Refusal(f"There is no {kind} {word!r}", where=where, do=known_words)


def check_known(kind: str, word: str, known: Collection[str], *, where: str = "") -> None:
    """Raises the refusal of a name that is not among those known, with the nearest that is."""
    if word not in known:
        raise unknown(kind, one_line(word), known, where=where)


def from_system(error: Exception, what: str, path: Path, *, do: str = "") -> Refusal:
    """What the system said of a file, as one of ours: "The brief could not be written: .."."""
    reason = one_line(getattr(error, "strerror", None) or "the path is not valid")
    if getattr(error, "errno", None) in _NO_SPACE:
        reason = "no space left on the device"
        do = "Free some space and do it again; nothing was lost"
    return Refusal(f"{what}: {reason[:1].lower()}{reason[1:]}", where=one_line(str(path)), do=do)
