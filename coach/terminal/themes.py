"""Dark, light and no colour: the coach's own palettes, by role."""

from __future__ import annotations

import os

from textual.theme import Theme

DARK = Theme(
    name="coach-dark",
    dark=True,
    primary="#8fb3c9",
    secondary="#8a9199",
    accent="#7fd1c3",
    warning="#e8c06a",
    error="#f08c7d",
    success="#9dbf8c",
    foreground="#d9dde0",
    background="#14181b",
    surface="#1d2327",
    panel="#252c31",
)
LIGHT = Theme(
    name="coach-light",
    dark=False,
    primary="#2e5a73",
    secondary="#667078",
    accent="#0b6f66",
    warning="#8a5a00",
    error="#b02a1a",
    success="#3c6b2c",
    foreground="#1c2226",
    background="#f4f2ec",
    surface="#e9e6dd",
    panel="#dedace",
)

NO_COLOUR = "ansi-dark"
"""The one theme under which nothing but attributes is sent when NO_COLOR is set."""


def chosen() -> str:
    """NO_COLOR wins; COACH_THEME=light or dark; else what COLORFGBG tells, else dark."""
    if os.environ.get("NO_COLOR"):
        return NO_COLOUR
    wanted = os.environ.get("COACH_THEME", "").lower()
    if wanted in ("light", "dark"):
        return f"coach-{wanted}"
    background = os.environ.get("COLORFGBG", "").rpartition(";")[2]
    return LIGHT.name if background in ("7", "15") else DARK.name
