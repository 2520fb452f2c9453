"""House rules: a team's own items, in `house-rules.toml` beside the briefs.

The same tables of items as in the phase files, each with its `phase`. They join their phases
after the phase's own items; the header of a journal embeds them, and from there on nothing tells
them from the others but their source, which always begins with "house rule".

A hazard or a dead board belongs to the gate of its phase unless its table says otherwise, and
where the gate has no room for it, it is walked with the gate all the same.

A sprint never waits for a faulty file: what can be read of it counts, and one sentence says what
is left out and why. Only who adds to the file is refused until it is whole.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from pydantic import BaseModel, ConfigDict

from coach.sprint.board import HOUSE_SOURCE, gate_rows, is_house_rule
from coach.sprint.brief.document import Brief
from coach.sprint.fold import begin
from coach.sprint.setup import new_setup
from phases.kit.catalogue import calculator
from phases.kit.documents import parse_document, read_text, refuse_first, validate
from phases.kit.items import PHASE_IDS, Item, Severity, all_items, check_items
from phases.kit.refusals import Refusal, unknown
from phases.kit.shared_data import find_shared, shared_dir
from phases.kit.text import line

HOUSE_FILE = "house-rules.toml"
GATE_ROWS = 9
"""Rows a gate shows at most."""

_KIND = "house rules file"
_LONG_AGO = datetime(2000, 1, 1, tzinfo=UTC)


class _HouseFile(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)

    item: tuple[Item, ...] = ()


@dataclass(frozen=True, slots=True)
class HouseRules:
    """items: what joins the phases. files: where they come from, with how many each gives.
    faults: what was left out and why, a sentence each."""

    items: tuple[Item, ...] = ()
    files: tuple[tuple[Path, int], ...] = ()
    faults: tuple[str, ...] = ()

    @property
    def says(self) -> str:
        """ "3 house rules from FILE"; empty where there is none."""
        return self._counted(long=True)

    @property
    def said(self) -> tuple[str, str]:
        """(what the screen says as the sprint begins, its role); what was left out comes first."""
        counted = self._counted(long=False)
        words = [*self.faults, f"{counted}." if counted else ""]
        return " ".join(word for word in words if word), "due" if self.faults else "plain"

    def _counted(self, *, long: bool) -> str:
        return " and ".join(
            f"{count} house rule{'' if count == 1 else 's'} from "
            f"{line(str(path if long else Path(path.parent.name, path.name)))}"
            for path, count in self.files
            if count
        )


def house_file(folder: Path) -> Path:
    """The house rules of the person whose journals lie in `folder`."""
    return folder / "briefs" / HOUSE_FILE


def house_rules(name: str | Path, brief: Brief, folder: Path) -> HouseRules:
    """The house rules for a sprint on `brief`.

    name: as `load_brief` takes it; a brief in a folder of its own has the file there too.
    folder: of the person's journals. Never raises Refusal: faults are said in the result.
    """
    items: dict[str, Item] = {}
    files: list[tuple[Path, int]] = []
    faults: list[str] = []
    for path in _files(name, folder):
        found, fault = _read(path)
        faults += [fault] if fault else []
        taken = []
        for item in found:
            if item.id not in items:
                items[item.id] = item
                taken.append(item)
            elif items[item.id] != item:
                faults.append(_left_out(path, f"The item {item.id!r} stands in another file too"))
        files.append((path, len(taken)))
    fitted, crowded = _fitted(tuple(items.values()), brief)
    return HouseRules(fitted, tuple(files), (*faults, *crowded))


def checked_house_rules(path: Path) -> tuple[Item, ...]:
    """The items of a file, none where there is no file. Raises Refusal for every fault in it."""
    if not os.path.lexists(path):
        return ()
    return parse_house_rules(read_text(path, kind=_KIND), where=line(str(path)))


def parse_house_rules(text: str, *, where: str) -> tuple[Item, ...]:
    """The items of a text; `where` stands in front of each fault. Raises Refusal."""
    if not text.strip():
        return ()
    found = parse_document(text, _HouseFile, kind=_KIND, where=where).item
    refuse_first(_faults_of(found), where=where, text=text)
    return found


def fault_of_gate(item: Item, brief: Brief, others: Sequence[Item] = ()) -> str:
    """Why an item cannot be a gate item of this board, in a sentence; empty where it can.

    others: house rules that stand at the gate already.
    """
    asked = item.model_copy(update={"gate": True})
    before, after = (rows_at_gate(brief, all_, item.phase) for all_ in (others, (*others, asked)))
    if after <= max(before, GATE_ROWS):
        return ""
    return f"The gate of {item.phase} has {before} rows on this board, and at most {GATE_ROWS}"


# ---- reading ---------------------------------------------------------------------------------


def _files(name: str | Path, folder: Path) -> Iterator[Path]:
    """The files that are there, the person's first."""
    places = [house_file(folder).parent]
    with suppress(Refusal):  # there is no such brief: whoever loads it says so
        places.append(find_shared("briefs", str(name)).parent)
    bundled = _place(shared_dir() / "briefs")
    seen = set()
    for place in places:
        where = _place(place)
        if where not in seen and where != bundled and os.path.lexists(place / HOUSE_FILE):
            yield place / HOUSE_FILE
        seen.add(where)


