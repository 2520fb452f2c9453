"""This board: its subjects as a tree by rail, what is known of each, and its features."""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass
from functools import cached_property

from coach.sprint.brief.document import Feature, Subject
from coach.sprint.known_values import NOT_GIVEN, Known, known_values
from coach.sprint.state import State
from coach.terminal.drawing.lines import BLANK, Line, Span, cut, fit, line, right, spread_out
from phases.kit.facts import BOARD, Fact, FactValue, load_facts

COLUMNS = {
    "board.consumers": ("typical", "peak", "duty", "count", "rail"),
    "board.pins": ("count",),
}
"""What can be changed in a row of a table of the brief."""


def board_title(state: State, width: int) -> list[Line]:
    kinds = [subject.kind for subject in state.subjects.values()]
    count = f"{state.setup.brief.board.parts} parts  {kinds.count('rail')} rails "
    title = (Span(f" {state.setup.brief.title}", "title"),)
    return [spread_out(title, (Span(count, "quiet"),), width)]


def board_lines(state: State, unfolded: Set[str], width: int) -> list[Line]:
    """The board, its subjects and its features; `unfolded` says whose details are shown.

    Keys: "at:" and the subject, "fact:SUBJECT:FACT", "value:NAME", "row:NAME:INDEX",
    "calculated:NAME:CALCULATION", "feature:ID".
    """
    board = _Board(state, known_values(state), unfolded, width)
    found = board.lines_of(BOARD, 0)
    for subject in _roots(state):
        found += board.tree(subject, 0)
    if state.setup.brief.features:
        found += [BLANK, line(Span(" Features", "quiet"))]
        found += [_feature(state, one, width) for one in state.setup.brief.features]
    return found


def value_prompt(state: State, name: str) -> str:
    """What a value means, then its name in the ledger: "Ambient temperature (board.ambient)"."""
    meaning = next((known.meaning for known in known_values(state) if known.name == name), "")
    return f"{meaning[:1].upper()}{meaning[1:]} ({name})" if meaning else name


# ---- the tree --------------------------------------------------------------------------------


def _roots(state: State) -> list[Subject]:
    """What hangs on nothing: entry rails first, then clocks."""
    found = [s for s in state.subjects.values() if s.parent not in state.subjects]
    return sorted(found, key=lambda subject: subject.kind != "rail")


@dataclass(frozen=True)
class _Board:
    """What every line of the tree is drawn from."""

    state: State
    values: Sequence[Known]
    unfolded: Set[str]
    width: int

    @cached_property
    def asked(self) -> frozenset[tuple[str, str]]:
        """(subject, fact) of the questions that items of this board ask."""
        facts = load_facts()
        return frozenset(
            (BOARD if facts[row.question].per == "board" else row.subject, row.question)
            for row in self.state.rows
            if row.question is not None and row.question in facts
        )

    def tree(self, subject: Subject, depth: int) -> list[Line]:
        """A subject, then what hangs on it; the rails made from it last."""
        found = self.lines_of(subject.id, depth)
        hanging = [s for s in self.state.subjects.values() if s.parent == subject.id]
        for child in sorted(hanging, key=lambda child: child.kind == "rail"):
            found += self.tree(child, depth + 1)
        return found

    def lines_of(self, subject: str, depth: int) -> list[Line]:
        """A subject ("" for the board) and, if it is opened, what is known of it."""
        facts = _facts_of(self.state, subject)
        own = [known for known in self.values if _belongs(self.state, known, subject)]
        found = [self._head(subject, facts, own, depth)]
        if subject in self.unfolded:
            indent = 2 * depth + 5
            for known in own:
                found += _value_lines(self.state, known, subject, indent, self.width)
            found += [self._fact(fact, subject, indent) for fact in facts]
        return found

    def _fact(self, fact: Fact, subject: str, indent: int) -> Line:
        value = self.state.knowledge.get(fact.id, subject)
        words, role = value_words(value, fact), "plain"
        if value is None:
            asked = (subject, fact.id) in self.asked
            words, role = ("asked", "doubt") if asked else ("not known", "quiet")
        tail = _tail(words, self._origin(fact, subject), role, self.width)
        left = (Span(" " * indent), Span(fact.question, "quiet"))
        return spread_out(left, tail, self.width, f"fact:{subject}:{fact.id}")

    def _origin(self, fact: Fact, subject: str) -> str:
        """The brief, the trade's safe assumption, or an answer in this sprint."""
        value = self.state.knowledge.get(fact.id, subject)
        if value is None:
            return ""
        for place in dict.fromkeys((subject, BOARD)):
            if self.of_brief.get((place, fact.id)) == value:
                return "brief"
            if self.assumed.get((place, fact.id)) == value:
                return "assumed"
        return "answered"

    @cached_property
    def of_brief(self) -> dict[tuple[str, str], FactValue]:
        return {(s, f): value for s, f, value in self.state.setup.brief.knowledge_values()}

    @cached_property
    def assumed(self) -> dict[tuple[str, str], FactValue]:
        return {(s, f): value for s, f, value in self.state.setup.defaults}

    def _head(self, subject: str, facts: Sequence[Fact], own: Sequence[Known], depth: int) -> Line:
        asked = sum((subject, fact.id) in self.asked for fact in facts)
        sign = "-" if subject in self.unfolded else "+"
        tail = [Span(f"{asked} asked ", "doubt")] if asked else []
        there = self.state.subjects.get(subject)
        indent = Span(f" {'  ' * depth}{sign} ", "quiet")
        if there is None:
            left = [indent, Span("the board", "title")]
        else:
            left = [
                indent, Span(fit(there.id, 16 - 2 * depth if self.width >= 60 else 11), "title"),
                Span(f" {there.kind:10}" if self.width >= 60 else " ", "quiet"),
                Span(there.title if there.title != there.id else ""),
            ]  # fmt: skip
            main = next((one.value for one in own if isinstance(one.value, str)), "")
            if self.width >= 60 and main:
                tail = [Span(f"{main}  "), *tail]
        return spread_out(left, tail, self.width, f"at:{subject}")


