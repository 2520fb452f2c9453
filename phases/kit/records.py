"""A judgement as plain data: the command line's answer, and the record a journal keeps.

The record can be retold without computing anything: inputs as typed and as read, outputs,
verdicts with value, bound, margin and corner, remedies and drivers in words, parts, findings,
published names, a short curve. Numbers are SI (°C for temperatures).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from phases.kit.bounds import FAIL, MARGINAL, NOT_APPLICABLE, PASS, Finding
from phases.kit.curves import Traced, trace
from phases.kit.drivers import Driver, drivers
from phases.kit.fields import Field, Quantity, Table, Window
from phases.kit.inputs import Reading
from phases.kit.judging import Figure, Judgement, Output, Verdict
from phases.kit.remedies import Remedy, remedies
from phases.kit.sentences import verdict_sentence
from phases.kit.spread import Spread
from phases.kit.units import UNITS

CURVE_POINTS = 33


def plain(judgement: Judgement, *, advice: bool = True) -> dict[str, Any]:
    """Everything a judgement says, with None where there is nothing to say.

    advice: also remedies, drivers and the later listings, which take longer than the verdicts.
    """
    kind = type(judgement.calculation)
    listings = {**judgement.listings, **(judgement.later_listings() if advice else {})}
    return {
        "calculator": kind.name,
        "version": kind.version,
        "verdict": judgement.verdict,
        "inputs": {r.field: _input(kind.fields[r.field], r) for r in judgement.readings},
        "outputs": {
            **{o.name: _output(o) for o in judgement.outputs},
            **{name: {"rows": rows} for name, rows in listings.items()},
        },
        "limits": [_limit(v) for v in judgement.verdicts],
        "remedies": [_remedy(r) for r in remedies(judgement)] if advice else [],
        "drivers": [_driver(d) for d in drivers(judgement)] if advice else [],
        "picks": dict(judgement.picks),
        "parts": [
            {"role": p.role, "what": p.what, "where": p.where, "count": p.count}
            for p in judgement.parts
        ],
        "findings": [_finding(f) for v in judgement.verdicts for f in v.findings]
        + [_finding(f) for f in judgement.notes],
    }


def record(judgement: Judgement, subject: str, *, advice: bool = True) -> dict[str, Any]:
    """The record for a journal: what `plain` says without its empty places; what it published.

    advice: also remedies and drivers, which take several times as long as the verdicts.
    """
    calculation = judgement.calculation
    kept = plain(judgement, advice=advice)
    kept["subject"] = subject
    for remedy in kept["remedies"]:  # by name, because an open end is left out of a journal
        remedy["intervals"] = [{"min": low, "max": high} for low, high in remedy["intervals"]]
    kept["published"] = {
        name: [spread.low, spread.typ, spread.high] for name, spread in published(judgement).items()
    }
    if type(calculation).curves:
        traced = trace(calculation, type(calculation).curves[0], CURVE_POINTS)
        if traced:
            sides = {verdict.limit: verdict.side for verdict in judgement.verdicts}
            kept["curve"] = _curve(traced, sides.get(traced.curve.limit or "", ""))
    without: dict[str, Any] = without_nothing(_short(kept, 12))
    return without


def _curve(traced: Traced, side: str) -> dict[str, Any]:
    """The edge of a curve's band that meets its limit first, where it can be evaluated.

    With the limit's bound along x where one is drawn in, where the calculation stands, and
    whether x is logarithmic.
    """
    edge = traced.edge(side)
    bounds = traced.bound or (0.0,) * len(traced.x)
    points = [p for p in zip(traced.x, edge, bounds, strict=True) if all(map(math.isfinite, p))]
    kept = {
        "title": traced.curve.title,
        "x": _short([x for x, _, _ in points], 5), "y": _short([y for _, y, _ in points], 5),
        "x_unit": UNITS[traced.x_unit].si, "y_unit": UNITS[traced.y_unit].si,
        "at": _short(traced.at, 5),
    }  # fmt: skip
    if traced.bound is not None:
        kept["bound"] = _short([bound for _, _, bound in points], 5)
    if traced.curve.log:
        kept["log"] = True
    return kept


def _short(value: Any, digits: int) -> Any:
    """The same data with floats to so many significant digits: nobody reads the rest."""
    if isinstance(value, float):
        return float(f"{value:.{digits}g}")
    if isinstance(value, Mapping):
        return {k: _short(v, digits) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [_short(v, digits) for v in value]
    return value


def published(judgement: Judgement) -> dict[str, Spread]:
    """The ledger names this judgement gives a number to, filled with its subject's names.

    Without those that its subject's facts leave to another calculation.
    """
    calculation = judgement.calculation
    names, facts = calculation.inputs.names, calculation.inputs.facts
    found = {}
    for out in judgement.outputs:
        if out.publishes and not type(calculation).outputs[out.name].gives_way(facts):
            for figure in out.figures:
                name = ledger_name(out.publishes, names, figure.row)
                if name and all(map(math.isfinite, (figure.low, figure.typ, figure.high))):
                    found[name] = figure.spread
    return found


def ledger_name(template: str, names: Mapping[str, str], row: str | None) -> str | None:
    """A published template filled in; None where this calculation's subject lacks a name."""
    try:
        return template.format_map({**names, "row": row or ""})
    except KeyError:
        return None


