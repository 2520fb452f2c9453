"""How long a thousand journals take, against reading their bytes as TOML and doing nothing with it.

The journals are copies of the rehearsed ones, each with a start of its own and sealed anew. The
floor, measured in the same run on some of them: tomllib.loads of the same bytes. Processor time
is tested, that of all processes together, because it does not hang on what else the machine does;
the seconds on the wall are shown beside it.
"""

from __future__ import annotations

import os
import time
import tomllib
from collections.abc import Callable
from pathlib import Path

from coach.debrief.trends.reading import read_lines
from coach.history.trends import counted
from tests.history.conftest import SAMPLES
from tests.history.copies import copies

JOURNALS = 1000
FLOOR_OF = 60
WANTED = 0.5
"""Of the floor, at most: 12 of 24 ms, so that a thousand take six seconds on two idle cores."""


def processor_seconds(work: Callable[[], object]) -> tuple[float, float]:
    """(of this process and of those that have ended meanwhile, on the wall)."""
    before, begun = os.times(), time.perf_counter()
    work()
    after, taken = os.times(), time.perf_counter() - begun
    return sum(after[:4]) - sum(before[:4]), taken


def test_a_thousand_journals_take_less_than_half_of_what_their_toml_takes(tmp_path: Path) -> None:
    paths = copies(SAMPLES, tmp_path / "many", JOURNALS)
    texts = [path.read_text(encoding="utf-8") for path in paths[:FLOOR_OF]]
    floor = processor_seconds(lambda: [tomllib.loads(text) for text in texts])[0] / FLOOR_OF
    alone = processor_seconds(lambda: read_lines(paths[:FLOOR_OF], processes=1))[0] / FLOOR_OF
    lines = []
    together, wall = processor_seconds(lambda: lines.append(read_lines(paths)))
    counting, _ = processor_seconds(lambda: counted(lines[0].sprints))
    assert len(lines[0].sprints) == JOURNALS
    each = (together + counting) / JOURNALS
    size = sum(path.stat().st_size for path in paths) / JOURNALS / 1000
    print(
        f"\na journal of {size:.0f} kB: tomllib alone {floor * 1e3:.1f} ms, its line "
        f"{alone * 1e3:.1f} ms; of {JOURNALS}, starts of processes and counting included, "
        f"{each * 1e3:.1f} ms each, ratio {each / floor:.2f}, wanted at most {WANTED}; "
        f"on the wall {wall:.1f} s with {os.cpu_count()} processors"
    )
    assert each <= WANTED * floor
