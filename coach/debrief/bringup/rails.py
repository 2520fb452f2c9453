"""Voltage, supply current and ripple: what calculations or the brief say of each rail."""

from __future__ import annotations

from collections.abc import Iterator

from coach.debrief.bringup.figures import outward, value_words
from coach.debrief.bringup.recorded import Recorded, named
from coach.debrief.bringup.sheet import BRIEF, CALCULATED, NOTHING, PRACTICE, Expected, Step
from coach.debrief.bringup.supplies import Feed, ends_of, entry_expected
from coach.sprint.board import open_essentials
from coach.sprint.brief.document import Subject
from phases.kit.text import line

_MADE_BY = {
    "linear": "linear-regulator",
    "switching": "step-down",
    "none": "drop-chain",
    "switch": "load-switch",
}


def voltage_steps(known: Recorded, feeds: list[Feed]) -> Iterator[Step]:
    for feed in feeds:
        for rail in known.below(feed.rail.id):
            yield _voltage(known, feed, rail)


def _voltage(known: Recorded, feed: Feed, rail: Subject) -> Step:
    kind = str(known.fact("regulator", rail.id) or "")
    computed = known.published.get(f"rail.{rail.id}.voltage")
    window, missing = known.window(rail.id), ""
    if rail.id == feed.rail.id:
        expected, basis, why = entry_expected(known, feed)
    elif computed is not None:
        expected, basis, why = ends_of(computed.value), CALCULATED, computed.owner
        if computed.fails:
            why += ", which fails: see what it says first"
    elif window is not None:
        expected, basis = ends_of(window), BRIEF
        maker = _MADE_BY.get(kind, "")
        gone = f"; {known.why_not(maker, rail.id)}" if maker and kind != "switch" else ""
        why = f"the window of the brief{gone}"
    else:
        expected, basis, why = Expected(unit="V"), NOTHING, ""
    if basis == NOTHING:
        missing = f"Neither a calculation nor the brief gives a voltage of {rail.id}"
    return Step(
        f"rail.{rail.id}.voltage", "voltage", named(rail), _what_to_do(feed, rail, kind),
        expected, f"test point or output capacitor of {rail.id}, to ground beside it", "voltmeter",
        basis, why, caution=_caution(kind), missing=missing,
        first=_look_first(known, rail, kind),
    )  # fmt: skip


def _what_to_do(feed: Feed, rail: Subject, kind: str) -> str:
    if rail.id == feed.rail.id:
        return "Output on; measure at once, watch the current"
    if kind == "switch":
        return "Switch it on (firmware, or its enable by hand), then measure"
    return f"Measure; off again if {rail.parent} sags"


def _caution(kind: str) -> str:
    if kind == "switching":
        return "A slipped probe at the switching node kills the part: clip on with power off."
    return ""


def _look_first(known: Recorded, rail: Subject, kind: str) -> str:
    """What to look at first where a rail is wrong: what the sprint left open there, then the
    usual causes."""
    still = [line(row.item.statement) for row in open_essentials(known.state)
             if row.subject == rail.id][:1]  # fmt: skip
    usual = {
        "linear": f"the regulator's part number and pins, a bridge at {rail.id}, "
        f"whether {rail.parent} stands",
        "switching": f"the divider, the enable level, the coil's joints, whether {rail.parent} "
        "stands",
        "switch": "the enable level, the switch's pins, the load behind it",
    }.get(kind, f"the way from {rail.parent or 'the connector'}: fuse, blocking part, bead, joints")
    return f"Still open: {still[0]}. Then {usual}" if still else _sentence(usual)


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]


# ---- current ---------------------------------------------------------------------------------


def current_steps(known: Recorded, feeds: list[Feed]) -> Iterator[Step]:
    for feed in feeds:
        yield from _currents(known, feed)