# ---- what is known of one --------------------------------------------------------------------


def _facts_of(state: State, subject: str) -> list[Fact]:
    kind = state.subjects[subject].kind if subject in state.subjects else "board"
    return [fact for fact in load_facts().values() if fact.per == kind]


def _belongs(state: State, known: Known, subject: str) -> bool:
    """A value to the subject in its name, the table of consumers to each load too."""
    there = state.subjects.get(subject)
    if there is not None and there.kind == "load" and known.name == "board.consumers":
        return True
    return known.subject == subject


def _tail(words: str, origin: str, role: str, width: int) -> list[Span]:
    """A value at the right end with where it is from; on a strip without."""
    if width < 60:
        return [Span(f" {cut(words, width // 2)} ", role)]
    return [Span(f" {cut(words, 30)}  ", role), Span(fit(origin, 9), "quiet")]


def value_words(value: FactValue | None, fact: Fact) -> str:
    """A fact's value as a person says it."""
    if value is None:
        return "not known"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value if isinstance(value, str) else f"{value:g} {fact.unit}".strip()


def _value_lines(state: State, known: Known, subject: str, indent: int, width: int) -> list[Line]:
    if isinstance(known.value, str):
        return [_text_line(known, known.value, indent, width)]
    return [
        _row_line(state, known, index, indent, width)
        for index, row in enumerate(known.value)
        if known.name != "board.consumers" or _load_of(state, row) == subject
    ]


def _load_of(state: State, row: Mapping[str, str]) -> str:
    """The load a consumer's row is of, by title or id; "" where it is on no load's account."""
    named = row.get("consumer", "")
    loads = (s for s in state.subjects.values() if s.kind == "load")
    return next((load.id for load in loads if named in (load.title, load.id)), BOARD)


def _text_line(known: Known, value: str, indent: int, width: int) -> Line:
    label = known.name.rpartition(".")[2] if width < 60 else known.meaning
    label = label[:1].upper() + label[1:]
    if known.calculated:
        tail = [
            Span(f" {value} "),
            Span(f"  {known.origin} " if width >= 60 else "", "quiet"),
        ]
        key = f"calculated:{known.name}:{known.origin}"
    else:
        missing = known.origin == NOT_GIVEN
        words = "not known" if missing else value
        origin = "" if missing else known.origin
        tail = _tail(words, origin, "quiet" if missing else "plain", width)
        key = f"value:{known.name}"
    return spread_out((Span(" " * indent), Span(label, "quiet")), tail, width, key)


def _draws(state: State, row: Mapping[str, str]) -> str:
    return "draws" if _load_of(state, row) else f"{row.get('consumer', '')} draws"


def _row_line(state: State, known: Known, index: int, indent: int, width: int) -> Line:
    """One row of a table of the brief: its columns side by side."""
    assert not isinstance(known.value, str)
    row = known.value[index]
    columns = [c for c in COLUMNS[known.name] if row.get(c) and c != "rail"]
    words = ", ".join(f"{column} {row[column]}" for column in columns)
    named = f"{row.get('kind', '')} pins" if known.name == "board.pins" else _draws(state, row)
    tail = [Span(fit(known.origin, 9), "quiet")] if width >= 60 else []
    left = (Span(" " * indent), Span(f"{named}  ", "quiet"), Span(words))
    return spread_out(left, tail, width, f"row:{known.name}:{index}")


# ---- features --------------------------------------------------------------------------------


def _feature(state: State, feature: Feature, width: int) -> Line:
    dropped = feature.id in state.dropped
    if dropped:
        word, role = "dropped", "quiet"
    elif feature.required:
        word, role = "required", "plain"
    else:
        word, role = "optional", "next"
    saves = f"{feature.minutes:g} min" if feature.minutes else ""
    points = f"{feature.points} points" if feature.points else ""
    tail = [Span(right(points, 10)), Span(right(saves, 8), "quiet"), Span(" ")]
    if width < 60:
        tail = [Span(f" {points} ")]
    left = (Span(f"   {fit(word, 9)} ", role), Span(feature.title, role if dropped else "plain"))
    return spread_out(left, tail, width, f"feature:{feature.id}")
