"""The calculators as a list: for a person by phase, for a program with all they declare."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from coach.cli.columns import columns
from phases.kit.calculator import Calculator
from phases.kit.items import load_phases
from phases.kit.units import UNITS


def listing_lines(kinds: Iterable[type[Calculator]]) -> list[str]:
    """Phase by phase: name, and the question it answers."""
    lines: list[str] = []
    listed = list(kinds)
    width = max((len(kind.name) for kind in listed), default=0)
    for phase in load_phases():
        of_phase = [(k.name.ljust(width), k.question) for k in listed if k.phase == phase.id]
        lines += [phase.title, *columns(of_phase), ""] if of_phase else []
    own = "Run one, with its defaults or your own values: coach calc NAME [field=value ...]"
    return [*lines, own]


def described(kind: type[Calculator]) -> dict[str, Any]:
    """All that a calculator declares, as plain data."""
    return {
        "calculator": kind.name,
        "title": kind.title,
        "phase": kind.phase,
        "per": kind.per,
        "version": kind.version,
        "question": kind.question,
        "source": kind.source,
        "fields": {name: field.described() for name, field in kind.fields.items()},
        "outputs": {
            **{
                name: {
                    "title": out.title,
                    "unit": UNITS[out.unit].si,
                    "formula": out.formula or None,
                    "publishes": out.publishes,
                    "along": out.along,
                }
                for name, out in kind.outputs.items()
            },
            **{
                name: {"title": listing.title, "rows": True}
                for name, listing in kind.listings.items()
            },
        },
        "limits": {
            name: {
                "title": one.title,
                "unit": UNITS[one.unit].si,
                "asked": one.asked,
                "along": one.along,
            }
            for name, one in kind.limits.items()
        },
    }