def _place(folder: Path) -> str:
    return os.path.realpath(folder)


def _read(path: Path) -> tuple[tuple[Item, ...], str]:
    """What can be read of a file, and what cannot, in a sentence."""
    try:
        return checked_house_rules(path), ""
    except Refusal as refusal:
        found = tuple(_whole_items(path))
        begins = "Left out of the house rules" if found else "Without house rules"
        return found, f"{begins}: {refusal}"


def _whole_items(path: Path) -> Iterator[Item]:
    """The items that have no fault, of a file that has."""
    import tomllib

    try:
        rows = tomllib.loads(read_text(path, kind=_KIND)).get("item")
    except (Refusal, ValueError, RecursionError):
        return
    seen: set[str] = set()
    for row in rows if isinstance(rows, list) else []:
        try:
            item = validate({"item": [row]}, _HouseFile, where="").item[0]
        except Refusal:
            continue
        if item.id not in seen and not _faults_of((item,)):
            seen.add(item.id)
            yield item


def _left_out(path: Path, what: str) -> str:
    return f"Left out of the house rules: {Refusal(what, where=line(str(path)))}"


# ---- checking --------------------------------------------------------------------------------


def _faults_of(items: Sequence[Item]) -> list[tuple[tuple[str | int, ...], Refusal]]:
    """What a table cannot know of itself: its phase, its neighbours, what it names."""
    ours = {item.id for item in all_items()}
    counts: Counter[str] = Counter()
    found: list[tuple[tuple[str | int, ...], Refusal]] = []
    for number, item in enumerate(items):
        counts[item.id] += 1
        for key, refusal in _faults_of_item(item, ours, counts):
            found.append((("item", number, *((key,) if key else ())), refusal))
    return found


def _faults_of_item(
    item: Item, ours: set[str], counts: Mapping[str, int]
) -> Iterator[tuple[str, Refusal]]:
    if item.id in ours:
        yield (
            "id",
            Refusal(
                f"{item.id!r} is an item of the coach already", do=f"Name it as in house-{item.id}"
            ),
        )
    if counts[item.id] > 1:
        yield "id", Refusal(f"The item {item.id!r} stands here twice")
    if item.phase not in PHASE_IDS:
        yield "phase", unknown("phase", item.phase, PHASE_IDS)
    try:
        check_items((item,), where="")
    except Refusal as refusal:
        yield "", Refusal(refusal.what, do=refusal.do)
    for cite in item.cites:
        if refused := _cite_fault(cite):
            yield "cites", refused


def _cite_fault(cite: str) -> Refusal | None:
    name, _, limit = cite.partition(":")
    try:
        known = calculator(name).limits
    except Refusal as refusal:
        return refusal
    return None if limit in known else unknown(f"limit of {name}", limit, known)


# ---- the gate --------------------------------------------------------------------------------


def _fitted(items: tuple[Item, ...], brief: Brief) -> tuple[tuple[Item, ...], list[str]]:
    """The items with no gate of this board longer than it may be; those first that ask for it.

    One too many is no gate item here; it is asked outside it, so that it is not lost.
    """
    taken: dict[str, Item] = {}
    faults: list[str] = []
    for item in sorted(items, key=lambda one: not one.gate):
        gate = item.gate or gate_by_default(item)
        fault = fault_of_gate(item, brief, tuple(taken.values())) if gate else ""
        if fault and item.gate:
            faults.append(f"{fault}: house rule {item.id!r} is asked outside it.")
        source = item.source if is_house_rule(item) else f"{HOUSE_SOURCE}: {item.source}"
        taken[item.id] = item.model_copy(update={"gate": gate and not fault, "source": source})
    return tuple(taken[item.id] for item in items), faults


def as_asked(items: tuple[Item, ...], brief: Brief) -> tuple[Item, ...]:
    """House rules as a sprint on `brief` has them: at the gate or outside it."""
    return _fitted(items, brief)[0]


def gate_by_default(item: Item) -> bool:
    """Whether an item whose table does not speak of the gate belongs to it, where it has room."""
    return "gate" not in item.model_fields_set and item.severity >= Severity.DEAD_BOARD


def rows_at_gate(brief: Brief, items: Iterable[Item], phase: str) -> int:
    """The rows of a gate as a sprint with these house rules begins."""
    setup = new_setup(brief, started=_LONG_AGO, deadline=3600.0, house=tuple(items))
    return len(gate_rows(begin(setup), phase))
