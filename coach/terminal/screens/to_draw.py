"""The list of what is to draw: one key a part, or one for all; it can be copied out."""

from __future__ import annotations

from coach.sprint.commands import Draw
from coach.sprint.ledger.to_draw import ToDraw, as_text, to_draw
from coach.terminal.actions import BACK, HELP, UNDO, Action
from coach.terminal.drawing.lines import BLANK, Line, Span, cut, line, paragraph, title_line
from coach.terminal.screens.painted import ListScreen, copy_out
from phases.kit.catalogue import calculators


class ToDrawScreen(ListScreen):
    """What saved calculations imply, until it is drawn: a heading each, then its parts."""

    NAME = "to draw"
    ACTIONS = (
        Action("draw", "d,enter", "drawn", "The part under the cursor is drawn; Enter too", 1),
        Action("draw_all", "D", "all drawn", "Everything shown here is drawn", 2),
        Action("copy", "c", "copy", "Copy the list, to the clipboard and beside the journal", 3),
        UNDO,
        BACK,
        HELP,
    )

    @property
    def parts(self) -> list[ToDraw]:
        return to_draw(self.state)

    def title_lines(self, width: int) -> list[Line]:
        count = len(self.parts)
        return [title_line("To draw", f"{count} waiting" if count else "", width)]

    def body_lines(self, width: int) -> list[Line]:
        parts = self.parts
        if not parts:
            words = "Nothing to draw. Saving a calculation adds its parts to this list."
            return [BLANK, *paragraph(words, width, 4)]
        found: list[Line] = []
        for calculation in dict.fromkeys(part.calculation for part in parts):
            found += [BLANK, line(Span(f" {self._heading(calculation)}", "quiet"))]
            found += [_part(p, width) for p in parts if p.calculation == calculation]
        return found

    def _heading(self, calculation: str) -> str:
        """The calculation by its title and the subject it was made for."""
        state = self.state
        saved = state.calculations[calculation]
        subject = state.subjects.get(saved.subject)
        kind = calculators().get(saved.calculator)
        title = kind.title if kind else saved.calculator
        return f"{title}, {subject.title} ({subject.id})" if subject else title

    # ---- keys ----------------------------------------------------------------------------------

    def action_draw(self) -> None:
        for part in self.parts:
            if _key(part) == self.rows.key:
                self.app.do(Draw(((part.calculation, part.role),)))

    def action_draw_all(self) -> None:
        self.app.do(Draw(tuple((part.calculation, part.role) for part in self.parts)))

    def action_copy(self) -> None:
        if self.parts:
            copy_out(self.app, as_text(self.parts), "to-draw")
        else:
            self.app.say("Nothing to draw")


def _key(part: ToDraw) -> str:
    """What the cursor is on: the calculation and the role of the part."""
    return f"{part.calculation}\n{part.role}"


def _part(part: ToDraw, width: int) -> Line:
    role = "doubt" if part.drawn_as else "plain"
    return line(Span(cut(f"   {part.message}", width), role), key=_key(part))
