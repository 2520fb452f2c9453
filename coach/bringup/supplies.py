"""Each supply of the board: what the board takes of it, what to set on the bench supply, and what
the points that depend on it should then show."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from functools import partial

from coach.bringup.board_under_test import Board, Figure
from coach.bringup.sheet import BRIEF, CALCULATED, NOTHING, PRACTICE
from phases.kit.expected import Expected, in_words
from phases.kit.notation import read_quantity
from phases.kit.spread import Spread
from phases.kit.text import one_line

MARGIN = 0.05
"""Above the worst case: the limit is set 50 to 100 mA above it (common practice)."""

ALLOWANCE = 0.1
"""A small microcontroller board without radio or motors takes 100 to 200 mA (common practice)."""

_STEPS = ((0.01, 0.001), (1.0, 0.01), (math.inf, 0.1))
"""Up to which current a bench supply is set in which steps (common practice)."""

_NARROW = 0.12
"""Share of the middle up to which a window is one nominal voltage and not a range."""

_LEADS = 0.05
"""Of the voltage set: display of the supply and drop of its leads (common practice)."""

_EFFICIENCY = 0.85
"""Of a converter whose current nothing gives (common practice)."""

_ONE_TO_ONE = (None, "none", "linear", "switch")
"""What makes a rail and takes in what it gives."""

_MICROAMPERES = 1e-3
"""Current below which a meter is on a range whose burden voltage counts (common practice)."""


# ---- what the board takes --------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Load:
    """A load as its supply sees it: amperes there. converted: behind a converter, which takes
    another current than it gives. left_off: disconnected at the first power-on."""

    title: str
    typical: float
    peak: float
    average: float
    always_on: bool
    left_off: bool
    converted: bool


@dataclass(frozen=True, slots=True)
class Demand:
    """Amperes at one supply, without what is left off at first. idle, idle_most: of the loads that
    are always on, None where no load is. average: None where it is not known. most: at worst."""

    idle: float | None
    idle_most: float
    average: float | None
    most: float
    basis: str
    why: str
    left_off: str


def demand_of(board: Board, entry: str, *, at_low: bool) -> Demand:
    """From what a calculation gives as the current of the rail; else from the brief's loads; else
    an allowance. at_low: the supply is set to the low end of its range, where a converter takes
    most."""
    loads = list(_loads(board, entry))
    on, off = [one for one in loads if not one.left_off], [one for one in loads if one.left_off]
    left_off, always = ", ".join(one.title for one in off), [one for one in on if one.always_on]
    ground, owners = _ground_currents(board, entry)
    idle = sum(one.typical for one in always) if always else None
    idle_most = sum(one.peak for one in always) + ground
    peak, usual = (board.calculated.get(f"rail.{entry}.{what}") for what in ("peak", "load"))
    # What a converter takes for a load is not known so well that it could be taken out of a sum.
    if peak and not any(one.converted for one in off):
        average, most = None, peak.spread.high - sum(one.peak for one in off)
        if usual:
            taken = usual.spread.high if at_low else usual.spread.typ
            average = max(taken - sum(one.average for one in off), 0.0)
        if most > peak.spread.high * 1e-9:  # else a rest of the subtraction
            why = " and ".join((peak.why, *owners))
            return Demand(idle, idle_most, average, most + ground, CALCULATED, why, left_off)
    said = "no calculation gives the current"
    if peak:
        said = f"{peak.why} has {left_off} in it" if off else "it has no load in the brief"
    most, average = sum(one.peak for one in on), sum(one.average for one in on)
    if most > 0:
        why = f"the brief's loads; {said}"
        return Demand(idle, idle_most, average, most + ground, BRIEF, why, left_off)
    why = f"an allowance for a small microcontroller board; {said}"
    return Demand(None, ALLOWANCE, None, ALLOWANCE, PRACTICE, why, left_off)


def _ground_currents(board: Board, entry: str) -> tuple[float, list[str]]:
    """What regulators take beside what they give, at the supply; which ones say so."""
    found, owners, factors = 0.0, [], factors_of(board, entry)
    for rail in factors:
        if given := board.calculated.get(f"rail.{rail}.ground_current"):
            found += given.spread.high * factors.get(board.state.subjects[rail].parent, 1.0)
            owners.append(given.why)
    return found, owners


def _loads(board: Board, entry: str) -> Iterator[_Load]:
    factors, power = factors_of(board, entry), board.fact("power_outputs") is True
    tables = {load.id: load for load in board.state.setup.brief.loads}
    for load in board.subjects("load"):
        subject, table = board.state.subjects[load], tables.get(load)
        typical, peak = (board.brief(f"load.{load}.{what}", "A") for what in ("typical", "peak"))
        if subject.parent not in factors or not (typical or peak):
            continue
        times = factors[subject.parent] * (table.count if table else 1)
        share = read_quantity(table.duty, "%").typ if table else 1.0
        most = max(one.spread.high for one in (typical, peak) if one)
        usual = typical.spread.typ if typical else most
        kind, switched = board.fact("load_kind", load), board.fact("switched", load) is True
        yield _Load(
            title=one_line(subject.title),
            typical=times * usual,
            peak=times * most,
            average=times * usual * share,
            always_on=share >= 0.5 and not switched,
            # A motor, a valve, a heater.
            left_off=kind == "inductive" or (kind == "resistive" and switched and power),
            converted=factors[subject.parent] != 1.0,
        )


def factors_of(board: Board, entry: str) -> dict[str, float]:
    """For each rail of this supply, the amperes it takes for one ampere of the rail."""
    found = {entry: 1.0}
    for rail in board.below(entry)[1:]:
        parent = board.state.subjects[rail].parent
        out, into = (board.brief(f"rail.{one}.window", "V") for one in (rail, parent))
        found[rail] = found[parent]
        converts = board.fact("regulator", rail) not in _ONE_TO_ONE
        if converts and out and into and into.spread.low > 0:
            found[rail] *= out.spread.high / (into.spread.low * _EFFICIENCY)
    return found


# ---- what to set -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Supply:
    """One supply of the board, at the rail it feeds."""

    rail: str
    window: Spread | None
    at_low: bool
    """Its window is a range without a nominal voltage: the low end comes first."""
    set_at: float | None
    """Volts to set."""
    demand: Demand
    limit: float
    """Amperes to set."""
    cap: float | None
    """What the limit may not exceed, and whose rating that is."""
    cap_why: str


def supply_of(board: Board, entry: str) -> Supply:
    given = board.brief(f"rail.{entry}.window", "V")
    window, at_low, set_at = given.spread if given else None, False, None
    if window:
        middle = (window.low + window.high) / 2
        narrow = window.high - window.low <= 2 * _NARROW * middle
        at_low = not narrow and abs(window.typ - middle) <= 1e-9 * middle
        set_at = window.low if at_low else window.typ
    demand = demand_of(board, entry, at_low=at_low)
    cap, cap_why = _cap(board, entry)
    limit = settable(demand.most + MARGIN)
    if cap and limit > cap:
        limit = settable(cap, down=True)
    return Supply(entry, window, at_low, set_at, demand, limit, cap, cap_why)


def _cap(board: Board, entry: str) -> tuple[float | None, str]:
    """The least of what source and fuse can give, and whose it is."""
    first = entry == board.entries[0]
    rated = board.brief(f"rail.{entry}.rating", "A") or (
        board.brief("source.current", "A") if first else None
    )
    allowed = board.calculated.get("source.allowed") if first else None
    fuse = board.calculated.get(f"rail.{entry}.fuse_hold")
    found = [
        (one.spread.low, why + (f", {one.why}" if one is not rated else ", brief"))
        for one, why in (
            (allowed, "the source allows"),
            (rated, "the source is rated at"),
            (fuse, "the fuse holds"),
        )
        if one and one.spread.low > 0
    ]
    return min(found, default=(None, ""))


def settable(current: float, *, down: bool = False) -> float:
    """A current as a bench supply can be set: upwards, or downwards where it is a limit."""
    step = Decimal(str(next(step for most, step in _STEPS if current <= most)))
    steps = Decimal(f"{current:.12g}") / step
    whole = steps.to_integral_value(ROUND_FLOOR if down else ROUND_CEILING)
    return float(whole * step) or current


# ---- what its points show --------------------------------------------------------------------


def _resistance(board: Board, rail: str) -> Figure:
    """Below the rail's highest voltage over what the limit leaves it, the supply would limit."""
    entry = next(one for one in board.entries if rail in board.below(one))
    supply, voltage = supply_of(board, entry), board.value(f"rail.{rail}.voltage", "V")
    volts = supply.set_at if rail == entry else voltage.spread.high if voltage else None
    if volts is None:
        return Figure(Expected(unit="Ω", words="no short"), NOTHING)
    factor = factors_of(board, entry)[rail]
    names = {"volts": in_words(volts, "V", 3), "amps": in_words(supply.limit, "A", 3)}
    if factor != 1.0:
        names["behind"] = in_words(supply.limit / factor, "A", 3)
    expected = Expected.within(volts * factor / supply.limit, None, None, "Ω")
    return Figure(expected, supply.demand.basis, names=names)


