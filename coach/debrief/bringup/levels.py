"""Reset, straps, outputs in reset, and clocks."""

from __future__ import annotations

from collections.abc import Iterator

from coach.debrief.bringup.figures import outward, value_words
from coach.debrief.bringup.recorded import Recorded, bound, named, output, row, typed
from coach.debrief.bringup.sheet import BRIEF, CALCULATED, NOTHING, PRACTICE, Expected, Step
from coach.debrief.bringup.supplies import ends_of
from coach.sprint.brief.document import Subject
from coach.sprint.state import Saved
from phases.kit.spread import Spread
from phases.kit.text import line

HIGH_SHARE = 0.7
"""Of the supply, above which a CMOS input reads high (common practice)."""

_RELEASED = "reset released"


def high_level(rail: Spread) -> Expected:
    """What a line pulled up to a rail should be at: that voltage, and a high level in any case."""
    low, top = outward(HIGH_SHARE * rail.low, rail.high)
    return Expected(low, rail.typ, top, "V")


def level_steps(known: Recorded) -> Iterator[Step]:
    yield _reset(known)
    yield from _straps(known)
    for saved in known.of("load-switch"):
        yield from _off_in_reset(saved)


def _reset(known: Recorded) -> Step:
    rail = known.state.mcu_rail()
    voltage = known.voltage(rail)
    first = "The pull-up, the button's contacts (footprint turned?), the adapter holding it low"
    do, where = "Measure released; press reset and let go", "reset pin, button or debug connector"
    if voltage is None:
        return Step("reset.level", "level", "Reset, released", do, Expected(unit="V"), where,
                    "voltmeter", NOTHING, missing=f"No voltage of rail {line(rail)} is known",
                    first=first)  # fmt: skip
    return Step(
        "reset.level", "level", "Reset, released", do, high_level(voltage), where, "voltmeter",
        PRACTICE, f"pulled up to {rail}; a high level is 0.7 of the supply or more", first=first,
    )  # fmt: skip


def _straps(known: Recorded) -> Iterator[Step]:
    saved = known.of("strap")
    for one in saved:
        yield _strap(one)
    if not saved and known.fact("strap_pins") is True:
        yield Step(
            "strap.level", "level", "Boot and strap pins", "Measure each in reset and after it",
            Expected(unit="V"), "each strap pin", "voltmeter", NOTHING,
            missing=f"No calculation gave their levels: {known.why_not('strap')}",
            first="The strap resistor: value, fitted at all, on the right net",
        )  # fmt: skip


def _strap(saved: Saved) -> Step:
    pin, wanted = typed(saved, "pin") or "strap pin", typed(saved, "level")
    figure = row(saved, "V_pin", _RELEASED)
    edge = bound(saved, "level", _RELEASED)
    step, title = f"{saved.id}.level", f"{pin}, {wanted}".rstrip(", ")
    do, first = "Measure in reset and after it", f"The resistor at {pin}, and what else is on it"
    if figure is None or edge is None or wanted not in ("low", "high"):
        return Step(step, "level", title, do, Expected(unit="V", words=wanted), pin, "voltmeter",
                    NOTHING, missing=f"{line(saved.id)} keeps no level to expect",
                    first=first)  # fmt: skip
    low, high = (None, edge) if wanted == "low" else (edge, None)
    # The edge is where the level stops being sure: rounded to the safe side, not outwards.
    low, high = _inward(low, high)
    computed = f"{value_words(figure.low, 'V', 3)} .. {value_words(figure.high, 'V', 3)}"
    return Step(
        step, "level", title, do, Expected(low, figure.typ, high, "V"), pin, "voltmeter",
        CALCULATED, f"{saved.id}: {computed}, and {wanted} up to {value_words(edge, 'V', 3)}"
        if wanted == "low" else f"{saved.id}: {computed}, and high from "
        f"{value_words(edge, 'V', 3)}", first=first,
    )  # fmt: skip


def _inward(low: float | None, high: float | None) -> tuple[float | None, float | None]:
    """Ends to three digits, towards the middle."""
    if high is not None:
        wide = outward(high, None)[0]
        return None, wide
    wide = outward(None, low)[1]
    return wide, None


def _off_in_reset(saved: Saved) -> Iterator[Step]:
    figure = output(saved, "V_reset")
    subject = line(saved.subject)
    if figure is None or not subject:
        return
    edge = bound(saved, "off-in-reset")
    high = outward(edge, None)[0] if edge is not None else outward(None, figure.high)[1]
    until = value_words(edge, "V", 3) if edge is not None else ""
    yield Step(
        f"load.{subject}.gate-in-reset", "level", f"Gate of {subject}, held in reset",
        "Hold reset; measure gate to source before its load is connected",
        Expected(None, figure.typ, high, "V"), f"gate of the switch of {subject}", "voltmeter",
        CALCULATED, f"{saved.id}" + (f": off up to {until}" if until else ""),
        "Its load stays disconnected until this is right.",
        first="The gate's pull-down, and the pin that drives it while the part is erased",
    )  # fmt: skip


# ---- clocks ----------------------------------------------------------------------------------


def clock_steps(known: Recorded) -> Iterator[Step]:
    for clock in known.subjects("clock"):
        yield _clock(known, clock)


def _clock(known: Recorded, clock: Subject) -> Step:
    frequency = known.given(f"clock.{clock.id}.frequency", "Hz")
    tolerance = known.given(f"clock.{clock.id}.tolerance", "ppm")
    computed = known.published.get(f"clock.{clock.id}.frequency")
    kind, missing = known.fact("clock_kind", clock.id), ""
    expected, basis, why = Expected(unit="Hz"), NOTHING, ""
    if computed is not None:
        expected, basis = ends_of(computed.value, "Hz", 6), CALCULATED
        why = computed.owner
    elif frequency is not None and tolerance is not None:
        # As it stands in the brief: the ends of a tolerance are not rounded any wider.
        reach = frequency.typ * tolerance.high
        expected = Expected(
            round(frequency.low - reach, 6), frequency.typ, round(frequency.high + reach, 6),
            "Hz", digits=7,
        )  # fmt: skip
        basis, why = BRIEF, f"the brief, ± {value_words(tolerance.high, 'ppm')}"
    elif frequency is not None:
        expected, basis = Expected(typ=frequency.typ, unit="Hz", digits=6), BRIEF
        why, missing = "the brief", f"The brief gives no tolerance of {clock.id}"
    else:
        missing = f"The brief gives no frequency of {clock.id}"
    slow = known.fact("clock_rate", clock.id) == "low"
    return Step(
        f"clock.{clock.id}.frequency", "clock", named(clock), _how(kind, slow), expected,
        "a clock output pin or a timer pin, driven by the firmware", "frequency counter", basis,
        why, _loading(kind), missing, first=_first(kind),
    )  # fmt: skip


def _how(kind: object, slow: bool) -> str:
    gate = "gate time 10 s" if slow else "gate time 1 s"
    if kind == "oscillator":
        return f"At its output, {gate}"
    return f"Put it out at a buffered pin, {gate}"


def _loading(kind: object) -> str:
    if kind == "crystal":
        return (
            "Never at the crystal: a probe of 10 pF is as much as its load capacitor and pulls "
            "or stops it."
        )
    return ""


def _first(kind: object) -> str:
    if kind == "crystal":
        return "Load capacitors, the crystal's pads and orientation, flux between its pins"
    return "Its supply and enable; which clock the firmware really chose"