def without_nothing(value: Any) -> Any:
    """The same data without keys that hold None: TOML has no null."""
    if isinstance(value, Mapping):
        return {k: without_nothing(v) for k, v in value.items() if v is not None}
    if isinstance(value, (list, tuple)):
        return [without_nothing(v) for v in value if v is not None]
    return value


def in_shape(record: Mapping[str, Any]) -> bool:
    """Whether a record read from a journal can be retold: what nobody's calculator wrote is not."""
    return (
        all(isinstance(record.get(key), str) for key in ("calculator", "subject"))
        and record.get("verdict") in _VERDICTS
        and _tables(record.get("limits"), "name", "verdict")
        and all(entry["verdict"] in _VERDICTS for entry in record["limits"])
        and _tables(record.get("parts", []), "role", "what", "where")
        and _tables(record.get("findings", []), "where", "what")
        and all(isinstance(record.get(key, {}), Mapping) for key in ("inputs", "outputs"))
        and _numbers(record.get("published", {}))
    )


_VERDICTS = (PASS, MARGINAL, FAIL, NOT_APPLICABLE)


def _tables(value: Any, *texts: str) -> bool:
    return isinstance(value, (list, tuple)) and all(
        isinstance(one, Mapping) and all(isinstance(one.get(key), str) for key in texts)
        for one in value
    )


def _numbers(published: Any) -> bool:
    """Names, each with three finite numbers."""
    return isinstance(published, Mapping) and all(
        isinstance(spread, (list, tuple)) and len(spread) == 3
        and all(isinstance(n, (int, float)) and math.isfinite(n) for n in spread)
        for spread in published.values()
    )  # fmt: skip


def number(value: float) -> float | None:
    """A finite number, else None: JSON knows neither NaN nor infinity."""
    return value if math.isfinite(value) else None


def _input(field: Field, reading: Reading) -> dict[str, Any]:
    entry: dict[str, Any] = {
        "text": reading.text, "min": None, "typ": None, "max": None,
        "unit": UNITS[field.unit].si if isinstance(field, (Quantity, Window)) else None,
        "origin": reading.origin, "ledger": reading.ledger, "beside": reading.beside,
        "owner": reading.owner,
    }  # fmt: skip
    if isinstance(reading.value, Spread):
        low, typ, high = reading.value.low, reading.value.typ, reading.value.high
        entry |= {"min": number(low), "typ": number(typ), "max": number(high)}
    if isinstance(field, Table) and reading.value is not None:
        entry["rows"] = [dict(row) for row in reading.value.texts]
    return entry


def _figure(figure: Figure) -> dict[str, Any]:
    return {
        "min": number(figure.low), "typ": number(figure.typ), "max": number(figure.high),
    }  # fmt: skip


def _output(out: Output) -> dict[str, Any]:
    unit = UNITS[out.unit].si
    if out.along is None:
        return {**_figure(out.figures[0]), "unit": unit, "title": out.title}
    rows = [{"row": f.row, **_figure(f)} for f in out.figures]
    return {"min": None, "typ": None, "max": None, "unit": unit, "title": out.title, "rows": rows}


def _limit(verdict: Verdict) -> dict[str, Any]:
    return {
        "name": verdict.limit,
        "verdict": verdict.verdict,
        "value": number(verdict.value),
        "bound": number(verdict.bound),
        "margin": number(verdict.margin),
        "unit": UNITS[verdict.unit].si,
        "scenario": verdict.scenario,
        "share": number(verdict.share),
        "corner": dict(verdict.corner) or None,
        "says": verdict_sentence(verdict),
    }


def _remedy(remedy: Remedy) -> dict[str, Any]:
    return {
        "field": remedy.field,
        "intervals": [[number(low), number(high)] for low, high in remedy.intervals],
        "unit": UNITS[remedy.unit].si,
        "cures": list(remedy.cures),
        "owner": remedy.owner,
        "says": remedy.words,
    }


def _driver(driver: Driver) -> dict[str, Any]:
    return {
        "limit": driver.limit, "field": driver.field, "gain": number(driver.gain),
        "unit": UNITS[driver.unit].si,
    }  # fmt: skip


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "where": finding.where, "what": finding.what, "cure": finding.cure,
        "kind": "fault" if finding.serious else "caution",
    }  # fmt: skip
