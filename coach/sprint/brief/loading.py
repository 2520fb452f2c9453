"""Reading a brief: its document, its sense, the cards it names."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from coach.sprint.brief.checks import faults_of
from coach.sprint.brief.document import Brief
from phases.kit.cards import ROLES, CapabilityCard, PartCard, load_capability, load_part
from phases.kit.document_lines import Location
from phases.kit.documents import parse_document, read_text, refuse_first
from phases.kit.refusals import Refusal
from phases.kit.shared_data import find_shared, is_path
from phases.kit.text import one_line

Card = PartCard | CapabilityCard


def parse_brief(text: str, where: str) -> Brief:
    """The brief that `text` holds; `where` goes in front of each fault. Raises Refusal."""
    brief = parse_document(text, Brief, kind="brief", where=where)
    refuse_first(faults_of(brief), where=where, text=text)
    return brief


def load_brief(name_or_path: str | Path) -> Brief:
    """A bundled brief by its bare name, or one by path, with the facts of its part card.

    A card named by path is looked for from the folder of the brief. Raises Refusal.
    """
    path = find_shared("briefs", str(name_or_path))
    where, text = one_line(str(path)), read_text(path, kind="brief")
    brief = parse_brief(text, where)
    board, facts = brief.board, brief.facts
    faults: list[tuple[Location, Refusal]] = []

    def read(place: Location, name: str, load: Callable[[str], Card]) -> tuple[str, Card | None]:
        name = str((path.parent / name).resolve()) if is_path(name) else name
        try:
            return name, load(name)
        except Refusal as refusal:
            faults.append((place, _inside(refusal)))
            return name, None

    for key, load in _CARDS.items():
        if (named := getattr(board, key)) is not None:
            name, card = read(("board", key), named, load)
            board = board.model_copy(update={key: name})
            facts = {**card.facts(), **facts} if isinstance(card, PartCard) else facts
    tables = {
        _FIELDS[kind]: tuple(
            one.model_copy(
                update={
                    "part": one.part and read((kind, number, "part"), one.part, load_part)[0],
                    "parts": {
                        role: read((kind, number, "parts", role), name, load_part)[0]
                        for role, name in one.parts.items()
                    },
                }
            )
            for number, one in enumerate(subjects)
        )
        for kind, subjects in brief.tables().items()
    }
    refuse_first(faults, where=where, text=text)
    return brief.model_copy(update={"board": board, "facts": facts, **tables})


def card_of_mcu(name: str) -> PartCard:
    """The part card of a microcontroller, or of a radio that is one. Raises Refusal."""
    card = load_part(name)
    if card.kind not in ("mcu", "radio"):
        raise Refusal(f"Part card {card.name} is a {card.kind}, not a microcontroller")
    return card


def _inside(refusal: Refusal) -> Refusal:
    """A fault in a card, said as a fault of the brief's key that names it."""
    place = f"{refusal.where}: " if refusal.where else ""
    return Refusal(f"{place}{refusal.what}", do=refusal.do)


_FIELDS: Mapping[str, str] = {kind: f"{kind}{'es' if kind == 'bus' else 's'}" for kind in ROLES}
"""The field of a brief that holds the tables of each kind of subject."""

_CARDS: Mapping[str, Callable[[str], Card]] = {
    "mcu": card_of_mcu,
    "capability": load_capability,
}
"""The keys of a brief's board that name a card, and what reads it."""
