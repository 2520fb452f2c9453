"""House rules: a team's own items, in `house-rules.toml` beside the briefs.

The same tables of items as in the phase files, each with its `phase`. They join their phases
after the phase's own items; the header of a journal embeds them, and from there on nothing tells
them from the others but their source, which always begins with "house rule".

A sprint never waits for a faulty file: what can be read of it counts, and one sentence says what
is left out and why. Only who adds to the file is refused until it is whole.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from pydantic import BaseModel, ConfigDict

from coach.sprint.board import HOUSE_SOURCE, is_house_rule
from phases.kit.catalogue import calculator
from phases.kit.documents import parse_document, read_text, refuse_first, validate
from phases.kit.items import PHASE_IDS, Item, all_items, check_items
from phases.kit.refusals import Refusal, unknown
from phases.kit.shared_data import find_shared, shared_dir
from phases.kit.text import line

HOUSE_FILE = "house-rules.toml"

_KIND = "house rules file"


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


def house_rules(name: str | Path, folder: Path) -> HouseRules:
    """The house rules for a sprint on the brief `name`.

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
    return HouseRules(tuple(map(_ours, items.values())), tuple(files), tuple(faults))


def _ours(item: Item) -> Item:
    if is_house_rule(item):
        return item
    return item.model_copy(update={"source": f"{HOUSE_SOURCE}: {item.source}"})


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
