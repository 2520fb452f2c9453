"""Contrast of the stylesheet's colours, by the guidelines' own formula.

Relative luminance and contrast ratio: WCAG 2.2, W3C Recommendation 2023, Terms.
"""

from __future__ import annotations

import re

from coach.pages.page import STYLE

_BLOCK = re.compile(r":root\s*\{([^}]*)\}")
_VARIABLE = re.compile(r"--([a-z]+):\s*(#[0-9a-f]{3,6})\b")


def variables() -> dict[str, dict[str, str]]:
    """The colours of the page by role: light, dark, and as printed."""
    sheet = STYLE.read_text(encoding="utf-8")
    light, dark, printed = (dict(_VARIABLE.findall(block)) for block in _BLOCK.findall(sheet))
    return {"light": light, "dark": light | dark, "print": light | printed}


def luminance(colour: str) -> float:
    digits = colour.lstrip("#")
    if len(digits) == 3:
        digits = "".join(2 * digit for digit in digits)
    parts = [int(digits[n : n + 2], 16) / 255 for n in (0, 2, 4)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)
