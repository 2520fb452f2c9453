"""The values of this board that nothing computes: the brief's, as the board stands now.

Subjects come and go, facts and values change in the middle; what the brief gave follows them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from coach.sprint.state import State

Row = dict[str, str]


def board_values(state: State) -> dict[str, Any]:
    """The values by their ledger names (see `BRIEF_NAMES`): texts, and rows for the two tables."""
    brief, there = state.setup.brief, state.subjects
    loads = tuple(load for load in brief.loads if load.id in there)
    values: dict[str, Any] = {
        name: value
        for name, value in brief.model_copy(update={"loads": loads}).published().items()
        if _stands(name, state)
    }
    if brief.loads and not loads:
        values["board.consumers"] = []  # the last one was dropped: nothing draws current
    values |= {name: value for name, value in state.declared.items() if _stands(name, state)}
    if "board.mcu" in state.declared:
        values.pop("board.pins", None)  # its part card counts them
    values["board.layers"] = f"{state.knowledge.get('layers') or brief.board.layers:g}"
    values["board.rails"] = _rails(state, values)
    if "board.consumers" in state.declared:
        values = {k: v for k, v in values.items() if not k.startswith("load.")}
        values |= _currents(state, values["board.consumers"])
    return values


def _stands(name: str, state: State) -> bool:
    """Whether the subject that a value belongs to is on the board."""
    kind, _, rest = name.partition(".")
    return kind not in ("rail", "clock", "load") or rest.rpartition(".")[0] in state.subjects


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
