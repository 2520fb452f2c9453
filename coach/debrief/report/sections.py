"""What a written debrief says, section by section, before it is Markdown or HTML.

Both are made of the same sections, so that they say the same. Nothing is decided here: an
account is put into titles, sentences and tables, and its figures into words.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from coach.debrief.account.data import (
    Account,
    CalculationTold,
    ItemTold,
    LimitTold,
    PhaseTold,
    Said,
)
from coach.debrief.account.words import to_make_good
from coach.debrief.report.figures import (
    against,
    chance,
    clock,
    minutes,
    per_cent,
    span,
    value,
)  # fmt: skip
from coach.sprint.state import NOT_HERE
from phases.kit.bounds import FAIL, MARGINAL, NOT_APPLICABLE
from phases.kit.grammar import count
from phases.kit.items import CLOSING_ID

NUMBERED = ("changeable", "sentences", "differently")
"""Sections whose points are in order of weight."""


@dataclass(frozen=True, slots=True)
class Point:
    """A sentence and, in fewer words, what it rests on. mark: a word set before it. names: what it
    is about, one by one. grave: it can hurt somebody or kill the board, and is not left out while
    others are shown."""

    text: str
    evidence: str = ""
    mark: str = ""
    names: tuple[str, ...] = ()
    grave: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of words under their columns; the cell in column `names` names its row.

    numbers: which columns are set to the right. marks: for each row a word that tells it from
    the rest, "" for most; it also stands in a cell. ranks: which rows to show where there is no
    room for all, the lowest first.
    """

    caption: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    names: int = 0
    numbers: tuple[int, ...] = ()
    marks: tuple[str, ...] = ()
    ranks: tuple[int, ...] = ()

    @property
    def marked(self) -> tuple[tuple[tuple[str, ...], str], ...]:
        """The rows, each with its mark."""
        return tuple(zip(self.rows, self.marks or ("",) * len(self.rows), strict=True))


@dataclass(frozen=True, slots=True)
class Section:
    """id: names its place in the page and its chart. lead: the section in a sentence."""

    id: str
    title: str
    lead: str = ""
    points: tuple[Point, ...] = ()
    tables: tuple[Table, ...] = ()

    @property
    def numbered(self) -> bool:
        return self.id in NUMBERED


def sections_of(account: Account) -> tuple[Section, ...]:
    """Every section there is something to say in, in the order of the page."""
    wanted = (
        changeable(account),
        Section("sentences", "In three sentences", points=_said(account.sentences)),
        Section("planned", "What was planned", points=_plain(account.planned)),
        Section("happened", "What happened", points=_plain(account.happened)),
        Section("differences", "Why they differ", points=_plain(account.differences)),
        Section("differently", "What to do differently", points=_said(account.differently)),
        timeline(account), forgotten(account), late(account), waived(account), reopened(account),
        undrawn(account), margins(account), curves(account), calls(account), forecasts(account),
        findings(account), measured(account), put_aside(account), faults(account),
    )  # fmt: skip
    return tuple(one for one in wanted if one.lead or one.points or one.tables)


def begun(account: Account) -> str:
    """Day and time of the start, and what kind of run it was."""
    words = f"Begun {account.started:%d %B %Y, %H:%M}".replace(" 0", " ")
    return f"{words}. {account.kind}".rstrip()


def frame(account: Account) -> tuple[tuple[str, str], ...]:
    """The times a reader needs to read all others: name and time."""
    ended = account.ended_at is not None
    return (
        ("cut-off", clock(account.deadline)),
        ("reserve", span(account.reserve)),
        ("ended", clock(account.ended_at)) if ended else ("last event", clock(account.last)),
        ("order", "accepted" if account.accepted else "not accepted"),
    )  # fmt: skip


# ---- before production, and the questions ------------------------------------------------------


def changeable(account: Account) -> Section:
    number = len(account.changeable)
    lead = "" if number else "Nothing this journal knows of is left to change."
    title = "Still changeable before production"
    if account.boards_are_here:
        title = "To change on the boards and in the next revision"
    return Section("changeable", title, lead, _said(account.changeable))


def _said(said: Iterable[Said]) -> tuple[Point, ...]:
    return tuple(Point(one.text, one.evidence, "", one.names, one.grave) for one in said)


def _plain(sentences: Iterable[str]) -> tuple[Point, ...]:
    return tuple(Point(text) for text in sentences)


# ---- the timeline ------------------------------------------------------------------------------


