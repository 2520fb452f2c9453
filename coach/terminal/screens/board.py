"""This board: its subjects as a tree by rail, what is known of each, and its features; each is
changed by a key."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import dataclass
from functools import cached_property

from coach.sprint.brief.document import Feature, Subject
from coach.sprint.commands import DeclareValue, DropFeature, DropSubject, RestoreFeature, SetFact
from coach.sprint.durations import duration
from coach.sprint.ledger.brief_values import board_values
from coach.sprint.ledger.known_values import (
    CHANGEABLE,
    CONSUMERS,
    NOT_GIVEN,
    PINS,
    KnownValue,
    known_values,
    load_of,
    origin_of_fact,
)
from coach.sprint.rules.values import checked_value
from coach.sprint.state import State
from coach.terminal.actions import BACK, HELP, UNDO, Action
from coach.terminal.drawing.lines import (
    BLANK,
    Line,
    Span,
    cut,
    fit,
    line,
    right,
    spread_out,
    title_line,
    width_of,
)
from coach.terminal.screens.add_subject import ask_subject
from coach.terminal.screens.painted import Dialog, ListScreen, dialog
from coach.terminal.screens.prompts import (
    AskChoice,
    AskLine,
    fact_question,
    fact_value,
    fault_of,
)
from phases.kit.facts import BOARD, Fact, FactValue, find_fact, load_facts
from phases.kit.grammar import capital, count, yes_or_no

# ---- what it shows -----------------------------------------------------------------------------


@dataclass(frozen=True)
class Tree:
    """The board, its subjects and its features as lines; `unfolded` says whose details are shown.

    Keys: "at:" and the subject, "fact:SUBJECT:FACT", "value:NAME", "row:NAME:INDEX",
    "calculated:NAME:CALCULATION", "feature:ID".
    """

    state: State
    unfolded: Set[str]
    width: int

    @property
    def is_wide(self) -> bool:
        return self.width >= 60

    def lines(self) -> list[Line]:
        subjects, features = self.state.subjects.values(), self.state.setup.brief.features
        roots = [s for s in subjects if s.parent not in self.state.subjects]
        found = [*self._subject(BOARD, 0)]
        # Entry rails first, then clocks.
        for root in sorted(roots, key=lambda subject: subject.kind != "rail"):
            found += self._branch(root, 0)
        if features:
            found += [BLANK, line(Span(" Features", "quiet"))]
        return found + [self._feature(one) for one in features]

    def _branch(self, subject: Subject, depth: int) -> Iterator[Line]:
        """A subject, then what depends on it; the rails made from it last."""
        yield from self._subject(subject.id, depth)
        below = [s for s in self.state.subjects.values() if s.parent == subject.id]
        for child in sorted(below, key=lambda child: child.kind == "rail"):
            yield from self._branch(child, depth + 1)

    def _subject(self, subject: str, depth: int) -> Iterator[Line]:
        """A subject ("" for the board) and, if it is opened, what is known of it."""
        there = self.state.subjects.get(subject)
        kind = there.kind if there else "board"
        facts = [fact for fact in load_facts().values() if fact.per == kind]
        own = [known for known in self._values if self._belongs(known, subject)]
        asked = sum((subject, fact.id) in self._asked for fact in facts)
        yield self._head(subject, there, own, asked, depth)
        if subject in self.unfolded:
            indent = Span(" " * (2 * depth + 5))
            for known in own:
                yield from self._value(known, subject, indent)
            for fact in facts:
                yield self._fact(fact, subject, indent)

    def _head(
        self, subject: str, there: Subject | None, own: Sequence[KnownValue], asked: int, depth: int
    ) -> Line:
        sign = "-" if subject in self.unfolded else "+"
        left = [Span(f" {'  ' * depth}{sign} ", "quiet"), Span("the board", "title")]
        tail = [Span(f"{asked} asked ", "doubt")] if asked else []
        if there is not None:
            left[1:] = [
                Span(fit(there.id, 16 - 2 * depth if self.is_wide else 11), "title"),
                Span(f" {there.kind:10}" if self.is_wide else " ", "quiet"),
                Span(there.title if there.title != there.id else ""),
            ]
            main = next((one.value for one in own if isinstance(one.value, str)), "")
            tail[:0] = [Span(f"{main}  ")] if self.is_wide and main else []
        return spread_out(left, tail, self.width, f"at:{subject}")

    def _feature(self, feature: Feature) -> Line:
        word, role = ("required", "plain") if feature.required else ("optional", "next")
        if feature.id in self.state.dropped:
            word, role = "dropped", "quiet"
        saves = duration(60 * feature.minutes) if feature.minutes else ""
        points = count(feature.points, "point") if feature.points else ""
        tail = [Span(right(points, 10)), Span(right(saves, 8), "quiet"), Span(" ")]
        if not self.is_wide:
            tail = [Span(f" {points} ")]
        title = Span(feature.title, role if word == "dropped" else "plain")
        left = (Span(f"   {fit(word, 9)} ", role), title)
        return spread_out(left, tail, self.width, f"feature:{feature.id}")

    def _known(self, left: Sequence[Span], value: Span, origin: str, key: str) -> Line:
        """A value at the right end with where it is from; on a strip without."""
        tail = [Span(f" {cut(value.text, self.width // 2)} ", value.role)]
        if self.is_wide:
            from_ = Span(fit(origin, max(width_of(origin) + 1, 9)), "quiet")
            tail = [Span(f" {cut(value.text, 30)}  ", value.role), from_]
        return spread_out(left, tail, self.width, key)

    # ---- facts ---------------------------------------------------------------------------------

    @cached_property
    def _asked(self) -> frozenset[tuple[str, str]]:
        """(subject, fact) of the questions that items of this board ask."""
        facts = load_facts()
        return frozenset(
            (BOARD if facts[row.question].per == "board" else row.subject, row.question)
            for row in self.state.rows
            if row.question is not None and row.question in facts
        )

    def _fact(self, fact: Fact, subject: str, indent: Span) -> Line:
        value, origin = self.state.knowledge.get(fact.id, subject), ""
        words = Span("not known", "quiet")
        if value is not None:
            words, origin = (
                Span(value_words(value, fact)),
                origin_of_fact(self.state, fact.id, subject, value),
            )
        elif (subject, fact.id) in self._asked:
            words = Span("asked", "doubt")
        left = (indent, Span(fact.question, "quiet"))
        return self._known(left, words, origin, f"fact:{subject}:{fact.id}")

    # ---- values --------------------------------------------------------------------------------

    @cached_property
    def _values(self) -> Sequence[KnownValue]:
        return known_values(self.state)

    def _belongs(self, known: KnownValue, subject: str) -> bool:
        """A value to the subject in its name, the table of consumers to each load too."""
        there = self.state.subjects.get(subject)
        loads = there is not None and there.kind == "load" and known.name == CONSUMERS
        return loads or known.subject == subject

    def _value(self, known: KnownValue, subject: str, indent: Span) -> Iterator[Line]:
        if isinstance(known.value, str):
            yield self._text(known, known.value, indent)
            return
        for index, row in enumerate(known.value):
            if known.name != CONSUMERS or load_of(self.state, row) == subject:
                yield self._row(known, index, row, indent)

    def _text(self, known: KnownValue, value: str, indent: Span) -> Line:
        label = capital(known.meaning if self.is_wide else known.name.rpartition(".")[2])
        left, key = (indent, Span(label, "quiet")), f"value:{known.name}"
        if known.origin == NOT_GIVEN:
            return self._known(left, Span("not known", "quiet"), "", key)
        if known.calculated:
            key = f"calculated:{known.name}:{known.origin}"
        return self._known(left, Span(value), known.origin, key)

    def _row(self, known: KnownValue, index: int, row: Mapping[str, str], indent: Span) -> Line:
        """One row of a table of the brief: its columns side by side."""
        columns = [c for c in CHANGEABLE[known.name] if row.get(c) and c != "rail"]
        words = ", ".join(f"{column} {row[column]}" for column in columns)
        named = "draws" if load_of(self.state, row) else f"{row.get('consumer', '')} draws"
        if known.name == PINS:
            named = f"{row.get('kind', '')} pins"
        tail = [Span(fit(known.origin, 9), "quiet")] if self.is_wide else []
        left = (indent, Span(f"{named}  ", "quiet"), Span(words))
        return spread_out(left, tail, self.width, f"row:{known.name}:{index}")


def value_words(value: FactValue, fact: Fact) -> str:
    """A fact's value as a person says it."""
    return f"{yes_or_no(value)} {fact.unit}".strip()


