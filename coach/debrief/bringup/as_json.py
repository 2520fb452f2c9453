"""The sheet for a program: steps and readings as JSON, numbers in SI (°C for temperatures)."""

from __future__ import annotations

import json
import math
from dataclasses import asdict
from pathlib import Path
from typing import Any

from coach.debrief.bringup.power import forbidding
from coach.debrief.bringup.printing import BOARDS
from coach.debrief.bringup.sheet import Sheet
from coach.sprint.whole_file import write_over_own

_MARK = '{\n  "bringup_sheet": 1,'
"""How such a file begins; the number is raised when a key changes its meaning."""


def json_of(sheet: Sheet) -> str:
    document: dict[str, Any] = {
        "bringup_sheet": 1,
        "title": sheet.title,
        "journal": sheet.journal,
        "ended": sheet.ended,
        "cautions": list(sheet.cautions),
        "steps": [asdict(step) for step in sheet.steps],
        "forbids_power": {
            board: [step.id for step in forbidding(sheet, board)] for board in sheet.columns(BOARDS)
        },
        "readings": [asdict(reading) for reading in sheet.readings.values()],
        "last_word": sheet.last_word,
        "faults": list(sheet.faults),
    }
    return json.dumps(_finite(document), ensure_ascii=False, indent=2, allow_nan=False) + "\n"


def _finite(value: Any) -> Any:
    """The same data, with nothing where a forged number is none."""
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, dict):
        return {key: _finite(one) for key, one in value.items()}
    return [_finite(one) for one in value] if isinstance(value, list | tuple) else value


def write_json(path: Path, text: str) -> None:
    """Puts it at `path`, whole or not at all; only an earlier one gives way. Raises Refusal."""
    write_over_own(
        path, text, what="The bring-up sheet", none="is no bring-up sheet",
        own=lambda head, _: head.startswith(_MARK.encode()),
    )  # fmt: skip
