"""The values of this board that nothing computes: the brief's, as the board is now.

Subjects come and go, facts and values change in the middle; what the brief gave follows them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from coach.sprint.brief.document import Brief, Load
from coach.sprint.state import State

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
    if "board.consumers" in changed:
        values = {k: v for k, v in values.items() if not k.startswith("load.")}
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