def value_prompt(state: State, name: str) -> str:
    """What a value means, then its name in the ledger: "Ambient temperature (board.ambient)"."""
    meaning = next((known.meaning for known in known_values(state) if known.name == name), "")
    return f"{capital(meaning)} ({name})" if meaning else name


# ---- the screen --------------------------------------------------------------------------------


class BoardScreen(ListScreen):
    """The tree of subjects; what is known of one is shown once it is opened."""

    NAME = "board"
    ACTIONS = (
        Action(
            "change",
            "enter,space",
            "change",
            "Change this line; a subject opens",
            1,
        ),
        Action("add", "a", "add", "Add a rail, bus, connector, clock or load", 2),
        Action("drop", "x", "drop", "Remove a subject, or drop an optional feature", 3),
        Action("unfold", "f", "all", "Open everything, or shut it again", 4),
        UNDO,
        BACK,
        HELP,
    )

    def __init__(self) -> None:
        super().__init__()
        self.unfolded: frozenset[str] = frozenset()

    def title_lines(self, width: int) -> list[Line]:
        kinds = [subject.kind for subject in self.state.subjects.values()]
        brief = self.state.setup.brief
        size = f"{brief.board.parts} parts  {count(kinds.count('rail'), 'rail')}"
        return [title_line(brief.title, size, width)]

    def body_lines(self, width: int) -> list[Line]:
        return Tree(self.state, self.unfolded, width).lines()

    def action_unfold(self) -> None:
        everything = frozenset((BOARD, *self.state.subjects))
        self.unfolded = frozenset() if self.unfolded else everything
        self.want_paint()

    # ---- changing ------------------------------------------------------------------------------

    def action_change(self) -> None:
        kind, _, rest = self.rows.key.partition(":")
        name, _, last = rest.rpartition(":")
        if kind == "at":
            self.unfolded ^= {rest}
            self.want_paint()
        elif kind == "fact":
            self._change_fact(name, find_fact(last))
        elif kind == "value":
            self._change_value(rest)
        elif kind == "row":
            self._change_row(name, int(last))
        elif kind == "feature":
            self._turn_feature(rest)
        elif kind == "calculated":
            self.app.say(f"{name} comes from {last}; change it there", "due")

    def _change_fact(self, subject: str, fact: Fact) -> None:
        self.ask(
            fact_question(fact),
            lambda answer: self.app.do(SetFact(fact.id, fact_value(fact, answer), subject)),
        )

    def _change_value(self, name: str) -> None:
        value = str(board_values(self.state).get(name, ""))
        question = AskLine(
            value_prompt(self.state, name), value=value, check=lambda text: self._fault(name, text)
        )
        self.ask(question, lambda text: self.app.do(DeclareValue(name, text)))

    def _fault(self, name: str, value: object) -> str:
        """Why the brief would not take this value; empty where it would."""
        return fault_of(lambda: checked_value(self.state, name, value))

    @dialog
    def _change_row(self, name: str, index: int) -> Dialog:
        """Asks which column of the row, then for its text."""
        rows = board_values(self.state).get(name, [])
        if index >= len(rows):
            return
        row = rows[index]
        titled, (column, *others) = next(iter(row.values())), CHANGEABLE[name]

        def changed(text: str) -> list[dict[str, str]]:
            return [*rows[:index], {**row, column: text}, *rows[index + 1 :]]

        if others:
            columns = [(c, f"{c}  {row.get(c, '')}") for c in CHANGEABLE[name]]
            column = yield AskChoice(f"Change what of {titled}?", columns)
        text = column and (
            yield AskLine(
                f"{titled}, {column}",
                value=row.get(column, ""),
                check=lambda text: self._fault(name, changed(text)),
            )
        )
        if text:
            self.app.do(DeclareValue(name, changed(text)))

    # ---- adding and dropping -------------------------------------------------------------------

    @dialog
    def action_add(self) -> Dialog:
        kind, _, rest = self.rows.key.partition(":")
        command = yield from ask_subject(self.state, rest if kind == "at" else "")
        if command is not None and self.app.do(command):
            self.catch_up()
            self.rows.put_cursor(f"at:{command.id}")

    def action_drop(self) -> None:
        kind, _, rest = self.rows.key.partition(":")
        if kind == "feature":
            self._turn_feature(rest)
        elif kind == "at" and rest:
            subject = self.state.subjects[rest]
            choices = [("drop", f"Remove {rest} from the board"), ("keep", "Keep it")]
            self.ask(
                AskChoice(f"{subject.title}: its items and calculations go with it.", choices),
                lambda word: self.app.do(DropSubject(rest)) if word == "drop" else None,
            )
        else:
            self.app.say("Put the cursor on a subject or a feature", "due")

    def _turn_feature(self, name: str) -> None:
        dropped = name in self.state.dropped
        self.app.do(RestoreFeature(name) if dropped else DropFeature(name))
