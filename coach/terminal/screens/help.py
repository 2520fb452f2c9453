"""Explains the screen one is on: its marks, from its page in help/, then every key.

A page is Markdown: a title, a paragraph, tables of marks, and a link on a line of its own where
another page's marks belong. What it says is shown as it is; nothing in it is read as markup.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from coach.terminal.actions import Action
from coach.terminal.drawing.lines import (
    BLANK,
    Line,
    Span,
    fit,
    hanging,
    line,
    paragraph,
    title_line,
    width_of,
)
from coach.terminal.screens.painted import ListScreen

PAGES = Path(__file__).parents[1] / "help"
_HEADS = ("mark", "---")
"""What the first cell of a row holds that is not a mark."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A word or a mark on the screen, as it is drawn there, what it means and its role."""

    mark: str
    words: str
    role: str = "plain"


@dataclass(frozen=True, slots=True)
class Page:
    title: str
    words: str = ""
    marks: tuple[Mark, ...] = ()


@cache
def page(name: str) -> Page:
    """The page of a screen; where nobody wrote one, its keys are explained all the same."""
    path = PAGES / f"{name.replace(' ', '-')}.md"
    if not path.exists():
        return Page(name.capitalize(), "Its keys:")
    title, words, marks = name, [], []
    for text in path.read_text(encoding="utf-8").splitlines():
        if text.startswith("|"):
            mark, meaning, role = (cell.strip() for cell in text.strip("|").split("|"))
            marks += [Mark(mark, meaning, role or "plain")] if mark not in _HEADS else []
        elif text.startswith("["):
            marks += page(text.partition("(")[2].removesuffix(".md)")).marks
        elif text.startswith("# "):
            title = text[2:]
        else:
            words.append(text)
    return Page(title, " ".join(words).strip(), tuple(marks))


def help_lines(shown: Page, actions: Sequence[Action], width: int) -> list[Line]:
    """The screen in a few words, its marks, then its keys."""
    found = paragraph(shown.words, width, 6)
    if shown.marks:
        column = min(max(width_of(mark.mark) for mark in shown.marks), width // 3)
        found.append(BLANK)
        for mark in shown.marks:
            found += _explained(mark, column, width)
    if actions:
        column = max(width_of(action.shown_key) for action in actions)
        found += [BLANK, line(Span(" Keys", "quiet"))]
        for action in actions:
            found += _explained(Mark(action.shown_key, action.help, "key"), column, width)
    return found


def _explained(mark: Mark, column: int, width: int) -> list[Line]:
    """A mark, and beside it its words, wrapped under each other."""
    lead = (Span("  "), Span(fit(mark.mark, column), mark.role), Span("  "))
    return hanging(lead, mark.words, max(width - column - 5, 12), 6)


class HelpScreen(ListScreen):
    """name, actions: of the screen it explains. numbers: for a width, what the numbers on that
    screen are made of; they come first."""

    NAME = "help"
    ACTIONS = (
        Action("scroll_list(10)", "space", "on", "Scroll on; so do the arrow keys", 1),
        Action("back", "escape,question_mark,q,enter", "back", "Back to where you came from", 20),
    )
    CURSOR = False

    def __init__(
        self,
        name: str,
        actions: Sequence[Action] = (),
        numbers: Callable[[int], list[Line]] | None = None,
    ) -> None:
        super().__init__()
        self.page, self.actions, self.numbers = page(name), actions, numbers

    def title_lines(self, width: int) -> list[Line]:
        return [title_line(self.page.title, "", width)]

    def body_lines(self, width: int) -> list[Line]:
        first = [*self.numbers(width), BLANK] if self.numbers else []
        return [*first, *help_lines(self.page, self.actions, width)]
