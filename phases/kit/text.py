"""Text that people type or that comes out of a file or off a wire.

One door for all of it: control characters, escape sequences, direction overrides and what nobody
can see go, everything else stays as it was. Past this door nobody needs to care, except that
nothing of it is ever read as markup.

What nobody can see: the characters that Unicode calls default ignorable (DerivedCoreProperties,
Default_Ignorable_Code_Point), such as U+200B, U+2060, U+FEFF and the soft hyphen U+00AD. They make
two titles differ that look the same. Two kinds stay, because they are seen: variation selectors,
which choose the form of the sign before them, and joiners (U+200C, U+200D, U+180E) after a letter
of a script that needs them or after an emoji; after a Latin letter or a digit joiners go too.
"""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING, Annotated, Any

# An escape sequence goes as a whole, so that its parameters do not stay behind as litter.
_ESCAPES = re.compile(
    r"\x1b\[[0-?]*[ -/]*[@-~]"  # CSI, as in colours and cursor moves
    r"|\x1b[\]PX^_].*?(?:\x07|\x1b\\|$)"  # OSC, DCS and their kin, as in window titles
    r"|\x9b[0-?]*[ -/]*[@-~]"
    r"|\x1b[ -/]*[0-~]",
    re.DOTALL,
)
_UNSEEN = re.compile(
    "["
    "\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff"  # C0 but for tab and newline, C1, lone surrogates
    "\u00ad\u034f\u061c\u115f\u1160\u17b4\u17b5\u200b\u200e\u200f\u202a-\u202e"
    "\u2060-\u206f\u3164\ufeff\uffa0\ufff0-\ufff8\U0001bca0-\U0001bca3"
    "\U0001d173-\U0001d17a\U000e0000-\U000e00ff\U000e01f0-\U000e0fff"
    "]"
)
# A joiner after anything but letters beyond Latin, Greek and Cyrillic, and emoji.
_IDLE_JOINERS = re.compile("(?<![\u0590-\u1fff\u2190-\U0010ffff])[\u180e\u200c\u200d]+")


def clean(text: str) -> str:
    """`text` without what steers a terminal and what nobody can see.

    Line ends become a plain newline; tabs stay.
    """
    if text.isascii() and text.isprintable():
        return text
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    return _IDLE_JOINERS.sub("", _UNSEEN.sub("", _ESCAPES.sub("", text)))


def one_line(text: str) -> str:
    """`text` cleaned and on one line, blanks folded."""
    return " ".join(clean(text).split())


def name_words(text: str) -> list[str]:
    """Its words as a name has them: small letters and digits, accents gone ("Ü 5" is u, 5)."""
    folded = unicodedata.normalize("NFKD", text.casefold()).encode("ascii", "ignore")
    return re.findall(r"[a-z0-9]+", folded.decode("ascii").lower())


def _clean_if_text(value: object) -> object:
    return clean(value) if isinstance(value, str) else value


def _one_line_if_text(value: object) -> object:
    return one_line(value) if isinstance(value, str) else value


if TYPE_CHECKING:
    Text = str
    Line = str
else:

    def __getattr__(name: str) -> Any:
        """`Text` and `Line`: types of a pydantic field that clean what they are given.

        Text may have any number of lines, Line has one. Made at first use, so that a calculator
        in a notebook does not wait for pydantic.
        """
        if name not in ("Text", "Line"):
            raise AttributeError(name)
        from pydantic import BeforeValidator, Field

        made = {
            "Text": Annotated[str, BeforeValidator(_clean_if_text), Field(max_length=4000)],
            "Line": Annotated[str, BeforeValidator(_one_line_if_text), Field(max_length=400)],
        }
        return made[name]