def timeline(account: Account) -> Section:
    items = [_items_of(account, one) for one in account.phases] + [_items_elsewhere(account)]
    kept = [table for table in (_phases(account), *items) if table.rows]
    there = sum(one.outcome != NOT_HERE for one in account.items)
    lead = f"{count(there, 'item')} on this board."
    if account.interrupted > 0:
        lead += f" {span(account.interrupted).capitalize()} went to something else."
    return Section("timeline", "Timeline", lead, tables=tuple(kept))


def _phases(account: Account) -> Table:
    rows = tuple(
        (
            one.name, f"{clock(one.planned[0])} to {clock(one.planned[1])}", _actual(one),
            span(one.box), span(one.used), against(one.over) if one.stretches else "–",
            _sentences(one.why, "signed off" if one.signed_off else ""),
        )
        for one in account.phases
    )  # fmt: skip
    return Table(
        "Phases, planned against actual",
        ("phase", "planned", "from first to last", "box", "used", "difference", "why"),
        rows, numbers=(3, 4, 5),
    )  # fmt: skip


def _actual(phase: PhaseTold) -> str:
    if not phase.stretches:
        return "drawn before" if phase.drawn_before else "never entered"
    again = f", entered {len(phase.stretches)} times" if len(phase.stretches) > 1 else ""
    return f"{clock(phase.stretches[0][0])} to {clock(phase.stretches[-1][1])}{again}"


def _items_of(account: Account, phase: PhaseTold) -> Table:
    return item_table(phase.name, [one for one in account.items if one.phase == phase.phase])


def _items_elsewhere(account: Account) -> Table:
    known = {one.phase for one in account.phases}
    return item_table("Elsewhere", [one for one in account.items if one.phase not in known])


def item_table(title: str, items: Sequence[ItemTold]) -> Table:
    """Items of a phase, with the time each was closed; the caption says when they were due."""
    due = sorted({clock(one.due) for one in items})
    when = f", due {due[0]}" if len(due) == 1 else f", due {due[0]} to {due[-1]}" if due else ""
    return Table(
        f"{title[:1].upper()}{title[1:]}: {count(len(items), 'item')}{when}",
        ("closed", "item", "how it stands"),
        tuple((clock(one.closed), one.name, standing(one)) for one in items),
        names=1, numbers=(0,), marks=tuple(mark(one) for one in items),
        ranks=tuple(_rank(one) for one in items),
    )  # fmt: skip


def mark(item: ItemTold) -> str:
    """The word that tells an item from those closed in time."""
    if item.outcome in ("open", "reopened"):
        return f"{item.severity}, {item.outcome}" if item.essential else item.outcome
    if item.late:
        return "late"
    return item.outcome if item.outcome == "waived" else ""


def _rank(item: ItemTold) -> int:
    """What is open on the board and grave, essentials that went astray, others that were late or
    waived, essentials, closed, open."""
    if item.grave and item.outcome in ("open", "reopened") and item.phase != CLOSING_ID:
        return 0
    if mark(item) not in ("", "open"):
        return 1 if item.essential else 2
    return 3 if item.essential else 5 if item.outcome == "open" else 4


def standing(item: ItemTold) -> str:
    """How an item stands, in words."""
    words = [item.outcome]
    if item.outcome == "met" and item.evidence:
        words = [item.evidence]
    elif item.outcome == "waived" and item.reason:
        words = [f"waived: {item.reason}"]
    elif item.outcome in ("open", "reopened"):
        words = [f"{item.outcome}, {item.severity}"]
    if item.asked:
        words.append("not known whether the board needs it")
    if item.late:
        words.append(f"late{_came_up(item, ', ')}")
    return "; ".join(words)


def _came_up(item: ItemTold, before: str = "") -> str:
    """How an item that was closed late came up again."""
    how = {"": "", "by itself": "came up by itself"}.get(item.found, f"came up by {item.found}")
    return before + how if how else ""


# ---- items that went astray --------------------------------------------------------------------


def forgotten(account: Account) -> Section:
    """Essentials of the board, worst first, then the lines of the closing list."""
    found, closing = account.forgotten, account.closing_open
    when = "is open now" if account.ended_at is None else "was open at the end"
    several = when.replace("is", "are").replace("was", "were")
    lead = f"{count(len(found), f'essential {when}', f'essentials {several}')}" if found else (
        f"No essential {when}"
    )  # fmt: skip
    lead += f", and {of_closing(len(closing))}." if closing else "."
    return Section("forgotten", "Forgotten", lead, (
        *(
            Point(one.name, _sentences(
                f"{_phase(account, one)}, {to_make_good(minutes(one.left_out_min))}",
                _habit(one), one.why,
            ), one.severity, grave=one.grave)
            for one in found
        ),
        *(Point(one.name, _sentences(one.why), CLOSING) for one in closing),
    ))  # fmt: skip


