"""A small report with something in every place, made by hand; and the same with hostile texts."""

from __future__ import annotations

import dataclasses
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from coach.report.calls_and_forecasts import ForecastChart
from coach.report.margins import CurveChart, MarginChart
from coach.report.phase_times import Away, PhaseActual
from coach.report.sections import Point, Report, Section, Table, TableRow
from coach.report.timeline import AS_WAIVED, IN_TIME, LATE, TimeChart
from coach.sprint.durations import duration
from coach.sprint.events.event import Stamped
from coach.sprint.events.run import ForecastMade
from coach.sprint.pace.plan import Box
from phases.kit.record import CurveRecord, LimitRecord

NINE = datetime(2031, 5, 5, 9, 0, tzinfo=UTC)
PHASES = (
    ("", "choosing parts", "prt", 8),
    ("power-entry", "power entry", "pow", 11),
    ("regulation", "regulation", "reg", 11),
    ("debug-access", "debug access", "dbg", 6),
    ("clock-boot", "clock and boot", "clk", 14),
    ("decoupling", "decoupling", "dec", 8),
    ("layout", "layout", "lay", 38),
    ("labelling", "labelling", "lab", 7),
    ("closing", "closing list", "end", 17),
)
OVER = {"layout": 14, "clock-boot": -2, "regulation": 3}
"""Minutes over the box."""


def phases() -> tuple[PhaseActual, ...]:
    """Debug access was never entered; layout was left for three minutes, and came too late."""
    told, planned, at = [], 0.0, 0.0
    for phase, name, short, box in PHASES:
        used = (box + OVER.get(phase, 0)) * 60.0
        stretches: tuple[tuple[float, float], ...] = ((at, at + used),)
        if phase == "layout":
            stretches = ((at, at + 1200), (at + 1380, at + 180 + used))
        if phase == "debug-access":
            stretches = ()
        told.append(
            PhaseActual(
                box=Box(phase, name, short, box * 60.0, 0.0),
                planned=(planned, planned + box * 60),
                elsewhere=0.0,
                stretches=stretches,
                entered=len(stretches),
                silences=(),
                signed_off=phase not in ("debug-access", "layout"),
                drawn_before=False,
                why="Parts were drawn again after the crystal changed."
                if phase == "layout"
                else "",
            )
        )
        planned += box * 60
        at = stretches[-1][1] if stretches else at
    return tuple(told)


def time_chart() -> TimeChart:
    layout = phases()[6].stretches
    return TimeChart(
        phases=phases(),
        away=(Away(layout[0][1], layout[1][0], "coach closed"),),
        closed={
            phase: ((400.0 + 640 * n, IN_TIME), (440.0 + 640 * n, LATE), (480.0, AS_WAIVED))
            for n, (phase, *_) in enumerate(PHASES)
        },
        left={phase: (n % 3, n % 4) for n, (phase, *_) in enumerate(PHASES)},
        deadline=7200.0,
        end=7380.0,
        ended=True,
        accepted=True,
    )


def limit(name: str, verdict: str, share: float | None, says: str) -> LimitRecord:
    margin = None if share is None else share * 20
    return LimitRecord.model_validate(
        {
            "name": name,
            "title": name,
            "verdict": verdict,
            "share": share,
            "margin": margin,
            "unit": "K",
            "message": says,
        }
    )


def margin_chart() -> MarginChart:
    return MarginChart(
        (
            ("strap (boot strap)", limit("low level", "fail", -0.08, "0.54 V, limit 0.5 V.")),
            ("linear regulator (3V3)", limit("junction", "marginal", 0.06, "Junction 120 °C.")),
            ("indicator (D1)", limit("current", "pass", 0.55, "Current 2 mA, limit 10 mA.")),
            ("capacitors", limit("every pin", "pass", None, "Supply pins: passes.")),
        )
    )


def curve_chart() -> CurveChart:
    kept = CurveRecord(
        title="Junction against load",
        x=tuple(n / 10 for n in range(11)),
        y=tuple(40.0 + 15 * n for n in range(11)),
        x_unit="A",
        y_unit="°C",
        bound=(125.0,) * 11,
        at=0.42,
    )
    return CurveChart((("linear regulator (3V3)", kept),))


def forecast_chart() -> ForecastChart:
    def made(n: int, t: float, chance: float, *band: float, **given: Any) -> Stamped[ForecastMade]:
        low, expected, high = band
        event = ForecastMade(
            chance_essentials=chance,
            chance_all=chance,
            expected=expected,
            low=low,
            high=high,
            pace=1.3,
            draws=1,
            seed=1,
            **given,
        )
        return Stamped(n, NINE, t, 0, event)

    return ForecastChart(
        (
            (made(1, 1800.0, 0.71, 6600.0, 7140.0, 7900.0, checkpoint=25), True),
            (made(2, 3600.0, 0.44, 6900.0, 7300.0, 7800.0, checkpoint=50), True),
            (made(3, 5200.0, 0.2, 7450.0, 7700.0, 8100.0, because="chance fell"), False),
        ),
        7200.0,
        7380.0,
        accepted=True,
    )


