"""The parts of the debrief, each drawn on its own: short until it is unfolded."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from coach.debrief.account.data import Account, ItemTold
from coach.debrief.report.figures import against, chance, clock, per_cent, span
from coach.debrief.report.sections import Point, Section, of_closing
from coach.debrief.report.sections import mark as mark_of
from coach.terminal.drawing.debrief_timeline import timeline_lines
from coach.terminal.drawing.lines import (
    Line,
    Span,
    cut,
    line,
    right,
    spread_out,
    width_of,
    wrapped,
)
from coach.terminal.drawing.words import severity_role

WIDE = 60
"""Cells from which evidence stands below a sentence though its part is not unfolded."""
_LONG = 12
"""Lines a text may take before it is cut."""
_NAMES = 3
"""Names below a sentence until its part is unfolded."""


@dataclass(frozen=True, slots=True)
class Part:
    """What one key goes to. most: entries of each section until it is unfolded; role: of its
    heading; short: its title where there is little room."""

    key: str
    title: str
    most: int
    role: str = "title"
    short: str = ""


def heading_key(part: str) -> str:
    """The key of a part's heading in the list."""
    return f"part/{part}"


def finding_key(part: str, number: int) -> str:
    """The key of a late finding's line in the list."""
    return f"finding/{part}/{number}"


@dataclass(frozen=True, slots=True)
class Drawn:
    """A part being drawn at a width. told: the sections there are, by id. whole: unfolded."""

    account: Account
    told: Mapping[str, Section]
    part: Part
    width: int
    whole: bool
    low: bool

    @property
    def most(self) -> int:
        """Entries of a section that are shown."""
        if self.whole:
            return 10**6
        return min(self.part.most, 2) if self.low and self.part.key != "2" else self.part.most

    def heading(self) -> Line:
        mark = "" if self.whole else "+ "
        title = self.part.short if self.part.short and self.width < WIDE else self.part.title
        told = self.told.get("changeable") if self.part.key == "1" else None
        if told is not None and self.account.boards_are_here:
            title = "To change" if self.width < WIDE else told.title
        left = (Span(f" {self.part.key} ", "key"), Span(title, self.part.role))
        return spread_out(left, (Span(mark, "quiet"),), self.width, heading_key(self.part.key))

    def text(
        self, words: str, role: str = "plain", *, indent: int = 3, key: str = "", most: int = _LONG
    ) -> Iterator[Line]:
        """A text in as many lines as it takes; its first one can be under the cursor."""
        for number, part in enumerate(wrapped(words, max(self.width - indent - 1, 12), most)):
            yield line(Span(" " * indent), Span(part, role), key="" if number else key)

    def point(
        self, point: Point, key: str, *, number: int = 0, evidence: bool = True
    ) -> list[Line]:
        """A sentence, a mark before it, its evidence below."""
        mark = point.mark or (f"{number}" if number else "")
        lead = f"{mark}  " if mark else ""
        room = self.width - 4 - width_of(lead)
        if room < 24 or width_of(lead) > 14:
            lead, room = "", self.width - 4
        role = severity_role(mark)
        first, *more = wrapped(point.text, max(room, 12), _LONG) or [""]
        found = [line(Span("   "), Span(lead, "quiet" if role == "plain" else role), Span(first),
                      key=key)]  # fmt: skip
        indent = 3 + width_of(lead)
        found += [line(Span(" " * indent), Span(part)) for part in more]
        if not lead and mark and not number:
            found += list(self.text(mark, severity_role(mark), indent=5))
        if evidence and point.evidence:
            found += list(self.text(point.evidence, "quiet", indent=indent + 2))
        return found + self._names(point.names, indent + 2)

    def _names(self, names: Sequence[str], indent: int) -> list[Line]:
        """What a sentence is about, one by one; the first ones until its part is unfolded."""
        shown = names if self.whole else names[: 1 if self.low else _NAMES]
        found = [
            line(Span(" " * indent), Span("- " if first else "  ", "quiet"), Span(part))
            for name in shown
            for first, part in _firsts(wrapped(name, max(self.width - indent - 3, 12), _LONG))
        ]
        if rest := len(names) - len(shown):
            found.append(
                line(Span(f"{' ' * indent}and {rest} more of these: ", "quiet"), Span("↵", "key"))
            )
        return found

    def points(self, section_id: str, keys: Sequence[str] = ()) -> Iterator[Line]:
        """The points of a section, the first ones until it is unfolded. keys: of their lines."""
        section = self.told.get(section_id, Section(section_id, ""))
        shown = section.points[: self.most]
        for at, point in enumerate(shown):
            key = keys[at] if keys else f"entry/{self.part.key}/{section.id}-{at}"
            number = at + 1 if section.numbered else 0
            evidence = self.whole or (self.width >= WIDE and not self.low)
            yield from self.point(point, key, number=number, evidence=evidence)
        yield from self.rest(len(section.points) - len(shown))

    def rest(self, count: int) -> Iterator[Line]:
        """How much is folded away."""
        if count > 0:
            yield line(Span(f"   and {count} more: ", "quiet"), Span("↵", "key"))

    def lead(self, section_id: str) -> str:
        """A section in a sentence; empty where there is nothing to say."""
        section = self.told.get(section_id)
        return section.lead if section is not None else ""

    def under(self, section_id: str, count: int | str | None = None) -> Iterator[Line]:
        """The title of a section within a part, where there is one."""
        section = self.told.get(section_id)
        if section is not None:
            tail = (Span(f"{count} " if count is not None else "", "quiet"),)
            yield spread_out((Span(f"  {section.title}", "quiet"),), tail, self.width)


