"""The sheet for a program: steps and readings as JSON, numbers in SI (°C for temperatures)."""

from __future__ import annotations

import json
import math
from dataclasses import asdict
from pathlib import Path
from typing import Any

from coach.debrief.bringup.sheet import Sheet
from coach.sprint.whole_file import write_whole
from phases.kit.refusals import Refusal
from phases.kit.text import line

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
    try:
        with path.open("rb") as file:
            head = file.read(len(_MARK))
        foreign = path.is_file() and head not in (b"", _MARK.encode())
    except (OSError, ValueError):
        foreign = False  # nothing there, or what is wrong is said when it is written
    if foreign:
        raise Refusal(
            "There is a file of that name, and it is no bring-up sheet", where=line(str(path)),
            do="Choose another name, or take it away first",
        )  # fmt: skip
    write_whole(path, text.encode("utf-8", "replace"), what="The bring-up sheet")
