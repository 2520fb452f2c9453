"""A small account with something in every place, made by hand; and the same with hostile texts."""

from __future__ import annotations

import dataclasses
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from coach.debrief.account.data import (
    Account,
    CalculationTold,
    CallTold,
    FindingTold,
    ForecastTold,
    Honesty,
    ItemTold,
    LimitTold,
    MeasuredTold,
    PartTold,
    PhaseTold,
    Reopening,
    Said,
)  # fmt: skip

PHASES = (
    ("", "choosing parts", 8), ("power-entry", "power entry", 11), ("regulation", "regulation", 11),
    ("debug-access", "programming and debug access", 6),
    ("clock-boot", "clock and boot configuration", 14), ("decoupling", "decoupling", 8),
    ("layout", "layout", 38), ("labelling", "labelling", 7), ("closing", "closing list", 17),
)  # fmt: skip
OVER = {"layout": 14, "clock-boot": -2, "regulation": 3}
"""Minutes over the box."""


def phases() -> tuple[PhaseTold, ...]:
    told, planned, at = [], 0.0, 0.0
    for phase, name, box in PHASES:
        used = (box + OVER.get(phase, 0)) * 60.0
        stretches: tuple[tuple[float, float], ...] = ((at, at + used),)
        if phase == "layout":  # left for three minutes and entered again
            stretches = ((at, at + 1200), (at + 1380, at + 180 + used))
        if phase == "debug-access":
            stretches, used = (), 0.0
        told.append(PhaseTold(
            phase=phase, name=name, box=box * 60.0, used=used,
            elsewhere=180.0 if phase == "layout" else 0.0,
            planned=(planned, planned + box * 60), stretches=stretches,
            signed_off=phase not in ("debug-access", "layout"), drawn_before=False,
            why="Parts were drawn again after the crystal changed; 3 min went into clock and boot."
            if phase == "layout" else "",
        ))  # fmt: skip
        planned += box * 60
        at = stretches[-1][1] if stretches else at
    return tuple(told)


def item(key: str, name: str, phase: str, **given: Any) -> ItemTold:
    told = ItemTold(
        key=key, name=name, why="Without it the board does not start.", phase=phase,
        severity="dead board", essential=True, outcome="met", asked=False, due=1140.0,
        closed=1000.0, late=False, evidence="inspected", reason="", found="", left_out_min=6.0,
        reopenings=(), habit=None, findings=(),
    )  # fmt: skip
    return dataclasses.replace(told, **given)


def items() -> tuple[ItemTold, ...]:
    astray = (
        item("reverse-polarity", "A reversed supply harms nothing", "power-entry",
             severity="hazard", outcome="open", closed=None, evidence="", habit=(3, 8)),
        item("strap-level@boot", "Each strap has a level at reset (boot strap)", "clock-boot",
             closed=5400.0, due=3000.0, late=True, found="a walk", findings=(1,),
             evidence="inspected"),
        item("reset-pull-up", "Reset is pulled to a rail that is alive", "debug-access",
             outcome="open", closed=None, evidence=""),
        item("crystal-margin", "The crystal sees its load capacitance", "clock-boot",
             outcome="reopened", closed=None, evidence="", severity="degraded",
             reopenings=(Reopening(2900.0, "load capacitance 12 pF to 18 pF", False, 3100.0),
                         Reopening(5200.0, "another part was chosen", True, None))),
        item("test-points", "Each rail can be probed", "labelling", outcome="waived",
             closed=6600.0, due=6180.0, severity="rework", essential=False, evidence="",
             reason="The pads of C3 and C7 will do"),
        item("hole-clearance", "Screw heads clear the copper", "layout", essential=False,
             outcome="open", closed=None, severity="rework", asked=True, evidence=""),
    )  # fmt: skip
    quiet = tuple(
        item(f"{phase or 'part'}-{n}", f"Connection {n} of {name} is as its part drawing has it",
             phase, closed=400.0 + 640 * place + 40 * n, due=700.0 + 700 * place)
        for place, (phase, name, _) in enumerate(PHASES) if phase for n in range(1, 6)
    )  # fmt: skip
    order = [phase for phase, _, _ in PHASES]
    return tuple(sorted((*astray, *quiet), key=lambda one: order.index(one.phase)))


