"""House rules: a team's own items, in `house-rules.toml` beside the briefs.

The same tables of items as in the phase files, each with its `phase`. They join their phases
after the phase's own items; the header of a journal embeds them, and from there on nothing tells
them from the others but their source, which always begins with "house rule".

A sprint never waits for a faulty file: what can be read of it counts, and one sentence says what
is left out and why. Only who adds to the file is refused until it has no fault.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import tomli
from pydantic import BaseModel, ConfigDict

from phases.kit.catalogue import calculator
from phases.kit.document_lines import Location
from phases.kit.documents import parse_document, read_text, refuse_first, validate
from phases.kit.grammar import count
from phases.kit.items import PHASE_IDS, Item, all_items, check_items
from phases.kit.refusals import Refusal, check_known, unknown
from phases.kit.shared_data import find_shared, shared_dir
from phases.kit.text import one_line

HOUSE_FILE = "house-rules.toml"
HOUSE_SOURCE = "house rule"
"""What the source of a team's own items begins with, in a journal too."""

_KIND = "house rules file"


class _HouseFile(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)

    item: tuple[Item, ...] = ()


@dataclass(frozen=True, slots=True)
class HouseRules:
    """The house rules of a sprint."""

    items: tuple[Item, ...] = ()
    """What joins the phases."""
    files: tuple[tuple[Path, int], ...] = ()
    """Where they come from, with how many each gives."""
    faults: tuple[str, ...] = ()
    """What was left out and why, a sentence each."""

    @property
    def message(self) -> str:
        """ "3 house rules from FILE"; empty where there is none."""
        return self._counted([path for path, _ in self.files])

    @property
    def status_line(self) -> tuple[str, str]:
        """(what the screen says as the sprint begins, its role); what was left out comes first."""
        counted = self._counted([Path(path.parent.name, path.name) for path, _ in self.files])
        words = [*self.faults, f"{counted}." if counted else ""]
        return " ".join(word for word in words if word), "due" if self.faults else "plain"

    def _counted(self, names: Sequence[Path]) -> str:
        return " and ".join(
            f"{count(number, 'house rule')} from {one_line(str(name))}"
            for name, (_, number) in zip(names, self.files, strict=True)
            if number
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
        found, told = _read(path)
        faults += told
        for item in found:
            if items.get(item.id, item) != item:
                twice = f"{one_line(str(path))}: The item {item.id!r} is in another file too"
                faults.append(f"Left out of the house rules: {twice}.")
        new = [item for item in found if item.id not in items]
        items |= {item.id: item for item in new}
        files.append((path, len(new)))
    ours = (
        item
        if item.source.startswith(HOUSE_SOURCE)
        else item.model_copy(update={"source": f"{HOUSE_SOURCE}: {item.source}"})
        for item in items.values()
    )
    return HouseRules(tuple(ours), tuple(files), tuple(faults))


def checked_house_rules(path: Path) -> tuple[Item, ...]:
    """The items of a file, none where there is no file. Raises Refusal for every fault in it."""
    if not os.path.lexists(path):
        return ()
    return parse_house_rules(read_text(path, kind=_KIND), where=one_line(str(path)))


def parse_house_rules(text: str, *, where: str) -> tuple[Item, ...]:
    """The items of a text; `where` goes in front of each fault. Raises Refusal."""
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
    seen = {os.path.realpath(shared_dir() / "briefs")}
    for place in places:
        where = os.path.realpath(place)
        if where not in seen and os.path.lexists(place / HOUSE_FILE):
            yield place / HOUSE_FILE
        seen.add(where)


def _read(path: Path) -> tuple[Sequence[Item], Sequence[str]]:
    """What can be read of a file, and what cannot, in a sentence."""
    try:
        return checked_house_rules(path), ()
    except Refusal as refusal:
        found = _without_fault(path)
        begins = "Left out of the house rules" if found else "Without house rules"
        return found, (f"{begins}: {refusal}",)


def _without_fault(path: Path) -> Sequence[Item]:
    """The items that have no fault, of a file that has."""
    try:
        rows = tomli.loads(read_text(path, kind=_KIND)).get("item")
    except (Refusal, ValueError, RecursionError):
        return ()
    found: dict[str, Item] = {}
    for row in rows if isinstance(rows, list) else []:
        with suppress(Refusal):
            item = validate({"item": [row]}, _HouseFile, where="").item[0]
            refuse_first(_faults_of([item]), where="")
            found.setdefault(item.id, item)
    return tuple(found.values())


# ---- checking --------------------------------------------------------------------------------


def _faults_of(items: Sequence[Item]) -> Iterator[tuple[Location, Refusal]]:
    """What a table cannot know of itself: its phase, its neighbours, what it names."""
    coachs = {item.id for item in all_items()}
    for number, item in enumerate(items):
        at: Location = ("item", number)
        if item.id in coachs:
            what = f"{item.id!r} is an item of the coach already"
            yield (*at, "id"), Refusal(what, do=f"Name it as in house-{item.id}")
        if any(item.id == before.id for before in items[:number]):
            yield (*at, "id"), Refusal(f"The item {item.id!r} appears twice")
        if item.phase not in PHASE_IDS:
            yield (*at, "phase"), unknown("phase", item.phase, PHASE_IDS)
        for key, check in ((), _refuse_names), (("cites",), _refuse_cites):
            try:
                check(item)
            except Refusal as refusal:
                yield (*at, *key), Refusal(refusal.what, do=refusal.do)


def _refuse_names(item: Item) -> None:
    check_items((item,), where="")


def _refuse_cites(item: Item) -> None:
    for cite in item.cites:
        name, _, limit = cite.partition(":")
        check_known(f"limit of {name}", limit, calculator(name).limits)
