"""Glyphs and their ASCII stand-ins, for terminals and fonts that have no better."""

from __future__ import annotations

import os
import sys
import unicodedata

STAND_INS = {
    "├": "|",
    "┤": "|",
    "┃": "|",
    "│": "|",
    "═": "=",
    "─": "-",
    "━": "=",
    "╸": ">",
    "╌": "-",
    "⠒": "-",
    "▆": "#",
    "●": "o",
    "◆": "#",
    "▸": ">",
    "↵": "<",
    "←": "<",
    "→": ">",
    "✓": "+",
    "↓": "v",
    "·": ".",
    "⋅": ".",
    "×": "x",
    "−": "-",
    "–": "-",
    "±": "+-",
    "≥": ">=",
    "≤": "<=",
    "√": "sqrt",
    "°": " deg",
    "²": "2",
    "³": "3",
    "…": "~",
    "⁄": "/",
    "Ω": "Ohm",
    "µ": "u",
    "μ": "u",
    "α": "alpha",
    "β": "beta",
    "γ": "gamma",
    "δ": "delta",
    "Δ": "Delta",
    "ε": "eps",
    "ζ": "zeta",
    "η": "eta",
    "θ": "theta",
    "λ": "lambda",
    "π": "pi",
    "ρ": "rho",
    "Σ": "sum",
    "σ": "sigma",
    "τ": "tau",
    "Φ": "Phi",
    "φ": "phi",
    "ω": "omega",
    "∞": "inf",
}
_TABLE = str.maketrans(STAND_INS)


def ascii_only() -> bool:
    """COACH_ASCII=1, or an output that cannot carry the glyphs."""
    if os.environ.get("COACH_ASCII", "") not in ("", "0"):
        return True
    encoding = (getattr(sys.__stdout__, "encoding", None) or "utf-8").lower().replace("-", "")
    return not encoding.startswith("utf")


_ASCII = ascii_only()


def shown(text: str) -> str:
    """`text` as this terminal can show it; a letter that has no stand-in becomes "?"."""
    if not _ASCII or text.isascii():
        return text
    plain = unicodedata.normalize("NFKD", text.translate(_TABLE)).translate(_TABLE)
    letters = "".join(c for c in plain if not unicodedata.combining(c))
    return letters.encode("ascii", "replace").decode("ascii")