def calculations() -> tuple[CalculationTold, ...]:
    def limit(of: str, name: str, verdict: str, share: float | None, says: str) -> LimitTold:
        margin = None if share is None else share * 20
        return LimitTold(of, name, verdict, says, margin, share, "K")

    curve = {
        "title": "Junction against load", "x": [n / 10 for n in range(11)],
        "y": [40.0 + 15 * n for n in range(11)], "x_unit": "A", "y_unit": "°C",
        "bound": [125.0] * 11, "at": 0.42,
    }  # fmt: skip
    return (
        CalculationTold("strap@boot", "strap (boot strap)", "fail", (
            limit("strap (boot strap)", "low level", "fail", -0.08, "0.54 V, limit 0.5 V."),
        ), -0.08, None, "", 1, 1),
        CalculationTold("linear-regulator@3v3", "linear regulator (3V3)", "marginal", (
            limit("linear regulator (3V3)", "junction", "marginal", 0.06, "Junction 120 °C."),
            limit("linear regulator (3V3)", "headroom", "pass", 0.4, "Headroom 0.6 V."),
            limit("linear regulator (3V3)", "noise", "not applicable", None, "Not asked."),
        ), 0.06, curve, "", 2, 0),
        CalculationTold("indicator@d1", "indicator (D1)", "pass", (
            limit("indicator (D1)", "current", "pass", 0.55, "Current 2 mA, limit 10 mA."),
        ), 0.55, None, "the supply is not known", 0, 0),
    )  # fmt: skip


def small_account() -> Account:
    """A two-hour sprint, accepted three minutes after its cut-off, that went fairly well."""
    return Account(
        title="Greenhouse fan controller", path=Path("sessions/greenhouse.toml"),
        started=datetime(2031, 5, 5, 9, 0, tzinfo=UTC), deadline=7200.0, reserve=1020.0,
        ended_at=7380.0, last=7380.0, accepted=True, in_time=False, kind="",
        standing="The order was accepted 3 min after the cut-off.",
        faults=("Event 41 contradicts what is before it; it is left out.",),
        changeable=(
            Said("Ask the assembler to hold the boards: a reversed supply harms parts.",
                 "hazard, open at the end; reversed supply, power entry"),
            Said("Reset has no pull-up: fit 10 kΩ from TP4 to 3V3 at bring-up.",
                 "dead board, open at the end"),
        ),
        sentences=(
            Said("A reversed supply was never looked at.", "open at 2:03; forgotten in 3 of 8"),
            Said("Layout ate the reserve: 52 min in a box of 38.", "layout 0:58 to 1:50"),
            Said("The first forecast was right to 4 min.", "0:30: 1:59, came 2:03"),
        ),
        planned=("Nine boxes to 1:43, a reserve of 17 min and the cut-off at 2:00.",),
        happened=("The order was accepted at 2:03.", "2 essentials were open at the end."),
        differences=("Layout took 14 min more than its box: the crystal changed at 0:48.",),
        differently=(
            Said("Ask for the reversed supply first; it takes 6 s.", "forgotten in 4 of 9"),
            Said("Plan 50 min for layout.", "52 min used, 38 planned"),
        ),
        phases=phases(), items=items(), calculations=calculations(),
        undrawn=(PartTold("470 Ω from D1 to 3V3", "indicator (D1)"),),
        calls=(
            CallTold(3600.0, "half", "Half the time is gone.", False, None, None, 0, 0),
            CallTold(4800.0, "latest start", "2 essentials must start by 1:24.", True, True, 300.0,
                     1, 2),
            CallTold(6900.0, "first upload due", "Upload what there is.", True, False, None, 0, 0),
        ),
        forecasts=(
            ForecastTold(1800.0, 25, "", 0.71, 0.4, 7140.0, 6600.0, 7900.0, True, 160.0),
            ForecastTold(3600.0, 50, "", 0.44, 0.3, 7300.0, 6900.0, 7800.0, True, 120.0),
            ForecastTold(5200.0, 0, "chance fell", 0.2, 0.1, 7700.0, 7450.0, 8100.0, False, 240.0),
        ),
        honesty=Honesty(0.286, 2, 3, 173.0, "One sprint says little: 3 forecasts, 2 held."),
        findings=(
            FindingTold(1, "Boot strap floats until the rail is up", "2", 25.0, "10 kΩ on the back",
                        "strap-level@boot", "Each strap has a level at reset (boot strap)",
                        "It was met by looking; the strap calculation would have caught it.", ""),
        ),
        measured=(
            MeasuredTold("1", "3V3 at C4", "3.31 V", "3.23 .. 3.37 V", "inside"),
            MeasuredTold("1", "reset", "0.2 V", "3.2 .. 3.4 V", "outside"),
            MeasuredTold("1", "indicator", "dark", "", "noted"),
        ),
        dropped=("Second fan channel",), thoughts=("Ask for a taller heat sink?",),
        interrupted=240.0,
    )  # fmt: skip


def with_texts(told: Any, text: str) -> Any:
    """The same account with `text` after every text of it, those that choose a look included."""
    if isinstance(told, str):
        return f"{told}{text}"
    if isinstance(told, Path):
        return Path(f"{told}{text}")
    if isinstance(told, tuple):
        return tuple(with_texts(one, text) for one in told)
    if isinstance(told, dict):
        return {key: with_texts(one, text) for key, one in told.items()}
    if dataclasses.is_dataclass(told) and not isinstance(told, type):
        fields = {f.name: with_texts(getattr(told, f.name), text) for f in dataclasses.fields(told)}
        return dataclasses.replace(told, **fields)
    return told