def _phase_rows() -> tuple[TableRow, ...]:
    return tuple(
        TableRow(
            (
                one.name,
                "0:00 to 0:08",
                "0:00 to 0:08",
                duration(one.box.seconds),
                duration(one.used or None),
                one.against_box,
                one.why,
            )
        )
        for one in phases()
    )


def _item_rows() -> tuple[TableRow, ...]:
    late = TableRow(
        ("1:30", "Each strap has a level at reset", "inspected; late"),
        "late",
        key="item/strap-level@boot",
    )
    quiet = (
        TableRow(
            ("0:20", f"Connection {n} is as its part drawing has it", "inspected"),
            quiet=True,
            key=f"item/part-{n}",
        )
        for n in range(1, 6)
    )
    return (late, *quiet)


def small_report() -> Report:
    """A two-hour sprint, accepted three minutes after its cut-off, that went fairly well."""
    hazard = Point(
        "Hazard: A reversed supply harms nothing. Check before power-on.",
        "Power entry, 6 s to check, 6 min to fix. Parts burn.",
        grave=True,
        brief="Hazard: Reverse polarity",
        key="item/reverse-polarity",
    )
    several = Point(
        "2 other essentials are open.",
        "12 s to check, 4 min to fix",
        below=(
            Point(
                "Reset is pulled to a rail that is alive",
                "Debug access, 6 s to check.",
                key="item/reset-pull-up",
            ),
            Point("Screw heads clear the copper", "Layout, 6 s to check.", key="item/hole"),
        ),
        brief="2 other essentials are open: Reset pull-up and Screw heads",
    )
    fault = "Boot strap floats until the rail is up"
    sections = (
        Section(
            "to-change", "Still changeable before production", "", (hazard, several), numbered=True
        ),
        Section(
            "forgotten",
            "Forgotten",
            "3 of 60 essentials open at the end.",
            (
                Point(
                    "Reset is pulled to a rail that is alive",
                    "forgotten in 3 of 8 sprints",
                    "dead board",
                    grave=True,
                    brief="Reset pull-up: forgotten in 3 of 8 sprints",
                    key="item/reset-pull-up",
                ),
            ),
            (
                Table(
                    "More checks, open: 5",
                    ("phase", "check"),
                    tuple(TableRow(("layout", f"Check {n}"), quiet=True) for n in range(5)),
                    names=1,
                    folds="more checks",
                ),
            ),
        ),
        Section(
            "sentences",
            "In three sentences",
            points=(
                Point("A reversed supply was never looked at.", "open at 2:03"),
                Point("Layout took 52 min in a box of 38 min.", "layout 0:58 to 1:50"),
                Point("The first forecast was right to 4 min.", "0:30: 1:59, came 2:03"),
            ),
            numbered=True,
        ),
        Section("planned", "What was planned", points=(Point("Nine boxes to 1:43."),)),
        Section("happened", "What happened", points=(Point("The order was accepted at 2:03."),)),
        Section("variance", "Why they differ", points=(Point("Layout was 14 min over."),)),
        Section(
            "recommendations",
            "What to do differently",
            points=(Point("Plan 50 min for layout.", "52 min used, 38 planned"),),
            numbered=True,
        ),
        Section(
            "timeline",
            "Timeline",
            "Coach closed from 1:12 to 1:15, not counted.",
            tables=(
                Table(
                    "Phases, planned against actual",
                    ("phase", "planned", "actual", "box", "used", "difference", "why"),
                    _phase_rows(),
                    numbers=(3, 4, 5),
                ),
            ),
            chart=time_chart(),
        ),
        Section(
            "late",
            "Closed late",
            "1 item was closed late.",
            (
                Point(
                    "Each strap has a level at reset",
                    "Closed 1:30, due 0:50.",
                    "dead board",
                    grave=True,
                    key="item/strap-level@boot",
                ),
            ),
        ),
        Section(
            "waived",
            "Waived",
            "1 item was waived.",
            (Point("Each rail can be probed", "Reason: C3 and C7 will do", "rework"),),
        ),
        Section(
            "items",
            "Every item",
            "6 items on this board.",
            tables=(
                Table(
                    "Clock and boot: 6 items, due 0:50, 6 closed",
                    ("closed", "item", "how"),
                    _item_rows(),
                    names=1,
                    numbers=(0,),
                    folds="closed in time",
                ),
            ),
        ),
        Section(
            "margins",
            "Margins",
            "4 saved calculations.",
            tables=(
                Table(
                    "Tightest margin of each saved calculation",
                    ("calculation", "limit", "verdict", "margin", "share", "in words"),
                    (
                        TableRow(
                            (
                                "strap (boot strap)",
                                "low level",
                                "fail",
                                "−1.6 K",
                                "−8.0 %",
                                "0.54 V, limit 0.5 V.",
                            ),
                            "fail",
                        ),
                    ),
                    numbers=(3, 4),
                ),
            ),
            chart=margin_chart(),
        ),
        Section(
            "curves",
            "Curves",
            points=(Point("linear regulator (3V3): Junction against load"),),
            chart=curve_chart(),
        ),
        Section(
            "calls",
            "Calls",
            "2 calls, 1 asked for something, 1 acted on.",
            tables=(
                Table(
                    "Calls, and what came of them",
                    ("time", "call", "how", "what came of it"),
                    (
                        TableRow(
                            ("1:20", "2 essentials must start now.", "rang", "acted on after 5 min")
                        ),
                    ),
                    names=1,
                    numbers=(0,),
                ),
            ),
        ),
        Section(
            "forecasts",
            "How good the forecasts were",
            "One sprint says little.",
            chart=forecast_chart(),
        ),
        Section(
            "findings",
            "Late findings",
            "1 fault found after the sprint.",
            (Point(fault, "Board 2, 25 min lost.", "1", key="finding/1"),),
        ),
        Section(
            "measured",
            "Measured at bring-up",
            "2 readings, 1 out of limits.",
            tables=(
                Table(
                    "Readings at power-on",
                    ("board", "point", "measured", "expected", "verdict"),
                    (
                        TableRow(("1", "reset", "0.2 V", "3.2 .. 3.4 V", "outside"), "outside"),
                        TableRow(
                            ("1", "3V3 at C4", "3.31 V", "3.2 .. 3.4 V", "inside"), quiet=True
                        ),
                    ),
                    names=1,
                    folds="inside or as expected",
                ),
            ),
        ),
        Section(
            "aside", "Dropped and parked", points=(Point("Second fan channel", mark="dropped"),)
        ),
    )
    return Report(
        title="Greenhouse fan controller",
        path=Path("sessions/greenhouse.toml"),
        started=NINE,
        kind="",
        ending="The order was accepted and paid 3 min after the cut-off.",
        in_time=False,
        frame=(
            ("cut-off", "2:00"),
            ("reserve", "17 min"),
            ("ended", "2:03"),
            ("order", "accepted"),
        ),
        faults=("Event 41 contradicts what is before it; it is left out.",),
        sections=sections,
    )


