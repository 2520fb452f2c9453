"""The record of a judgement: all that a journal, the bench and another program need of it.

Made once from a judgement (`record_of`), validated once where it comes in from outside, and told
from then on without computing anything. Numbers are SI (°C for temperatures); what could not be
evaluated is None.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Annotated, Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from phases.kit.assumed import heaviest_first
from phases.kit.bench import Section
from phases.kit.bounds import Finding, worst
from phases.kit.expected import Expected
from phases.kit.fields import Field as Input
from phases.kit.fields import Quantity, Table, Window
from phases.kit.grammar import so_many
from phases.kit.sentences import verdict_sentence
from phases.kit.spread import Spread
from phases.kit.text import Line, Text
from phases.kit.units import UNITS

if TYPE_CHECKING:
    from phases.kit.curves import Traced
    from phases.kit.drivers import Driver
    from phases.kit.inputs import Reading
    from phases.kit.judging import Figure as Judged
    from phases.kit.judging import Judgement, Output, Verdict
    from phases.kit.remedies import Remedy

CURVE_POINTS = 33

Word = Literal["pass", "marginal", "fail", "not applicable"]
Number = Annotated[float, Field(ge=-1e18, le=1e18)]
Cell = bool | float | Line
"""A cell of a listing."""


class _Entry(BaseModel):
    # Built at first use: not every journal that is looked at has a calculation.
    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        allow_inf_nan=False,
        defer_build=True,
        coerce_numbers_to_str=True,
    )


class Figure(_Entry):
    """A value over all corners; an end that is not finite is None."""

    min: Number | None = None
    typ: Number | None = None
    max: Number | None = None

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        given = [end for end in (self.min, self.typ, self.max) if end is not None]
        if given != sorted(given):
            raise ValueError("min, typ and max are not in rising order")
        return self

    @property
    def spread(self) -> Spread | None:
        if self.min is None or self.typ is None or self.max is None:
            return None
        return Spread(self.min, self.typ, self.max)


class InputRecord(Figure):
    """An input as typed (text) and as read. origin: one of `inputs.ORIGINS`; of: whose figure it is
    (`fields.Field`); ledger: the name it is fed by, owner: what stood behind that, or the card;
    beside: what the ledger says where a hand said otherwise; assumed: see `inputs.Reading`."""

    text: Text
    unit: Line | None = None
    origin: Line
    of: Line = ""
    assumed: tuple[Line, ...] = ()
    ledger: Line | None = None
    beside: Line | None = None
    owner: Line | None = None
    rows: tuple[dict[Line, Line], ...] | None = None

    @property
    def given(self) -> str | list[dict[str, str]]:
        """What was given, as a field reads it."""
        return self.text if self.rows is None else list(self.rows)


class RowFigure(Figure):
    """One row of an output that is kept along a table."""

    row: Line
    published: Line | None = None


class BenchRecord(_Entry):
    """What the bench measures of an output, ready to be printed; see `Bench`. low, typ, high: what
    is right, rounded as it is shown, None where there is no such end. how: what to know of that."""

    section: Section
    point: Line
    unit: Line
    low: Number | None = None
    typ: Number | None = None
    high: Number | None = None
    how: Line = ""
    title: Line = ""
    do: Line = ""
    where: Line = ""
    tool: Line = ""
    words: Line = ""
    first: Line = ""
    caution: Line = ""

    @property
    def expected(self) -> Expected:
        return Expected(self.low, self.typ, self.high, self.unit, self.words)


class OutputRecord(Figure):
    """An output. published: the ledger name it gave its value to."""

    unit: Line
    title: Line
    published: Line | None = None
    rows: tuple[RowFigure, ...] = ()
    bench: BenchRecord | None = None

    def row(self, label: str) -> Spread | None:
        """The figure of one row."""
        return next((one.spread for one in self.rows if one.row == label), None)


class LimitRecord(_Entry):
    """A limit judged, for one scenario row or for all; corner: the inputs at its worst corner.
    assumed: the part figures nobody gave that it rests on, those first that have most of its
    margin: a field's name, or "calculation field" of another one."""

    name: Line
    title: Line
    verdict: Word
    value: Number | None = None
    bound: Number | None = None
    margin: Number | None = None
    share: Number | None = None
    unit: Line
    scenario: Line = ""
    corner: dict[Line, Number] = {}
    assumed: tuple[Line, ...] = ()
    message: Line


class Interval(_Entry):
    """Open where an end is None."""

    min: Number | None = None
    max: Number | None = None


class RemedyRecord(_Entry):
    field: Line
    intervals: tuple[Interval, ...]
    unit: Line
    cures: tuple[Line, ...]
    owner: Line | None = None
    message: Line


class DriverRecord(_Entry):
    limit: Line
    field: Line
    gain: Number | None = None
    unit: Line


