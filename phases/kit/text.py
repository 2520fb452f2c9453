"""Text that people type or that comes out of a file or off a wire.

One door for all of it: control characters, escape sequences and direction overrides go,
everything else stays as it was. Past this door nobody needs to care, except that
nothing of it is ever read as markup.
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
_DIRECTION = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_KEPT = frozenset("\n\t")


def clean(text: str) -> str:
    """`text` without C0, C1, escape sequences, lone surrogates and direction overrides.

    Line ends become a plain newline; tabs stay.
    """
    if text.isprintable():  # true of no character that would go
        return text
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    text = _ESCAPES.sub("", text)
    return "".join(
        c
        for c in text
        if c in _KEPT or (c not in _DIRECTION and unicodedata.category(c) not in ("Cc", "Cs"))
    )


def line(text: str) -> str:
    """`text` cleaned and on one line, blanks folded."""
    return " ".join(clean(text).split())


def name_words(text: str) -> list[str]:
    """Its words as a name has them: small letters and digits, accents gone ("Ü 5" is u, 5)."""
    folded = unicodedata.normalize("NFKD", text.casefold()).encode("ascii", "ignore")
    return re.findall(r"[a-z0-9]+", folded.decode("ascii").lower())


def _clean_if_text(value: object) -> object:
    return clean(value) if isinstance(value, str) else value


def _line_if_text(value: object) -> object:
    return line(value) if isinstance(value, str) else value


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
            "Line": Annotated[str, BeforeValidator(_line_if_text), Field(max_length=400)],
        }
        return made[name]