CLOSING = "closing list"
"""The mark of its lines among what is open."""


def of_closing(number: int) -> str:
    return f"{count(number, 'line')} of the closing list"


def late(account: Account) -> Section:
    found = account.late
    lead = _so_many(
        len(found), "was", "were", "closed after the phase was left or the cut-off past"
    )
    return Section("late", "Closed late", lead, tuple(
        Point(one.name, _sentences(
            f"closed {clock(one.closed)}, due {clock(one.due)}",
            _came_up(one), one.evidence,
        ), one.severity, grave=one.grave)
        for one in found
    ))  # fmt: skip


def waived(account: Account) -> Section:
    found = account.waived
    return Section("waived", "Waived", _so_many(len(found), "was", "were", "waived"), tuple(
        Point(one.name, f"Reason: {one.reason}" if one.reason else "", one.severity,
              grave=one.grave)
        for one in found
    ))  # fmt: skip


def reopened(account: Account) -> Section:
    found = account.reopened
    return Section(
        "reopened", "Reopened", _so_many(len(found), "was", "were", "open again"),
        tuple(Point(one.name, _again(one), one.severity, grave=one.grave) for one in found),
    )  # fmt: skip


def _again(item: ItemTold) -> str:
    return _sentences(
        *(
            f"{clock(one.t)}{' as a doubt' if one.doubt else ''}, because {one.because}, "
            + (f"closed again {clock(one.closed_again)}" if one.closed_again is not None
               else "not closed since")
            for one in item.reopenings
        )
    )  # fmt: skip


def undrawn(account: Account) -> Section:
    found = account.undrawn
    lead = f"{count(len(found), 'part')} of saved calculations." if found else ""
    return Section("undrawn", "Calculated, never drawn", lead,
                   tuple(Point(one.says, one.calculation) for one in found))  # fmt: skip


def _so_many(number: int, one: str, several: str, rest: str) -> str:
    return f"{count(number, 'item')} {one if number == 1 else several} {rest}." if number else ""


def _phase(account: Account, item: ItemTold) -> str:
    return next((one.name for one in account.phases if one.phase == item.phase), item.phase)


def _habit(item: ItemTold) -> str:
    if item.habit is None:
        return ""
    missed, of = item.habit
    return f"forgotten in {missed} of your last {of} sprints before this one"


def _sentences(*parts: str) -> str:
    """Parts put one after the other, each with a full stop and a capital."""
    return " ".join(
        f"{part[:1].upper()}{part[1:]}{'' if part[-1] in '.?!' else '.'}" for part in parts if part
    )


# ---- calculations ------------------------------------------------------------------------------


def margins(account: Account) -> Section:
    """The limit of each saved calculation that has least left, thinnest first; then all others."""
    least: list[tuple[CalculationTold, LimitTold]] = []
    others: list[tuple[CalculationTold, LimitTold]] = []
    for one in account.calculations:
        thinnest = thinnest_limit(one)
        for limit in one.limits:
            (least if limit is thinnest else others).append((one, limit))
    tables = (
        _limits("Where each saved calculation has least left", least),
        _limits("The other limits", others),
    )
    number = len(account.calculations)
    return Section(
        "margins", "Margins", f"{count(number, 'saved calculation')}." if number else "",
        tuple(Point(e.name, _since(e)) for e in account.calculations if e.reruns or e.stale),
        tuple(table for table in tables if table.rows),
    )  # fmt: skip


def thinnest_limit(told: CalculationTold) -> LimitTold | None:
    """The limit that has least left; without a margin the first that applies."""
    there = [limit for limit in told.limits if limit.verdict != NOT_APPLICABLE]
    found = (limit for limit in there if limit.share is not None and limit.share == told.thinnest)
    return next(found, there[0] if there else None)


def _limits(caption: str, limits: Sequence[tuple[CalculationTold, LimitTold]]) -> Table:
    return Table(
        caption, ("calculation", "limit", "verdict", "margin", "share", "in words"),
        tuple(
            (told.name, one.limit, one.verdict, _margin(one), per_cent(one.share), one.says)
            for told, one in limits
        ),
        numbers=(3, 4),
        marks=tuple(one.verdict if one.verdict in (FAIL, MARGINAL) else "" for _, one in limits),
    )  # fmt: skip


def _margin(limit: LimitTold) -> str:
    """A margin; of temperatures it is a difference."""
    return value(limit.margin, "K" if limit.unit == "°C" else limit.unit)