class PartRecord(_Entry):
    """A part or connection to draw; see `Part`."""

    role: Annotated[Line, Field(min_length=1)]
    what: Annotated[Line, Field(min_length=1)]
    where: Line
    count: Annotated[int, Field(ge=1, le=1000)] = 1

    @property
    def words(self) -> str:
        """On one line, no longer than an event keeps: "2 x 100 nF, VDD to GND"."""
        return f"{so_many(self.count, self.what)}, {self.where}"[:400]


class FindingRecord(_Entry):
    where: Line
    what: Line
    cure: Line = ""
    kind: Literal["fault", "caution"]


class CurveRecord(_Entry):
    """y along x, the edge of its band that meets the limit first; bound: that limit along x; at:
    where the calculation stands."""

    title: Line
    x: Annotated[tuple[Number, ...], Field(min_length=2, max_length=400)]
    y: tuple[Number, ...]
    x_unit: Line
    y_unit: Line
    at: Number | None = None
    bound: tuple[Number, ...] | None = None
    log: bool = False

    @model_validator(mode="after")
    def _of_one_length(self) -> Self:
        if len(self.y) != len(self.x) or len(self.bound or self.x) != len(self.x):
            raise ValueError("a curve whose columns are of different length")
        return self


class Record(_Entry):
    """All that a calculation answered, at one subject."""

    calculator: Line
    version: int
    subject: Line = ""
    inputs: dict[Line, InputRecord]
    outputs: dict[Line, OutputRecord]
    listings: dict[Line, tuple[dict[Line, Cell], ...]] = {}
    limits: tuple[LimitRecord, ...]
    remedies: tuple[RemedyRecord, ...] = ()
    drivers: tuple[DriverRecord, ...] = ()
    picks: dict[Line, Line] = {}
    parts: Annotated[tuple[PartRecord, ...], Field(max_length=1000)] = ()
    findings: tuple[FindingRecord, ...] = ()
    curve: CurveRecord | None = None

    @property
    def verdict(self) -> str:
        return worst([one.verdict for one in self.limits])

    def verdict_of(self, limit: str) -> str | None:
        """The worst verdict of one limit; None where the record has no such limit."""
        found = [one.verdict for one in self.limits if one.name == limit]
        return worst(found) if found else None

    @property
    def published(self) -> dict[str, Spread]:
        """What it gave to the ledger, by name."""
        return {name: spread for name, _, spread in self.gave()}

    def gave(self) -> Iterator[tuple[str, str, Spread]]:
        """Each ledger name, the output that gave it, and its value."""
        for output, one in self.outputs.items():
            figures: tuple[OutputRecord | RowFigure, ...] = (one, *one.rows)
            for figure in figures:
                if figure.published and figure.spread is not None:
                    yield figure.published, output, figure.spread


# ---- made from a judgement -------------------------------------------------------------------


def record_of(judgement: Judgement, subject: str = "", *, advice: bool = True) -> Record:
    """advice: also remedies, drivers and later listings, which take longer than the verdicts."""
    from phases.kit.drivers import drivers
    from phases.kit.remedies import remedies

    calculation = judgement.calculation
    kind = type(calculation)
    listings = {**judgement.listings, **(judgement.later_listings() if advice else {})}
    order = heaviest_first(judgement) if advice else {}
    notes = [f for v in judgement.verdicts for f in v.findings] + list(judgement.notes)
    made = {
        "calculator": kind.name,
        "version": kind.version,
        "subject": subject,
        "inputs": {r.field: _input(kind.fields[r.field], r) for r in judgement.readings},
        "outputs": {o.name: _output(judgement, o) for o in judgement.outputs},
        "listings": {name: list(map(_filled, rows)) for name, rows in listings.items()},
        "limits": [_limit(v, order.get(v.limit, v.assumed)) for v in judgement.verdicts],
        "remedies": [_remedy(r) for r in remedies(judgement)] if advice else [],
        "drivers": [_driver(d) for d in drivers(judgement)] if advice else [],
        "picks": dict(judgement.picks),
        "parts": [
            {"role": p.role, "what": p.what[:400], "where": p.where[:400], "count": p.count}
            for p in judgement.parts
        ],
        "findings": [_finding(one) for one in notes],
        "curve": _curve(judgement),
    }
    return Record.model_validate(_short(made, 12))


def ledger_name(template: str, names: Mapping[str, str], row: str | None) -> str | None:
    """A published template filled in; None where this calculation's subject lacks a name."""
    try:
        return template.format_map({**names, "row": row or ""})
    except KeyError:
        return None


def _input(field: Input, reading: Reading) -> dict[str, Any]:
    entry: dict[str, Any] = {
        "text": reading.text,
        "unit": UNITS[field.unit].si if isinstance(field, (Quantity, Window)) else None,
        "origin": reading.origin,
        "of": field.of,
        "assumed": list(reading.assumed),
        "ledger": reading.ledger,
        "beside": reading.beside,
        "owner": reading.owner,
    }
    if isinstance(reading.value, Spread):
        entry |= _figure(reading.value.low, reading.value.typ, reading.value.high)
    if isinstance(field, Table) and reading.value is not None:
        entry["rows"] = [dict(row) for row in reading.value.texts]
    return entry