def _currents(known: Recorded, feed: Feed) -> Iterator[Step]:
    rail, demand = feed.rail, feed.demand
    name, where = named(rail), "the bench supply's display, or an ammeter in its lead"
    off = f", without {', '.join(demand.left_off)}" if demand.left_off else ""
    first = "The hottest part first; then each rail's resistance to ground again, unpowered"
    if demand.idle is None or demand.idle_most is None:
        yield Step(
            f"supply.{rail.id}.idle", "current", f"{name}, idle", f"Read it, nothing running{off}",
            Expected(None, None, outward(None, demand.most)[1], "A"), where, "ammeter",
            demand.basis, f"at most the worst case ({demand.why})",
            missing="The brief names no load that is always on", first=first,
        )  # fmt: skip
    else:
        yield Step(
            f"supply.{rail.id}.idle", "current", f"{name}, idle", f"Read it, nothing running{off}",
            Expected(None, demand.idle, outward(None, demand.idle_most)[1], "A"), where, "ammeter",
            BRIEF, "the loads that are always on; an erased part takes less",
            _burden(demand.idle), first=first,
        )  # fmt: skip
    if demand.typical is not None:
        yield from _in_use(feed, name, where, off, first)
    if feed.at_low and feed.window is not None:
        top = value_words(feed.window.high, "V", 3)
        yield Step(
            f"supply.{rail.id}.high-end", "current", f"{name}, raised to {top}",
            f"Raise it slowly; every rail again at {top}{off}",
            Expected(words="every rail stays inside"), "each rail", "voltmeter", BRIEF,
            "the high end of the window", first="Whatever moved with the supply",
        )  # fmt: skip


def _in_use(feed: Feed, name: str, where: str, off: str, first: str) -> Iterator[Step]:
    rail, demand = feed.rail, feed.demand
    assert demand.typical is not None
    high = outward(None, demand.most)[1]
    yield Step(
        f"supply.{rail.id}.typical", "current", f"{name}, in use",
        f"Read it with the firmware at its usual work, on average{off}",
        Expected(None, demand.typical, high, "A"), where, "ammeter", demand.basis,
        f"average and worst case: {demand.why}", first=first, caution=_burden(demand.typical),
    )  # fmt: skip
    yield Step(
        f"supply.{rail.id}.worst", "current", f"{name}, everything at once",
        f"Switch everything on that can be on together{off}",
        Expected(None, None, high, "A"), where, "ammeter", demand.basis,
        f"worst case: {demand.why}", first=first,
    )  # fmt: skip


def _burden(current: float) -> str:
    if 0 < current < 1e-3:
        return (
            "A meter on a microampere range drops the board's voltage when it wakes: bridge it "
            "until the board sleeps."
        )
    return ""


# ---- ripple ----------------------------------------------------------------------------------


def ripple_steps(known: Recorded) -> Iterator[Step]:
    for rail in known.rails:
        kind = known.fact("regulator", rail.id)
        if kind in ("linear", "switching"):
            yield _ripple(known, rail, str(kind))


def _ripple(known: Recorded, rail: Subject, kind: str) -> Step:
    step, title, do = f"rail.{rail.id}.ripple", named(rail), "Peak to peak, at full load"
    where, tool = f"output capacitor of {rail.id}", "oscilloscope, AC coupled, probe 10:1"
    found = known.published.get(step)
    first = "The output capacitor: value, joints, series resistance; then the probe's ground lead"
    if found is not None:
        high = outward(None, found.value.high)[1]
        expected = Expected(None, found.value.typ, high, "V")
        return Step(step, "ripple", title, do, expected, where, tool, CALCULATED, found.owner,
                    "Spikes of the edges come on top, and are mostly the probe's own.",
                    first=first)  # fmt: skip
    if kind == "switching":
        missing = f"No calculation gave the {rail.id} ripple: {known.why_not('step-down', rail.id)}"
        return Step(step, "ripple", title, do, Expected(None, None, None, "V"), where, tool,
                    NOTHING, missing=missing, first=first)  # fmt: skip
    saved = known.of("output-capacitor", rail.id)
    steady = (
        f"{saved[0].id} says where its capacitor is stable"
        if saved
        else f"No calculation gave the {rail.id} ripple: "
        f"{known.why_not('output-capacitor', rail.id)}"
    )
    return Step(
        step, "ripple", title, do,
        Expected(None, None, None, "V", "a few millivolts, no sine"), where, tool, PRACTICE,
        "A linear regulator that swings is not stable with its capacitor"
        + (f"; {steady}" if saved else ""),
        missing="" if saved else steady, first=first,
    )  # fmt: skip
