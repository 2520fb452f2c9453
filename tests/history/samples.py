"""Journals of whole sprints, rehearsed once a run: one of each bundled brief."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from coach.sprint.brief.document import load_brief
from coach.sprint.rehearsal.rehearse import rehearse

BRIEFS = ("orchard-radio-tag", "usb-bench-meter", "pump-driver-24v")


@cache
def samples() -> tuple[bytes, ...]:
    """Their bytes; each engineer forgets and overlooks a few things."""
    with TemporaryDirectory() as folder:
        paths = [Path(folder) / f"{name}.toml" for name in BRIEFS]
        for name, path in zip(BRIEFS, paths, strict=True):
            rehearse(load_brief(name), seed=3, forget=0.1, overlook=0.1, path=path)
        return tuple(path.read_bytes() for path in paths)