def _firsts(parts: Sequence[str]) -> Iterator[tuple[bool, str]]:
    return ((number == 0, part) for number, part in enumerate(parts))


# ---- the parts -------------------------------------------------------------------------------


def changeable(drawn: Drawn) -> Iterator[Line]:
    lead = drawn.lead("changeable")
    if lead:
        yield from drawn.text(lead, "done")
    yield from drawn.points("changeable")


def sentences(drawn: Drawn) -> Iterator[Line]:
    yield from drawn.points("sentences")


def questions(drawn: Drawn) -> Iterator[Line]:
    for section in ("planned", "happened", "differences"):
        yield from drawn.under(section)
        yield from drawn.points(section)


def differently(drawn: Drawn) -> Iterator[Line]:
    yield from drawn.points("differently")


def timeline(drawn: Drawn) -> Iterator[Line]:
    account = drawn.account
    yield from timeline_lines(account, drawn.width)
    yield from _phases(drawn)
    if not drawn.whole:
        yield from _folded_items(drawn)
        return
    names = {one.phase: one.name for one in account.phases}
    for phase in dict.fromkeys(one.phase for one in account.items):
        items = [one for one in account.items if one.phase == phase]
        head = f"  {names.get(phase, phase) or 'elsewhere'}: due, closed"
        yield spread_out((Span(head, "quiet"),), (Span(f"{len(items)} ", "quiet"),), drawn.width)
        for item in items:
            yield from _item_timed(drawn, item)


def _folded_items(drawn: Drawn) -> Iterator[Line]:
    count = len(drawn.account.items)
    if count:
        word = "item" if count == 1 else "items"
        yield line(Span(f"   {count} {word}, due and closed: ", "quiet"), Span("↵", "key"))


def _phases(drawn: Drawn) -> Iterator[Line]:
    """Boxes against what was used; unfolded or wide also why."""
    if drawn.low and not drawn.whole:
        return
    yield _phase_row(drawn, "", ("box", "used", "against the box"), "quiet")
    for one in drawn.account.phases:
        over = against(one.over) if one.stretches or one.used else "not entered"
        if one.drawn_before:
            over = "drawn before"
        role = "due" if one.over > 60 else "plain"
        yield _phase_row(drawn, one.name or "choosing parts", (span(one.box), span(one.used), over),
                         role)  # fmt: skip
        if one.why and drawn.whole:
            yield from drawn.text(one.why, "quiet", indent=5, most=4)


def _phase_row(drawn: Drawn, name: str, cells: tuple[str, str, str], role: str) -> Line:
    narrow = drawn.width < WIDE
    size = 7 if narrow else 12
    shown = cells[:2] if narrow and cells[2] in ("as planned", "against the box") else cells
    spans = [Span(right(cell, size), "quiet") for cell in shown[:2]]
    if len(shown) > 2:
        room = 6 if narrow else 18
        spans.append(Span(right(cells[2].removesuffix(" min") if narrow else cells[2], room), role))
    elif narrow:
        spans.append(Span(" " * 6))
    left = (Span(f"   {name}"),)
    return spread_out(left, (*spans, Span(" ")), min(drawn.width, 84))


def _item_timed(drawn: Drawn, item: ItemTold) -> Iterator[Line]:
    """When it was due, when it was closed, how it stands."""
    mark = mark_of(item) or ("not here" if item.outcome == "not on this board" else "")
    lead = f"   {clock(item.due):>5} {clock(item.closed):>5}  "
    role = "due" if item.outcome in ("open", "reopened") else "doubt" if item.late else "quiet"
    tail = (Span(f"  {mark} ", role),) if mark and drawn.width >= WIDE else ()
    room = drawn.width - len(lead) - sum(width_of(s.text) for s in tail) - 1
    first, *more = wrapped(item.name, max(room, 12), 3) or [""]
    key = f"item/{drawn.part.key}/timeline/{item.key}"
    yield spread_out((Span(lead, "quiet"), Span(first)), tail, drawn.width, key)
    for part in more:
        yield line(Span(" " * len(lead)), Span(part))
    if mark and not tail:
        indent = min(len(lead), max(drawn.width - width_of(mark), 0))
        yield line(Span(" " * indent), Span(cut(mark, drawn.width), role))