def _since(told: CalculationTold) -> str:
    """What became of a calculation after it was saved."""
    times = {0: "", 1: "run again once"}.get(told.reruns, f"run again {told.reruns} times")
    got = f"{told.worse} for the worse" if told.worse else "never for the worse"
    return _sentences(
        f"{times} after a change, {got}" if times else "",
        f"not run again: {told.stale}" if told.stale else "",
    )


def curves(account: Account) -> Section:
    """Named only: a curve is drawn where there is paper for it."""
    found = tuple(
        Point(f"{one.name}: {one.curve['title']}")
        for one in account.calculations if one.curve and one.curve.get("title")
    )  # fmt: skip
    return Section("curves", "Curves kept", points=found)


# ---- calls and forecasts -----------------------------------------------------------------------


def calls(account: Account) -> Section:
    asked = [one for one in account.calls if one.heeded is not None]
    heeded = sum(bool(one.heeded) for one in asked)
    lead = ""
    if account.calls:
        lead = f"{count(len(account.calls), 'call')}, {len(asked)} asked for something"
        lead += f", {heeded} heeded." if asked else "."
    rows = []
    for one in account.calls:
        items = f"{one.closed} of {one.items} closed" if one.items else ""
        came = {None: "asked for nothing", True: "heeded", False: "not heeded"}[one.heeded]
        after = f"after {span(one.after)}" if one.after is not None else ""
        rows.append((clock(one.t), one.says, "rang" if one.rang else "silent",
                     ", ".join(part for part in (came, after, items) if part)))  # fmt: skip
    table = Table(
        "Calls, and what came of them", ("time", "call", "how", "what came of it"), tuple(rows),
        names=1, numbers=(0,),
        marks=tuple("not heeded" if one.heeded is False else "" for one in account.calls),
    )  # fmt: skip
    return Section("calls", "Calls", lead, tables=(table,) if rows else ())


def forecasts(account: Account) -> Section:
    held = {None: "cannot be told", True: "yes", False: "no"}
    rows = tuple(
        (
            clock(one.t), f"{one.mark} % of the time" if one.mark else one.because,
            chance(one.chance_essentials), clock(one.low), clock(one.expected), clock(one.high),
            held[one.covered], span(one.loss),
        )
        for one in account.forecasts
    )  # fmt: skip
    table = Table(
        "Forecasts, and whether the band held the finish",
        ("made at", "because", "essentials in time", "80 % band from", "expected", "to",
         "held the finish", "pinball loss"),
        rows, numbers=(0, 3, 4, 5, 7),
    )  # fmt: skip
    return Section(
        "forecasts", "Forecast honesty", account.honesty.says, tables=(table,) if rows else ()
    )


# ---- afterwards --------------------------------------------------------------------------------


def findings(account: Account) -> Section:
    lead = f"{count(len(account.findings), 'fault')} found after the sprint."
    points = tuple(
        Point(one.fault, _sentences(
            f"board {one.board}" if one.board else "",
            f"{minutes(one.minutes)} lost" if one.minutes is not None else "",
            f"bodge: {one.bodge}" if one.bodge else "",
            f"let through by: {one.let_through}" if one.let_through else "",
            one.would_catch,
            f"now a house rule: {one.made_item}" if one.made_item else "",
        ), str(one.number))
        for one in account.findings
    )  # fmt: skip
    return Section("findings", "Late findings", lead if points else "", points)


def measured(account: Account) -> Section:
    rows = tuple(
        (one.board, one.title, one.text, one.expected or "–", one.verdict)
        for one in account.measured
    )
    outside = sum(one.verdict == "outside" for one in account.measured)
    lead = f"{count(len(rows), 'reading')}, {outside} outside what was expected." if rows else ""
    table = Table(
        "Readings at power-on", ("board", "point", "measured", "expected", "verdict"), rows,
        names=1, marks=tuple(e.verdict if e.verdict == "outside" else "" for e in account.measured),
    )  # fmt: skip
    return Section("measured", "Measured at bring-up", lead, tables=(table,) if rows else ())


def put_aside(account: Account) -> Section:
    points = (*(Point(text, mark="dropped") for text in account.dropped),
              *(Point(text, mark="parked") for text in account.thoughts))  # fmt: skip
    return Section("aside", "Dropped and parked", points=points)


def faults(account: Account) -> Section:
    found = account.faults
    lead = f"{count(len(found), 'fault')}; what is whole is told above." if found else ""
    return Section("faults", "Faults of the journal", lead, _plain(found))
