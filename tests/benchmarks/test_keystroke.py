"""How long a key in a calculator takes until its new verdict is drawn, over all corners.

The floor, measured in the same run: numpy evaluates as many plain formulas over as many corners
and takes their least and greatest values, with nothing read, named, judged or drawn.
"""

from __future__ import annotations

import math
import statistics
import time
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from coach.terminal.drawing.calculation import calculation_lines, headline_lines
from coach.terminal.typed_inputs import TypedInputs
from phases.kit.calculator import Calculator
from phases.kit.catalogue import calculator
from phases.kit.frame import CORNERS

KEYS = 61
FRAME = 16.0
"""Milliseconds: one frame at 60 Hz, from memory."""

HEAVIEST = [
    ("linear-regulator", "I_out", ("14 mA", "140 mA")),
    ("type-c-sink", "I_load", ("14 mA", "140 mA")),
    ("strap", "R_over", ("1 kΩ ± 5 %", "1.2 kΩ ± 5 %")),
    ("feedback-divider", "V_REF", ("0.8 V ± 1 %", "0.6 V ± 1 %")),
    ("load-budget", "consumers#0", ("mcu | 3v3 | 4 mA | 80 mA", "mcu | 3v3 | 40 mA | 80 mA")),
]


def milliseconds(work: Callable[[int], object]) -> float:
    """The median of many runs; the first one, which makes what is kept, is not counted."""
    work(0)
    taken = []
    for number in range(1, KEYS):
        begun = time.perf_counter()
        work(number)
        taken.append(time.perf_counter() - begun)
    return statistics.median(taken) * 1e3


def corners_of(calculation: Calculator) -> int:
    """How many corners its spreads have together."""
    seen: Any = calculation.under(CORNERS)
    for name in type(calculation).outputs:
        getattr(seen, name)
    for one in type(calculation).limits.values():
        getattr(seen, one.name)
    return math.prod(len(values) for _, values in seen._frame.points.values())


def plain_numpy(corners: int, formulas: int) -> Callable[[int], object]:
    values = np.random.default_rng(1).uniform(1.0, 2.0, (3, corners))

    def evaluate(number: int) -> float:
        a, b, c = values
        return sum(
            float(v.min() + v.max()) for _ in range(formulas) for v in [(a - b) * c + a * number]
        )

    return evaluate


@pytest.mark.parametrize(("name", "key", "texts"), HEAVIEST, ids=[one[0] for one in HEAVIEST])
def test_a_key_has_its_verdict_within_a_frame(name: str, key: str, texts: tuple[str, str]) -> None:
    kind = calculator(name)
    typed = TypedInputs(kind())

    def keystroke(number: int) -> object:
        typed.type(key, texts[number % 2])
        judgement, lines = typed.judgement, typed.lines()
        assert not typed.refusal
        return headline_lines(judgement, 80), calculation_lines(
            judgement, width=80, cursor_field=key, inputs=lines
        )

    took = milliseconds(keystroke)
    assert typed.judgement is not None
    corners = corners_of(typed.judgement.calculation)
    formulas = len(kind.outputs) + len(kind.limits)
    floor = milliseconds(plain_numpy(corners, formulas))
    print(
        f"\n{name}: {took:.2f} ms a key; plain numpy, {formulas} formulas over {corners} corners, "
        f"{floor:.3f} ms; ratio {took / floor:.0f}"
    )
    assert took <= FRAME
