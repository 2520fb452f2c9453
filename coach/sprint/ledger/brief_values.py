"""The values of this board that nothing computes: the brief's, as the board is now.

Subjects come and go, facts and values change in the middle; what the brief gave follows them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from coach.sprint.brief.document import Brief, Load
from coach.sprint.state import State
from phases.kit.cards import PartCard, load_part
from phases.kit.notation import read_quantity
from phases.kit.refusals import Refusal
from phases.kit.say import exactly
from phases.kit.spread import Spread

Row = dict[str, str]

_BOARD_KEYS = ("mcu_rail", "mcu", "capability", "ambient")
_SUBJECT_KEYS = {
    "rail": {"window": "voltage", "rating": "current"},
    "clock": {"frequency": "frequency", "tolerance": "tolerance"},
    "load": {"typical": "typical", "peak": "peak"},
}
"""By kind of subject: the last word of a ledger name, and the key of the brief that gives it."""


def board_values(state: State) -> dict[str, Any]:
    """The values by their ledger names (see `BRIEF_NAMES`): texts, and rows for the tables."""
    brief, changed = state.setup.brief, state.declared
    values = {name: value for name, value in _of_brief(brief).items() if value}
    if brief.loads:  # once the last one was dropped, nothing draws current
        loads = (load for load in brief.loads if load.id in state.subjects)
        values["board.consumers"] = [_consumer(load) for load in loads]
    values = {name: v for name, v in {**values, **changed}.items() if _is_here(name, state)}
    if "board.mcu" in changed:
        values.pop("board.pins", None)  # its part card counts them
    values["board.layers"] = f"{state.knowledge.get('layers') or brief.board.layers:g}"
    values["board.rails"] = _rails(state, values)
    values |= _of_fed_parts(state, values)
    if "board.consumers" in changed:
        followed = ("typical", "peak")
        values = {
            name: value
            for name, value in values.items()
            if not (name.startswith("load.") and name.endswith(followed))
        }
        values |= _currents(state, values["board.consumers"])
    return values


def _of_brief(brief: Brief) -> dict[str, Any]:
    """What the brief itself says; nothing where it says nothing."""
    counts = brief.board.pins.model_dump(exclude_none=True) if brief.board.pins else {}
    return {
        "source.current": brief.entry.current,
        "board.pins": [{"kind": kind, "count": str(count)} for kind, count in counts.items()],
        **{f"board.{key}": getattr(brief.board, key) for key in _BOARD_KEYS},
        **{
            f"{kind}.{table.id}.{last}": getattr(table, key)
            for kind, tables in brief.tables().items()
            for table in tables
            for last, key in _SUBJECT_KEYS.get(kind, {}).items()
        },
        **{
            f"{kind}.{table.id}.card.{role}": name
            for kind, tables in brief.tables().items()
            for table in tables
            for role, name in table.cards(kind).items()
        },
    }


def _consumer(load: Load) -> Row:
    return {
        "consumer": load.title or load.id,
        "rail": load.rail,
        "typical": load.typical,
        "peak": load.peak,
        "duty": load.duty,
        "count": str(load.count),
    }


def _is_here(name: str, state: State) -> bool:
    """Whether the subject that a value belongs to is on the board."""
    kind, subject, *_ = name.split(".")
    return kind in ("board", "source") or subject in state.subjects


def _of_fed_parts(state: State, values: Mapping[str, Any]) -> dict[str, str]:
    """By rail, what the parts it feeds stand and need; nothing where one of them has no card."""
    found = {}
    for rail in state.subjects.values():
        if rail.kind != "rail":
            continue
        fed = [one for one in state.subjects.values() if one.parent == rail.id]
        regulators = [one for one in fed if one.kind == "rail" and _regulated(state, one.id)]
        cards = [_card(values, f"rail.{one.id}.card.regulator") for one in regulators]
        highest = [card.figure("input_max") if card else None for card in cards]
        if highest and all(highest):
            found[f"rail.{rail.id}.withstands"] = _extreme(highest, min)
        parts = [_card(values, f"load.{one.id}.card.load") for one in fed if one.kind == "load"]
        lowest = [
            *(_needed(values, one.id, card) for one, card in zip(regulators, cards, strict=True)),
            *(card.supply.min if card and card.supply else None for card in parts),
        ]
        if lowest and all(lowest):
            found[f"rail.{rail.id}.needs"] = _extreme(lowest, max)
    return found


def _regulated(state: State, rail: str) -> bool:
    return state.knowledge.get("regulator", rail) not in (None, "none")


def _card(values: Mapping[str, Any], name: str) -> PartCard | None:
    """The card of that name in the ledger; None where none is named or its file is gone."""
    try:
        return load_part(values[name]) if name in values else None
    except Refusal:
        return None


def _needed(values: Mapping[str, Any], rail: str, card: PartCard | None) -> str | None:
    """The lowest input of a regulator: its rail and its dropout, or the supply it asks for."""
    if card is None:
        return None
    dropout, window = card.figure("dropout"), values.get(f"rail.{rail}.window")
    if dropout and window:
        try:
            high = read_quantity(window, "V").high + read_quantity(dropout, "V").high
        except Refusal:  # who reads the window says what is wrong with it
            return None
        return exactly(Spread.exact(high), "V")
    return card.supply.min if card.supply else None


def _extreme(texts: Sequence[str | None], of: Callable[..., float]) -> str:
    ends = [read_quantity(text, "V") for text in texts if text]
    return exactly(Spread.exact(of(*(e.low for e in ends), *(e.high for e in ends))), "V")


def _currents(state: State, rows: Iterable[Mapping[str, str]]) -> dict[str, str]:
    """The currents of each load as the table of consumers has them, where one row is called so."""
    found = {}
    for load in state.subjects.values():
        called = [row for row in rows if row.get("consumer") in (load.title, load.id)]
        if load.kind == "load" and len(called) == 1:
            for what in ("typical", "peak"):
                if called[0].get(what):
                    found[f"load.{load.id}.{what}"] = called[0][what]
    return found


def _rails(state: State, values: dict[str, Any]) -> list[Row]:
    """The rails as rows. One that was added is there as soon as its window is known."""
    return [
        {
            "rail": rail.id,
            "parent": rail.parent,
            "kind": str(state.knowledge.get("regulator", rail.id) or ""),
            "voltage": values[f"rail.{rail.id}.window"],
            "rating": values.get(f"rail.{rail.id}.rating", ""),
        }
        for rail in state.subjects.values()
        if rail.kind == "rail" and f"rail.{rail.id}.window" in values
    ]
