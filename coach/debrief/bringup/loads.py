"""What the board takes from each of its supplies, at first and at worst.

From the load budget where one was saved; else from the brief's loads; else an allowance.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from coach.debrief.bringup.recorded import Published, Recorded, read
from coach.debrief.bringup.sheet import BRIEF, CALCULATED, PRACTICE
from phases.kit.text import line

ALLOWANCE = 0.1
"""A small microcontroller board without radio or motors takes 100 to 200 mA (common practice)."""

_EFFICIENCY = 0.85
"""Of a converter whose current nothing gives (common practice)."""

_ONE_TO_ONE = ("none", "linear", "switch")
"""What makes a rail and takes in what it gives."""


@dataclass(frozen=True, slots=True)
class LoadOn:
    """A load of the brief on one rail. factor: of its current, what the supply has to give."""

    title: str
    kind: str
    typical: float
    peak: float
    duty: float
    always: bool
    factor: float
    left_off: bool


@dataclass(frozen=True, slots=True)
class Demand:
    """Amperes at one supply, without what is left off at first.

    idle, idle_most: of the loads that are always on, None where no load says. typical: on
    average; most: the worst case. basis, why: of typical and most. left_off: titles of the loads
    that stay disconnected at the first power-on. share: most, over what everything takes.
    """

    idle: float | None
    idle_most: float | None
    typical: float | None
    most: float
    basis: str
    why: str
    left_off: tuple[str, ...]
    share: float = 1.0


def demand_of(known: Recorded, entry: str, *, at_low: bool = False) -> Demand:
    """at_low: the supply is set to the low end of its range, where a converter takes most."""
    loads = list(_loads(known, entry))
    on = [load for load in loads if not load.left_off]
    off = [load for load in loads if load.left_off]
    always = [load for load in on if load.always]
    idle = sum(load.typical * load.factor for load in always) if always else None
    idle_most = sum(load.peak * load.factor for load in always) if always else None
    left_off = tuple(load.title for load in off)
    ground, owners = _ground_currents(known, entry)
    if idle_most is not None:
        idle_most += ground
    peak, average = (known.published.get(f"rail.{entry}.{what}") for what in ("peak", "load"))
    # Behind a converter the budget's own factor is not known: it cannot be taken out of its sum.
    if peak is not None and all(load.factor == 1.0 for load in off):
        most = _without(peak, sum(load.peak * load.factor for load in off))
        spared = sum(load.typical * load.duty * load.factor for load in off)
        typical = None
        if average is not None:
            usual = average.value.high if at_low else average.value.typ
            typical = max(usual - spared, 0.0)
        if most > 0:
            why = " and ".join((peak.owner, *owners))
            return Demand(
                idle, idle_most, typical, most + ground, CALCULATED, why, left_off,
                (most + ground) / (peak.value.high + ground),
            )  # fmt: skip
    if on:
        most = sum(load.peak * load.factor for load in on)
        typical = sum(load.typical * load.duty * load.factor for load in on)
        told = known.why_not("load-budget") if peak is None else _not_taken_out(left_off)
        why = f"the brief's loads; {told}"
        if most > 0:
            return Demand(idle, idle_most, typical, most + ground, BRIEF, why, left_off)
    bare = known.why_not("load-budget")
    if peak is not None:
        bare = _not_taken_out(left_off) if off else "no load of the brief hangs on it"
    why = f"an allowance for a small microcontroller board; {bare}"
    return Demand(None, None, None, ALLOWANCE, PRACTICE, why, left_off)


def _not_taken_out(left_off: tuple[str, ...]) -> str:
    return f"load-budget has {', '.join(left_off)} in it"


def _ground_currents(known: Recorded, entry: str) -> tuple[float, list[str]]:
    """What linear regulators take beside what they give, at the supply; which ones say so."""
    found, owners, factors = 0.0, [], factors_of(known, entry)
    for rail in known.below(entry):
        into = known.published.get(f"rail.{rail.id}.input_current")
        out = known.published.get(f"rail.{rail.id}.peak")
        if known.fact("regulator", rail.id) != "linear" or into is None or out is None:
            continue
        beside = max(into.value.high - out.value.high, 0.0) * factors.get(rail.parent, 1.0)
        if beside > 0:
            found += beside
            owners.append(into.owner)
    return found, owners


def _without(peak: Published, spared: float) -> float:
    """The worst case less what is left off; a rest of the subtraction is nothing."""
    left = peak.value.high - spared
    return left if left > peak.value.high * 1e-9 else 0.0


def _loads(known: Recorded, entry: str) -> Iterator[LoadOn]:
    factors = factors_of(known, entry)
    tables = {load.id: load for load in known.state.setup.brief.loads}
    for load in known.subjects("load"):
        factor = factors.get(load.parent)
        if factor is None:
            continue
        table = tables.get(load.id)
        typical = known.given(f"load.{load.id}.typical", "A")
        peak = known.given(f"load.{load.id}.peak", "A")
        if typical is None and peak is None:
            continue
        count = table.count if table else 1
        duty = read(table.duty, "%") if table else None
        share = duty.typ if duty else 1.0
        kind = str(known.fact("load_kind", load.id) or "")
        switched = known.fact("switched", load.id) is True
        most = max(peak.high if peak else 0.0, typical.high if typical else 0.0)
        yield LoadOn(
            title=line(load.title), kind=kind, typical=count * (typical.typ if typical else most),
            peak=count * most, duty=share, always=share >= 0.5 and not switched, factor=factor,
            left_off=_stays_off(known, kind, switched),
        )  # fmt: skip


def _stays_off(known: Recorded, kind: str, switched: bool) -> bool:
    """Whether a load is disconnected at the first power-on: a motor, a valve, a heater."""
    power = known.fact("power_outputs") is True
    return kind == "inductive" or (kind == "resistive" and switched and power)


def factors_of(known: Recorded, entry: str) -> dict[str, float]:
    """For each rail of this supply, the amperes it takes for one ampere of the rail."""
    found = {entry: 1.0}
    for rail in known.below(entry):
        if rail.parent not in found or rail.id == entry:
            continue
        kind = known.fact("regulator", rail.id)
        ratio = 1.0
        if kind is not None and kind not in _ONE_TO_ONE:
            out, into = known.window(rail.id), known.window(rail.parent)
            if out is not None and into is not None and into.low > 0:
                ratio = out.high / (into.low * _EFFICIENCY)
        found[rail.id] = found[rail.parent] * ratio
    return found