def _limit(board: Board, rail: str) -> Figure:
    supply = supply_of(board, rail)
    top = supply.cap if supply.cap and supply.cap >= supply.limit else None
    low = min(supply.demand.most, supply.limit)
    expected = Expected.within(low, supply.limit, top, "A")
    return Figure(expected, supply.demand.basis, supply.demand.why)


def _first_voltage(board: Board, rail: str) -> Figure:
    """Its own rail, once it is on: what was set, less what is lost on the way in."""
    supply = supply_of(board, rail)
    if not supply.at_low or supply.set_at is None:
        return board.figure(f"rail.{rail}.voltage", "V")
    ohms, drop = (board.calculated.get(f"rail.{rail}.way_{of}") for of in ("resistance", "drop"))
    lost, names = 0.0, {}
    if ohms and drop:
        lost = max(drop.spread.high + ohms.spread.high * supply.demand.most, 0.0)
        names["lost"] = f"{in_words(lost, 'V', 3)} on the way ({ohms.why})"
    low, high = supply.set_at * (1 - _LEADS) - lost, supply.set_at * (1 + _LEADS)
    why, basis = "what was set, within 5 % for display and leads", CALCULATED if lost else PRACTICE
    return Figure(Expected.within(low, supply.set_at, high, "V"), basis, why, names)


