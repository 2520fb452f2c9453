"""The calculators as a list: for a person by phase, for a program with all they declare."""

from __future__ import annotations

import inspect
from collections.abc import Iterable, Mapping
from typing import Any

from coach.cli.columns import columns
from phases.kit.calculator import Calculator
from phases.kit.items import load_phases
from phases.kit.units import UNITS


def listing_lines(kinds: Iterable[type[Calculator]]) -> list[str]:
    """Phase by phase: name, and the question it answers."""
    lines: list[str] = []
    titles = {phase.id: phase.title for phase in load_phases()}
    phase = ""
    listed = list(kinds)
    width = max((len(kind.name) for kind in listed), default=0)
    for kind in listed:
        if kind.phase != phase:
            phase = kind.phase
            lines += ["", titles[phase]] if lines else [titles[phase]]
        lines += columns([(kind.name.ljust(width), _question(kind))])
    return [
        *lines,
        "",
        "One of them, as it stands or with values of your own: coach calc NAME [field=value ...]",
    ]


def _question(kind: type[Calculator]) -> str:
    return next(iter(inspect.cleandoc(kind.__doc__ or kind.title).splitlines()), kind.title)


def described(kind: type[Calculator]) -> dict[str, Any]:
    """All that a calculator declares, as plain data."""
    return {
        "calculator": kind.name,
        "title": kind.title,
        "phase": kind.phase,
        "per": kind.per,
        "version": kind.version,
        "question": _question(kind),
        "source": kind.source,
        "fields": {name: _plain(field.described()) for name, field in kind.fields.items()},
        "outputs": {
            **{
                name: {
                    "title": out.title, "unit": UNITS[out.unit].si, "formula": out.formula or None,
                    "publishes": out.publishes, "along": out.along,
                }
                for name, out in kind.outputs.items()
            },
            **{name: {"title": listing.title, "rows": True}
               for name, listing in kind.listings.items()},
        },
        "limits": {
            name: {"title": one.title, "unit": UNITS[one.unit].si, "asked": one.asked,
                   "along": one.along}
            for name, one in kind.limits.items()
        },
    }  # fmt: skip


def _plain(value: Any) -> Any:
    """Lists and dictionaries for what declarations hold as tuples and mappings."""
    if isinstance(value, Mapping):
        return {str(key): _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    return value
