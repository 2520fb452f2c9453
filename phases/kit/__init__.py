"""The kit: what every phase is built from, and nothing that belongs to one of them.

Quantities and spreads, the calculator contract, judging, items, facts, tables, documents.
No time, no screen, no coach. numpy and pint are imported when a value is first computed.
A calculator needs no more than the names below.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from phases.kit.bench import Bench
    from phases.kit.bounds import (
        Bound,
        Check,
        Finding,
        Findings,
        NotApplicable,
        Verdictable,
        above,
        below,
        found,
        holds,
        inside,
        not_applicable,
    )
    from phases.kit.calculator import Calculator, Curve, Part, limit, listing, output, proposal
    from phases.kit.fields import (
        Capability,
        Card,
        Choice,
        Count,
        Flag,
        Following,
        Quantity,
        Table,
        Window,
        Words,
    )
    from phases.kit.judging import Judgement, judge
    from phases.kit.low_voltage import SupplyColumn, SupplyVoltage, SupplyWindow
    from phases.kit.say import show
    from phases.kit.tables import Column

__all__ = [
    "Bench",
    "Bound",
    "Calculator",
    "Capability",
    "Card",
    "Check",
    "Choice",
    "Column",
    "Count",
    "Curve",
    "Finding",
    "Findings",
    "Flag",
    "Following",
    "Judgement",
    "NotApplicable",
    "Part",
    "Quantity",
    "SupplyColumn",
    "SupplyVoltage",
    "SupplyWindow",
    "Table",
    "Verdictable",
    "Window",
    "Words",
    "above",
    "below",
    "found",
    "holds",
    "inside",
    "judge",
    "limit",
    "listing",
    "not_applicable",
    "output",
    "proposal",
    "show",
]

_HOMES = "bench", "bounds", "calculator", "fields", "judging", "low_voltage", "say", "tables"


def __getattr__(name: str) -> Any:
    """One of these names, imported when it is first asked for: items and briefs are read without
    any calculator."""
    if name in __all__:
        for home in _HOMES:
            module = import_module(f"{__name__}.{home}")
            if hasattr(module, name):
                return getattr(module, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