def _current(board: Board, rail: str, of: str) -> Figure | None:
    demand = supply_of(board, rail).demand
    typical, most = {"idle": demand.idle, "average": demand.average}.get(of), demand.most
    basis, why = demand.basis, f"at most the worst case: {demand.why}"
    if of != "idle" and demand.average is None:
        return None
    if of == "idle" and typical is None:
        why += "; the brief names no load that is always on"
    elif of == "idle":
        most, basis = demand.idle_most, BRIEF
        why = "the loads that are always on; an erased part takes less"
    small = typical is not None and 0 < typical < _MICROAMPERES
    names = {"microampere": "microampere"} if small else {}
    return Figure(Expected.within(None, typical, most, "A"), basis, why, names)


def names_of(board: Board, rail: str) -> dict[str, str]:
    """What the words of the points of a supply may name."""
    supply = supply_of(board, rail)
    demand, limit, volts, window = supply.demand, supply.limit, supply.set_at, supply.window
    there = ((one, board.state.subjects[one]) for one in board.subjects("connector"))
    ways = (one for one, at in there if at.parent == rail and board.fact("carries_supply", one))
    names = {
        "volts": in_words(volts, "V", 3) or "the voltage of the brief",
        "amps": in_words(limit, "A", 3),
        "top": in_words(window.high if window else None, "V", 3),
        "left_off": demand.left_off,
        "worst": in_words(demand.most, "A", 4),
        "ways": ", ".join(ways) or "at the supply's connector",
        "others": ", ".join(one for one in board.entries if one != rail),
    }
    if limit < settable(demand.most + MARGIN):
        tight = "; it may stay in limit at full load" if demand.most > (supply.cap or 0.0) else ""
        names["held"] = f"what {supply.cap_why}{tight}"
    else:
        names["margin"] = in_words(MARGIN, "A")
    battery = board.fact("battery_kind") if rail == board.entries[0] else None
    if battery not in (None, "none"):
        names["ways"] = "in place of the cell"
    farads = board.calculated.get(f"rail.{rail}.capacitance")
    if farads and volts and farads.spread.high > 0:
        names["farads"] = f"{in_words(farads.spread.high, 'F', 2)} ({farads.why})"
        names["lasts"] = in_words(farads.spread.high * volts / limit, "s", 2)
    if battery == "coin-cell" and volts:
        names["cell_ohms"] = in_words(volts / limit, "Ω", 2)
    elif supply.at_low:
        names["range"] = f"{names['volts']} .. {names['top']}"
    return names


def _debug_clock(board: Board, _: str) -> Figure:
    clock = board.calculated.get("board.debug_clock")
    return Figure(names={"debug_clock": in_words(clock.spread.low, "Hz", 2)} if clock else {})


FIGURES: dict[str, Callable[[Board, str], Figure | None]] = {
    "resistance": _resistance,
    "limit": _limit,
    "first voltage": _first_voltage,
    "one of several": lambda board, _: Figure() if len(board.entries) > 1 else None,
    "the only one": lambda board, _: Figure() if len(board.entries) == 1 else None,
    "idle": partial(_current, of="idle"),
    "average": partial(_current, of="average"),
    "worst": partial(_current, of="worst"),
    "high end": lambda board, rail: Figure() if supply_of(board, rail).at_low else None,
    "debug clock": _debug_clock,
}
"""By the name that a point of `points.toml` gives; None where the board has no such point."""