def astray(drawn: Drawn) -> Iterator[Line]:
    account = drawn.account
    closing = account.closing_open
    for section, items in (
        ("forgotten", (*account.forgotten, *closing)), ("late", account.late),
        ("waived", account.waived), ("reopened", account.reopened),
    ):  # fmt: skip
        if not items:
            continue
        number = f"{len(items)}"
        if section == "forgotten" and closing:
            number = f"{len(account.forgotten)}, and {of_closing(len(closing))}"
        yield from drawn.under(section, number)
        keys = [f"item/{drawn.part.key}/{section}/{one.key}" for one in items]
        yield from drawn.points(section, keys)
    if account.undrawn:
        yield from drawn.under("undrawn", len(account.undrawn))
        yield from drawn.points("undrawn")
    if not any((account.forgotten, closing, account.late, account.waived, account.reopened,
                account.undrawn)):  # fmt: skip
        yield from drawn.text(
            "Nothing was forgotten, late, waived, reopened or left undrawn.", "done"
        )


def margins(drawn: Drawn) -> Iterator[Line]:
    """Each calculation with its thinnest limit; unfolded with every limit."""
    found = drawn.account.calculations
    for one in found[: drawn.most]:
        share = per_cent(one.thinnest)
        role = {"fail": "hazard", "marginal": "doubt"}.get(one.verdict, "done")
        tail = (Span(f"  {one.verdict} ", role), Span(right(share, 8), "plain"), Span(" "))
        yield spread_out((Span(f"   {one.name}"),), tail, drawn.width,
                         f"entry/{drawn.part.key}/{one.id}")  # fmt: skip
        limits = sorted(one.limits, key=lambda e: e.share if e.share is not None else 9e9)
        for limit in limits if drawn.whole else limits[:1]:
            role = {"fail": "hazard", "marginal": "doubt"}.get(limit.verdict, "quiet")
            words = limit.says or limit.limit
            yield from drawn.text(f"{limit.verdict}: {words}", role, indent=5, most=3)
        if one.stale:
            yield from drawn.text(f"Not run again: {one.stale}", "doubt", indent=5, most=2)
    yield from drawn.rest(len(found) - len(found[: drawn.most]))


def calls(drawn: Drawn) -> Iterator[Line]:
    account = drawn.account
    if account.calls:
        yield from drawn.under("calls", len(account.calls))
        yield from drawn.text(drawn.lead("calls"), "quiet")
    for at, one in enumerate(account.calls[: drawn.most]):
        came = {None: "", True: "heeded", False: "not heeded"}[one.heeded]
        if one.after is not None:
            came += f" after {span(one.after)}"
        if one.items:
            came += f", {one.closed} of {one.items} closed"
        says = Point(one.says, came.strip(", "), clock(one.t))
        yield from drawn.point(says, f"entry/{drawn.part.key}/call-{at}")
    yield from drawn.rest(len(account.calls) - len(account.calls[: drawn.most]))
    honesty = drawn.told.get("forecasts")
    if honesty is not None:
        yield from drawn.under("forecasts", len(account.forecasts))
        yield from drawn.text(honesty.lead)
        for point in honesty.points if drawn.whole else ():
            yield from drawn.text(point.text, "quiet")
    yield from _forecasts(drawn)


def _forecasts(drawn: Drawn) -> Iterator[Line]:
    if not drawn.whole:
        return
    for at, one in enumerate(drawn.account.forecasts):
        held = {None: "", True: ", held the finish", False: ", missed the finish"}[one.covered]
        words = (
            f"On time {chance(one.chance_essentials)}; ends {clock(one.low)} to {clock(one.high)}"
        )
        point = Point(f"{words}{held}", one.because, clock(one.t))
        yield from drawn.point(point, f"entry/{drawn.part.key}/forecast-{at}")


def since(drawn: Drawn) -> Iterator[Line]:
    """Late findings, readings, and what was put aside."""
    account = drawn.account
    if account.findings:
        yield from drawn.under("findings", len(account.findings))
        keys = [finding_key(drawn.part.key, one.number) for one in account.findings]
        yield from drawn.points("findings", keys)
    measured = account.measured
    if measured:
        yield from drawn.under("measured", len(measured))
        yield from drawn.text(drawn.lead("measured"), "quiet")
        for at, one in enumerate(measured[: drawn.most]):
            role = "due" if one.verdict == "outside" else "plain"
            words = f"board {one.board}, {one.title}: {one.text}, {one.verdict}"
            yield from drawn.text(words, role, key=f"entry/{drawn.part.key}/measured-{at}")
            if one.expected and drawn.whole:
                yield from drawn.text(f"expected {one.expected}", "quiet", indent=5)
        yield from drawn.rest(len(measured) - len(measured[: drawn.most]))
    if "aside" in drawn.told:
        yield from drawn.under("aside", len(drawn.told["aside"].points))
        yield from drawn.points("aside")
    if not account.findings:
        yield line(Span("   No fault found since: ", "quiet"), Span("f", "key"),
                   Span(" notes one", "quiet"))  # fmt: skip
