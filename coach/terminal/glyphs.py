"""Glyphs and their ASCII stand-ins, for terminals and fonts that have no better."""

from __future__ import annotations

import os
import sys

_STAND_INS = str.maketrans(
    {
        "├": "|", "┤": "|", "┃": "|", "│": "|", "═": "=", "─": "-", "━": "=", "╸": ">",
        "●": "o", "◆": "#", "·": ".", "▸": ">", "↵": "<", "←": "<", "✓": "+", "Ω": "Ohm", "µ": "u",
        "°": " deg", "±": "+-", "²": "2", "×": "x", "…": "..", "→": ">", "≥": ">=", "≤": "<=",
    }
)  # fmt: skip


def ascii_only() -> bool:
    """COACH_ASCII=1, or an output that cannot carry the glyphs."""
    if os.environ.get("COACH_ASCII", "") not in ("", "0"):
        return True
    encoding = (getattr(sys.__stdout__, "encoding", None) or "utf-8").lower().replace("-", "")
    return not encoding.startswith("utf")


_ASCII = ascii_only()


def shown(text: str) -> str:
    """`text` as this terminal can show it."""
    return text.translate(_STAND_INS) if _ASCII else text