def _figure(low: float, typ: float, high: float) -> dict[str, float]:
    ends = {"min": low, "typ": typ, "max": high}
    return {name: end for name, end in ends.items() if math.isfinite(end)}


def _output(judgement: Judgement, out: Output) -> dict[str, Any]:
    declared = type(judgement.calculation).outputs[out.name]
    inputs = judgement.calculation.inputs
    gives = out.publishes is not None and not declared.gives_way(inputs.facts)

    def figure(one: Judged) -> dict[str, Any]:
        name = (
            ledger_name(out.publishes, inputs.names, one.row) if gives and out.publishes else None
        )
        return {**_figure(one.low, one.typ, one.high), "published": name or None}

    head = {"unit": UNITS[out.unit].si, "title": out.title, "bench": _bench(judgement, out)}
    if out.along is None:
        return {**figure(out.figures[0]), **head}
    return {**head, "rows": [{"row": one.row, **figure(one)} for one in out.figures]}


def _bench(judgement: Judgement, out: Output) -> dict[str, Any] | None:
    """What the bench measures of an output; None for nothing, for what the facts say is another
    calculation's or not on this board, and where a name in its id is not known."""
    declared, inputs = type(judgement.calculation).outputs[out.name], judgement.calculation.inputs
    bench = declared.bench
    if bench is None or declared.gives_way(inputs.facts):
        return None
    point = ledger_name(declared.point, inputs.names, bench.row)
    if point is None or (bench.when and inputs.facts(bench.when) is False):
        return None
    return {"point": point, **bench.measured(judgement, out)}


def _limit(verdict: Verdict, assumed: tuple[str, ...]) -> dict[str, Any]:
    return {
        "name": verdict.limit,
        "title": verdict.title,
        "verdict": verdict.verdict,
        "value": _finite(verdict.value),
        "bound": _finite(verdict.bound),
        "margin": _finite(verdict.margin),
        "share": _finite(verdict.share),
        "unit": UNITS[verdict.unit].si,
        "scenario": verdict.scenario or "",
        "corner": {k: v for k, v in verdict.corner.items() if math.isfinite(v)},
        "assumed": list(assumed),
        "message": verdict_sentence(verdict),
    }


def _remedy(remedy: Remedy) -> dict[str, Any]:
    return {
        "field": remedy.field,
        "intervals": [{"min": _finite(a), "max": _finite(b)} for a, b in remedy.intervals],
        "unit": UNITS[remedy.unit].si,
        "cures": list(remedy.cures),
        "owner": remedy.owner,
        "message": remedy.words,
    }


def _driver(one: Driver) -> dict[str, Any]:
    unit = UNITS[one.unit].si
    return {"limit": one.limit, "field": one.field, "gain": _finite(one.gain), "unit": unit}


def _finding(one: Finding) -> dict[str, Any]:
    kind = "fault" if one.serious else "caution"
    return {"where": one.where, "what": one.what, "cure": one.cure, "kind": kind}


def _curve(judgement: Judgement) -> dict[str, Any] | None:
    """The first curve, the points that can be evaluated."""
    from phases.kit.curves import trace

    calculation = judgement.calculation
    declared = type(calculation).curves
    traced = trace(calculation, declared[0], CURVE_POINTS) if declared else None
    if not traced:
        return None
    sides = {verdict.limit: verdict.side for verdict in judgement.verdicts}
    points = _points(traced, sides.get(traced.curve.limit or "", ""))
    if len(points) < 2:
        return None
    x, y, bound = zip(*points, strict=True)
    return {
        "title": traced.curve.title,
        "x": _short(x, 5),
        "y": _short(y, 5),
        "x_unit": UNITS[traced.x_unit].si,
        "y_unit": UNITS[traced.y_unit].si,
        "at": _short(_finite(traced.at), 5),
        "bound": _short(bound, 5) if traced.bound is not None else None,
        "log": traced.curve.log,
    }


def _points(traced: Traced, side: str) -> list[tuple[float, float, float]]:
    bounds = traced.bound or (0.0,) * len(traced.x)
    points = zip(traced.x, traced.edge(side), bounds, strict=True)
    return [point for point in points if all(map(math.isfinite, point))]


def _filled(row: Mapping[str, Any]) -> dict[str, Any]:
    """The cells that say something: a journal has no null, and no number without end."""
    return {
        name: cell
        for name, cell in row.items()
        if cell is not None and (not isinstance(cell, float) or math.isfinite(cell))
    }


def _finite(value: float | None) -> float | None:
    return value if value is not None and math.isfinite(value) else None


def _short(value: Any, digits: int) -> Any:
    """The same data with floats to so many significant digits: nobody reads the rest."""
    if isinstance(value, float):
        return float(f"{value:.{digits}g}")
    if isinstance(value, Mapping):
        return {k: _short(v, digits) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [_short(v, digits) for v in value]
    return value
