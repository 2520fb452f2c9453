"""How long a key in a calculator takes until its new verdict is drawn, over all corners.

The floor, measured in the same run: numpy evaluates as many plain formulas over as many corners
and takes their least and greatest values, with nothing read, named, judged or drawn.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import cycle
from typing import Any

import numpy as np
import pytest

from coach.terminal.drawing.calculation import calculation_lines, headline_lines
from coach.terminal.typed_inputs import TypedInputs
from phases.kit.calculator import Calculator
from phases.kit.catalogue import calculator
from phases.kit.frame import CORNERS
from tests.benchmarks.conftest import Record
from tests.benchmarks.measuring import compared, processor

KEYS = 60
FRAME = 0.016
"""Seconds: one frame at 60 Hz, from memory."""

HEAVIEST = [
    ("linear-regulator", "I_out", ("14 mA", "140 mA")),
    ("type-c-sink", "I_load", ("14 mA", "140 mA")),
    ("strap", "R_over", ("1 kΩ ± 5 %", "1.2 kΩ ± 5 %")),
    ("feedback-divider", "V_REF", ("0.8 V ± 1 %", "0.6 V ± 1 %")),
    ("load-budget", "consumers#0", ("mcu | 3v3 | 4 mA | 80 mA", "mcu | 3v3 | 40 mA | 80 mA")),
]


def corners_of(calculation: Calculator) -> int:
    """How many corners its spreads have together."""
    seen: Any = calculation.under(CORNERS)
    for name in type(calculation).outputs:
        getattr(seen, name)
    for one in type(calculation).limits.values():
        getattr(seen, one.name)
    return math.prod(len(values) for _, values in seen._frame.points.values())


def plain_numpy(corners: int, formulas: int) -> Callable[[], float]:
    a, b, c = np.random.default_rng(1).uniform(1.0, 2.0, (3, corners))

    def evaluate() -> float:
        values = ((a - b) * c + a * number for number in range(formulas))
        return sum(float(v.min() + v.max()) for v in values)

    return evaluate


@pytest.mark.parametrize(("name", "key", "texts"), HEAVIEST, ids=[one[0] for one in HEAVIEST])
def test_a_key_has_its_verdict_within_a_frame(
    name: str, key: str, texts: tuple[str, str], record: Record
) -> None:
    kind = calculator(name)
    typed, next_text = TypedInputs(kind()), cycle(texts)

    def keystroke() -> object:
        typed.type(key, next(next_text))
        judgement, lines = typed.judgement, typed.lines()
        assert not typed.refusal
        return headline_lines(judgement, 80), calculation_lines(
            judgement, width=80, cursor_field=key, inputs=lines
        )

    keystroke()
    assert typed.judgement is not None
    corners = corners_of(typed.judgement.calculation)
    plain = plain_numpy(corners, len(kind.outputs) + len(kind.limits))
    floor_of = f"plain numpy, {corners} corners"
    made = record(
        compared(f"a key, {name}", processor(keystroke), floor_of, processor(plain), rounds=KEYS)
    )
    assert made.figure <= FRAME