def bare() -> Report:
    """Nothing but a title and times."""
    nothing = Section("to-change", "Still changeable", "Nothing is left to change.")
    return dataclasses.replace(small_report(), faults=(), sections=(nothing,), in_time=None)


def with_section(report: Report, name: str, **given: Any) -> Report:
    """The same report with other values in one of its sections."""
    sections = tuple(
        dataclasses.replace(one, **given) if one.id == name else one for one in report.sections
    )
    return dataclasses.replace(report, sections=sections)


_IDS = ("id", "chart", "phase")


def with_texts(told: Any, text: str) -> Any:
    """The same report with `text` after every text of it, those that choose a look included; names
    by which its parts find each other stay."""
    if isinstance(told, str):
        return f"{told}{text}"
    if isinstance(told, Path):
        return Path(f"{told}{text}")
    if isinstance(told, tuple):
        return tuple(with_texts(one, text) for one in told)
    if dataclasses.is_dataclass(told) and not isinstance(told, type):
        fields = {
            f.name: with_texts(getattr(told, f.name), text)
            for f in dataclasses.fields(told)
            if f.name not in _IDS and not isinstance(getattr(told, f.name), BaseModel)
        }
        return dataclasses.replace(told, **fields)
    return told


def with_names(report: Report, name: str) -> Report:
    """The same with a name in place of every name in its charts."""
    charts: dict[str, Any] = {}
    time = time_chart()
    charts["timeline"] = dataclasses.replace(
        time,
        phases=tuple(
            dataclasses.replace(one, box=dataclasses.replace(one.box, name=name))
            for one in time.phases
        ),
    )
    charts["margins"] = MarginChart(tuple((name, one) for _, one in margin_chart().limits))
    charts["curves"] = CurveChart(tuple((name, one) for _, one in curve_chart().curves))
    kept = forecast_chart()
    charts["forecasts"] = dataclasses.replace(
        kept,
        forecasts=tuple(
            (
                dataclasses.replace(
                    made, event=made.event.model_copy(update={"checkpoint": 0, "because": name})
                ),
                covered,
            )
            for made, covered in kept.forecasts
        ),
    )
    for section, chart in charts.items():
        report = with_section(report, section, chart=chart)
    return report
