"""The inputs of a calculation while they are typed, and what it says with them.

Every change reads one field and judges again, all corners. What cannot be read keeps its last
readable value, and the last good judgement stays. A blank field keeps what was proposed for it
last: proposing again judges hundreds of candidates, and is done a moment later. No screen in here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from coach.sprint.keys import CalculationKey
from coach.sprint.ledger.ledger import Ledger, given_of
from coach.sprint.rules.calculations import check_subject
from coach.sprint.state import State
from coach.terminal.drawing.input_lines import (
    InputLine,
    in_groups,
    lines_of_readings,
    row_key,
    split_key,
)
from coach.terminal.typed_rows import TypedRows
from phases.kit.calculator import Calculator, proposal
from phases.kit.catalogue import calculator
from phases.kit.fields import Choice, Field, Flag, Table
from phases.kit.inputs import Given, Reading
from phases.kit.judging import FORMULA_FAULTS, Judgement, judge
from phases.kit.proposals import Candidate, propose
from phases.kit.refusals import Refusal
from phases.kit.text import one_line

GivenInputs = Mapping[str, object]
_RowChange = Callable[[TypedRows, int], int]


def opened_for(state: State, key: CalculationKey, given: GivenInputs | None = None) -> Calculator:
    """A calculator at a subject, prefilled from the ledger and, where nothing is given, with what
    a hand and a proposal gave to the one saved under its id. Raises Refusal."""
    kind = calculator(key.calculator)
    check_subject(state, kind, key.subject)
    saved = state.calculations.get(key)
    if given is None and saved is not None:
        given = {k: v for k, v in given_of(saved.record).items() if k in kind.fields}
    return Ledger(state).opened(kind.name, key.subject, given)


class TypedInputs:
    """judgement: the last good one, None before the first. refusal: why the inputs as they are
    now, each readable by itself, cannot be judged together. behind: a blank field still holds
    what was proposed before the last change."""

    def __init__(self, opened: Calculator) -> None:
        self.kind = type(opened)
        self.judgement: Judgement | None = None
        self.refusal = ""
        self.behind = False
        self._opened = opened
        self._given = dict(opened.inputs.given)
        self._typed: dict[str, str] = {}
        self._unread: dict[str, str] = {}
        self._tables: dict[str, TypedRows] = {}
        self._picks: dict[str, Given] = {}
        self._first = self._meant
        self._judge()

    def follow(self, opened: Calculator) -> None:
        """The ledger has changed: the same calculation opened on the new one."""
        self._opened = opened
        self._judge()

    def _judge(self) -> None:
        self._now = self._opened.with_given(self._given)
        kept = {name: pick for name, pick in self._picks.items() if self._is_blank(name)}
        self.behind = bool(kept)
        try:
            self._settle(judge(self._now.with_given(kept) if kept else self._now))
            self.refusal = ""
        except Refusal as refusal:
            self.refusal = str(refusal)

    def _settle(self, judgement: Judgement) -> None:
        self.judgement = judgement
        self._picks = {
            reading.field: Given(reading.text, "proposed")
            for reading in judgement.readings
            if reading.origin == "proposed" and self._is_blank(reading.field)
        }

    def _forget_picks(self, name: str) -> None:
        """A field that is proposed for was changed: what was proposed with it is void."""
        for declared in self.kind.proposals:
            if name in declared.free:
                for free in declared.free:
                    self._picks.pop(free, None)

    # ---- proposing again -----------------------------------------------------------------------

    def to_propose(self) -> Calculator | None:
        """What is to be judged with proposals of its own, ready for a thread: all of it is read.

        None where that is done already, or where it could not be judged anyway.
        """
        if not self.behind or self.refusal:
            return None
        self._now.inputs.readings()
        return self._now

    def proposed(self, judgement: Judgement) -> None:
        """The judgement of `to_propose` is there."""
        self.behind = False
        self._settle(judgement)

    def propose(self) -> None:
        """The same at once, where it cannot wait."""
        calculation = self.to_propose()
        if calculation is not None:
            try:
                self.proposed(judge(calculation))
            except Refusal as refusal:
                self.refusal = str(refusal)

    # ---- typing --------------------------------------------------------------------------------

    def type(self, key: str, text: str) -> None:
        """One more key in the line of `key`: its text now."""
        name, row = split_key(key)
        field = self.kind.fields[name]
        if isinstance(field, Table):
            self._rows(field).type(row or 0, text)
            self._take_rows(field)
        else:
            self._type_field(field, text)
        self._judge()

    def _type_field(self, field: Field, text: str) -> None:
        self._unread.pop(field.name, None)
        self._forget_picks(field.name)
        try:
            shown = field.read(text)[1] if one_line(text) else ""
        except Refusal as refusal:
            self._unread[field.name] = _without(field.name, refusal)
        else:
            self._given[field.name] = Given(shown)
        self._typed[field.name] = text

    def _put(self, name: str, given: Given) -> None:
        """Something given that was not typed."""
        self._typed.pop(name, None)
        self._unread.pop(name, None)
        self._given[name] = given

    def restore(self, key: str) -> None:
        """A field, or a whole table, back to what ledger, default or proposal says."""
        name, _ = split_key(key)
        self._tables.pop(name, None)
        self._forget_picks(name)
        self._put(name, Given(""))
        self._judge()

    def take(self, values: Mapping[str, str]) -> None:
        """Values of a proposal that was chosen."""
        for name, text in values.items():
            self._put(name, Given(text, "proposed"))
        self._judge()

    def leave(self, key: str) -> None:
        """The cursor leaves a line: emptied rows go, what was read shows as it was read."""
        name, _ = split_key(key)
        if name in self._tables:
            self._tables[name].tidy()
        elif name not in self._unread:
            self._typed.pop(name, None)

    def copy_row(self, key: str) -> str:
        """Copies a row of a table; returns the key of the copy."""
        return self._change_rows(key, lambda rows, row: rows.copy(row))

    def paste_rows(self, key: str, text: str) -> str:
        """Rows from a clipboard; returns the key of the last one. Raises Refusal."""
        return self._change_rows(key, lambda rows, row: rows.paste(row, text))

    def _change_rows(self, key: str, change: _RowChange) -> str:
        name, row = split_key(key)
        field = self.kind.fields[name]
        assert isinstance(field, Table) and row is not None
        at = change(self._rows(field), row)
        self._take_rows(field)
        self._judge()
        return row_key(name, at)

    def _rows(self, field: Table) -> TypedRows:
        if field.name not in self._tables:
            reading = self._reading(field.name)
            texts = reading.value.texts if reading is not None and reading.value else ()
            self._tables[field.name] = TypedRows(field.columns, texts)
        return self._tables[field.name]

    def _take_rows(self, field: Table) -> None:
        self._given[field.name] = Given(self._tables[field.name].read)

    def turned(self, key: str, by: int) -> str:
        """The option `by` steps on from what is in a choice or flag now; "" in another field."""
        name, _ = split_key(key)
        options, reading = options_of(self.kind.fields[name]), self._reading(name)
        if not options or reading is None:
            return ""
        at = options.index(reading.text) if reading.text in options else 0
        return options[(at + by) % len(options)]

    # ---- what it says --------------------------------------------------------------------------

    def _reading(self, name: str) -> Reading | None:
        """A field as it is read now; None where it cannot be."""
        if self.judgement is not None and not self.refusal:
            return next(r for r in self.judgement.readings if r.field == name)
        try:
            return self._now.inputs.reading(name)
        except Refusal:
            return None

    def lines(self) -> list[InputLine]:
        """Every line of input, by whose figures they are."""
        lines = (one for name in self.kind.fields for one in self._lines_of(name))
        return in_groups(self.kind, lines)

    def _lines_of(self, name: str) -> list[InputLine]:
        field, reading = self.kind.fields[name], self._reading(name)
        if isinstance(field, Table) and name in self._tables:
            return self._row_lines(field, reading)
        text, unread = self._typed.get(name, ""), self._unread.get(name, "")
        if reading is None:
            row = 0 if isinstance(field, Table) else None
            key = name if row is None else row_key(name, row)
            unread = unread or self._why_not(name)
            return [InputLine(key, name, field.title, text, "blank", unread=unread, row=row)]
        if unread:
            beside = reading.beside or ""
            return [InputLine(name, name, field.title, text, "hand", beside, unread)]
        return lines_of_readings(self.kind, [reading])

    def _why_not(self, name: str) -> str:
        """Why a field cannot be read, though nothing unreadable was typed in it."""
        try:
            self._now.inputs.reading(name)
        except Refusal as refusal:
            return _without(name, refusal)
        return ""

    def _row_lines(self, field: Table, reading: Reading | None) -> list[InputLine]:
        origin = reading.origin if reading is not None else "hand"
        beside = (reading.beside or "") if reading is not None else ""
        found = []
        for i, row in enumerate(self._tables[field.name].rows):
            cells = (row.cells or {}).values()
            found.append(
                InputLine.of_row(field, i, row.text, origin, beside, unread=row.unread, cells=cells)
            )
        return [*found, InputLine.of_row(field, len(found), "", origin, beside)]

    def text(self, key: str) -> str:
        """What is in the line to be edited; empty where nothing but a proposal is."""
        name, _ = split_key(key)
        if key in self._typed:
            return self._typed[key]
        one = next((one for one in self._lines_of(name) if one.key == key), None)
        if one is None or (one.origin == "proposed" and self._is_blank(name)):
            return ""
        return one.text

    def what_counts(self, key: str) -> str:
        """What counts in an empty line: "proposed 620 Ω ± 5 %", "ledger 4.75 .. 5.25 V"."""
        name, row = split_key(key)
        if row is not None:
            return "a new row"
        reading = self._reading(name)
        return f"{reading.origin} {reading.text}".strip() if reading is not None else ""

    def _is_blank(self, name: str) -> bool:
        return self._given.get(name, Given("")).value == ""

    @property
    def trouble(self) -> tuple[str, str] | None:
        """What first keeps this from being saved: (key of its line, sentence); None if nothing.

        No key where the inputs, each readable by itself, cannot be judged together.
        """
        for one in self.lines():
            if one.unread:
                row = f", row {one.row + 1}" if one.row is not None else ""
                return one.key, f"{one.title}{row}: {one.unread}"
        return ("", self.refusal) if self.refusal else None

    def candidates(self, key: str) -> tuple[proposal, list[Candidate]] | None:
        """What is proposed for a field, the best first; None where nothing ever is.

        Raises Refusal where another input cannot be read.
        """
        name, _ = split_key(key)
        declared = next((p for p in self.kind.proposals if name in p.free), None)
        if declared is None:
            return None
        blank = {free: Given("") for free in declared.free}
        try:
            return declared, propose(self._now.with_given(blank), declared)
        except FORMULA_FAULTS:
            return declared, []

    def given(self) -> dict[str, Given]:
        """What a hand gave, and what was proposed, frozen: all that has to be kept."""
        found = {}
        for reading in self.judgement.readings if self.judgement is not None else ():
            if reading.origin not in ("hand", "proposed", "confirmed"):
                continue
            table = isinstance(self.kind.fields[reading.field], Table)
            value = [dict(row) for row in reading.value.texts] if table else reading.text
            found[reading.field] = Given(value, reading.origin)
        return found

    @property
    def raw(self) -> dict[str, Given]:
        """What was given, for opening this calculation again on another ledger."""
        return dict(self._given)

    @property
    def changed(self) -> bool:
        """Whether anything is given that was not at the opening."""
        unread = any(row.unread for rows in self._tables.values() for row in rows.rows)
        return unread or bool(self._unread) or self._meant != self._first

    @property
    def _meant(self) -> dict[str, Given]:
        return {name: given for name, given in self._given.items() if given.value != ""}


def options_of(field: Field) -> tuple[str, ...]:
    """What a field lets one choose from; nothing where it is typed."""
    if isinstance(field, Choice):
        return field.options
    return ("yes", "no") if isinstance(field, Flag) else ()


def _without(field: str, refusal: Refusal) -> str:
    """The sentence without the name of the field in front: the line says which it is."""
    inner = refusal.where.removeprefix(field).removeprefix(", ")
    return str(Refusal(refusal.what, where=inner, do=refusal.do))
