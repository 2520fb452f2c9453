"""Whole sprints of simulated engineers, each made once a run and shared by who reads it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, dataclass
from hashlib import sha256
from inspect import signature
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest

from coach.sprint.brief.loading import load_brief
from coach.sprint.rehearsal import acting
from coach.sprint.rehearsal.rehearse import Report, rehearse
from tests.once import once_a_run

HOUR = 3600.0

Rehearsals = Callable[..., Report]
"""Called with the name of a bundled brief and the options of `rehearse`."""

_DEFAULTS = {
    name: one.default
    for name, one in signature(rehearse).parameters.items()
    if name not in ("brief", "path")
}


@dataclass(frozen=True)
class Script:
    """What a simulated engineer is told to do. patience: seconds after the cut-off."""

    brief: str
    seed: int
    forget: float = 0.0
    overlook: float = 0.0
    pace: float = 1.0
    patience: float = 6 * HOUR

    def __str__(self) -> str:
        return f"{self.brief}, {self.seed}, {self.forget}, {self.overlook}, {self.pace}"

    @property
    def options(self) -> dict[str, Any]:
        """All of it, as `Rehearsals` is called."""
        return asdict(self)


_BRIEFS = ("orchard-radio-tag", "usb-bench-meter", "pump-driver-24v")
_ENGINEERS: list[dict[str, Any]] = [
    {"seed": 5, "forget": 0.2, "overlook": 0.3, "pace": 1.1},
    {"seed": 6, "forget": 0.05, "overlook": 0.1, "pace": 1.7},
    {"seed": 6, "forget": 0.05, "overlook": 0.05, "pace": 1.8, "patience": 120.0},
]
"""Who forgets much, who is slow, and who is slow and gives up."""

FORGETS_NOTHING = [Script(brief, 1) for brief in _BRIEFS]
SAMPLES = [Script(brief, 3, forget=0.08, overlook=0.1) for brief in _BRIEFS]
"""Of each brief one, by an engineer who forgets and overlooks a few things."""

SCRIPTS = [
    *FORGETS_NOTHING,
    *SAMPLES,
    *(Script(brief, **how) for brief, how in zip(_BRIEFS, _ENGINEERS, strict=True)),
    Script("usb-bench-meter", 11, forget=0.5),
]
"""Every bundled brief and every engineer."""

MORE_SCRIPTS = [
    *(
        Script(brief, **how)
        for i, brief in enumerate(_BRIEFS)
        for k, how in enumerate(_ENGINEERS)
        if i != k
    ),
    Script("usb-bench-meter", 12, forget=0.1),
]
"""And the rest of every brief by every engineer."""


def rehearsals(factory: pytest.TempPathFactory) -> Rehearsals:
    """Rehearses a brief, or gives what was rehearsed with the same options before.

    Its forecasts are of fewer draws than those of `coach rehearse`, which makes it quicker.
    """

    def of(brief: str, **options: Any) -> Report:
        how = {name: options.get(name, default) for name, default in _DEFAULTS.items()}
        name = f"{brief}-{sha256(repr(how).encode()).hexdigest()[:12]}"

        def make(folder: Path) -> Report:
            with patch.object(acting, "_DRAWS", 400):
                return rehearse(load_brief(brief), path=folder / "sprint.toml", **options)

        return once_a_run(factory, name, make)

    return of
