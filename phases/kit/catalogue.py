"""Which calculators there are: every module of the seven phase packages is looked through once.

Adding a calculator is adding its file; nothing else lists it.
"""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Callable
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from phases.kit.refusals import unknown

if TYPE_CHECKING:
    from phases.kit.calculator import Calculator


PHASE_PACKAGES = (
    "power_entry",
    "regulation",
    "debug_access",
    "clock_boot",
    "decoupling",
    "layout",
    "labelling",
)


@lru_cache
def _in_package(package: str) -> tuple[type[Calculator], ...]:
    """The calculators declared in the modules of one package, by class name."""
    from phases.kit.calculator import Calculator

    module = importlib.import_module(package)
    found: list[type[Calculator]] = []
    for entry in sorted(pkgutil.iter_modules(module.__path__), key=lambda e: e.name):
        declared = vars(importlib.import_module(f"{package}.{entry.name}"))
        found.extend(
            thing
            for thing in declared.values()
            if isinstance(thing, type)
            and issubclass(thing, Calculator)
            and thing is not Calculator
            and thing.__module__ == f"{package}.{entry.name}"
        )
    return tuple(found)


@lru_cache(maxsize=1)
def calculators() -> dict[str, type[Calculator]]:
    """Every calculator by its name, in the order of the phases."""
    return {
        kind.name: kind for package in PHASE_PACKAGES for kind in _in_package(f"phases.{package}")
    }


def calculator(name: str) -> type[Calculator]:
    """The calculator of that name; Refusal with the nearest where there is none."""
    known = calculators()
    if name not in known:
        raise unknown("calculator", name, known)
    return known[name]


def exports(package: str) -> Callable[[str], Any]:
    """A module `__getattr__` that finds the calculators of a phase package by class name.

    `from phases.regulation import LinearRegulator` then works and imports nothing beforehand.
    """

    def find(name: str) -> Any:
        if not name.startswith("_"):
            for kind in _in_package(package):
                if kind.__name__ == name:
                    return kind
        raise AttributeError(f"{package} has no {name}")

    return find
