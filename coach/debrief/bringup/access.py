"""USB-C, the programming access, and indicators."""

from __future__ import annotations

from collections.abc import Iterator

from coach.debrief.bringup.figures import outward, value_words
from coach.debrief.bringup.recorded import Recorded, named, output, taken
from coach.debrief.bringup.sheet import (
    BRIEF,
    CALCULATED,
    DATA_SHEET,
    MEMORY,
    NOTHING,
    PRACTICE,
    STANDARD,
    Expected,
    Step,
)
from coach.debrief.bringup.supplies import ends_of
from coach.sprint.brief.document import Subject
from coach.sprint.state import Saved
from phases.kit.spec_tables import spec_table
from phases.kit.text import line

_CONNECTORS = {
    "debug-10": "10-way debug connector", "debug-20": "20-way debug connector",
    "header": "programming header", "pads": "programming pads",
}  # fmt: skip


# ---- USB-C -----------------------------------------------------------------------------------


def cc_resistance_steps(known: Recorded) -> Iterator[Step]:
    """The pull-downs of each receptacle, unpowered."""
    for connector in _receptacles(known):
        saved = known.of("type-c-sink", connector.id)
        pull = taken(saved[0], "R_d") if saved else None
        if pull is not None:
            low, high = outward(pull.low, pull.high)
            expected, basis = Expected(low, pull.typ, high, "Ω"), CALCULATED
            why, missing = str(saved[0].id), ""
        else:
            table = spec_table("usb-type-c")["pull_down"]
            nominal, share = float(table["nominal"]), float(table["tolerance_unread"])
            low, high = outward(nominal * (1 - share), nominal * (1 + share))
            expected, basis = Expected(low, nominal, high, "Ω"), STANDARD
            why = "USB Type-C: 5.1 kΩ, ± 20 % where the advertisement is not read"
            missing = known.why_not("type-c-sink", connector.id)
        yield Step(
            f"connector.{connector.id}.cc-resistance", "resistance",
            f"CC1 and CC2 of {connector.id} to ground",
            "Each contact by itself; CC1 to CC2 twice as much",
            expected, "CC1 and CC2 of the receptacle", "ohmmeter", basis, why, missing=missing,
            first="One resistor for both contacts, a bridge between them, or none fitted",
        )  # fmt: skip


def usb_steps(known: Recorded) -> Iterator[Step]:
    for connector in _receptacles(known):
        yield _cc(known, connector)
        yield _vbus(known, connector)
        yield Step(
            f"connector.{connector.id}.turned", "usb", f"{connector.id}, plug turned over",
            "Turn the plug, measure again", Expected(words="supply comes on both ways up"),
            "plug of a USB-C source", "USB-C source", STANDARD,
            "each CC contact has its own pull-down", first="The pull-down of the other contact",
        )  # fmt: skip


def _receptacles(known: Recorded) -> list[Subject]:
    return [
        one
        for one in known.subjects("connector")
        if known.fact("connector_kind", one.id) == "usb-c" and known.fact("cc_in_part") is not True
    ]


def _cc(known: Recorded, connector: Subject) -> Step:
    """One window for all advertisements; which one it is stands in words."""
    table = spec_table("usb-type-c")
    low, high = (float(end) for end in table["unread"]["window"])
    edition = table["edition"]["2.4"]
    words = ", ".join(
        f"{name} {edition[key][0]:g} .. {edition[key][1]:g}"
        for key, name in (("default", "default"), ("1.5 A", "1.5 A"), ("3 A", "3 A"))
    )
    return Step(
        f"connector.{connector.id}.cc", "usb", f"CC of {connector.id}, in use",
        "A USB-C source attached; the contact that is not at 0 V", Expected(low, None, high, "V",
        f"by advertisement: {words}"), "CC1 or CC2", "voltmeter", STANDARD,
        "USB Type-C release 2.0 table 4-35, release 2.4 table 4-36, as quoted in notes",
        first="The pull-down of that contact; a cable without CC",
    )  # fmt: skip


def _vbus(known: Recorded, connector: Subject) -> Step:
    return Step(
        f"connector.{connector.id}.vbus", "usb", f"VBUS of {connector.id}",
        "With the source attached; without it at most 0.8 V", Expected(4.75, 5.0, 5.5, "V"),
        "VBUS contacts", "voltmeter", MEMORY,
        "USB Type-C: 4.75 .. 5.5 V at the receptacle; on only once a pull-down is found",
        first="CC first; then the fuse and what loads VBUS",
    )  # fmt: skip


# ---- programming -----------------------------------------------------------------------------


def programming_steps(known: Recorded) -> Iterator[Step]:
    rail = known.state.mcu_rail()
    voltage = known.voltage(rail)
    access = _CONNECTORS.get(str(known.fact("debug_kind")), "programming access")
    if voltage is not None:
        yield Step(
            "debug.reference", "programming", "Reference voltage at the adapter",
            "Before the adapter is plugged in", ends_of(voltage), f"reference pin, {access}",
            "voltmeter", CALCULATED if f"rail.{rail}.voltage" in known.published else BRIEF,
            f"the voltage of {rail}",
            "One supply at a time: switch the adapter's own supply off." if
            known.fact("adapter_power") is not False else "",
            first="Pin 1 of the connector, turned or mirrored; the way to its reference pin",
        )  # fmt: skip
    else:
        yield Step(
            "debug.reference", "programming", "Reference voltage at the adapter",
            "Before the adapter is plugged in", Expected(unit="V"), f"reference pin, {access}",
            "voltmeter", NOTHING, missing=f"No voltage of rail {line(rail)} is known",
        )  # fmt: skip
    yield Step(
        "debug.answers", "programming", "The part answers",
        f"Read the part's identity{_slowly(known)}",
        Expected(words="the identity in its data sheet"),
        access, "debug adapter", DATA_SHEET, _programming(known),
        first="Data and clock exchanged, reset held low, a strap, an unpowered core",
    )  # fmt: skip
    if known.fact("boot_rom") is True:
        yield Step(
            "boot.loader", "programming", "The loader in ROM answers",
            "Override the strap, reset, ask over its port", Expected(words="it answers"),
            "its port", "computer", DATA_SHEET, "the second way in",
            first="The strap's level while overridden; the port's two lines exchanged",
        )  # fmt: skip


def _slowly(known: Recorded) -> str:
    for saved in known.of("debug-wiring"):
        figure = output(saved, "f_max")
        if figure is not None and figure.low > 0:
            return f", clock slow at first ({saved.id}: up to {value_words(figure.low, 'Hz', 2)})"
    return ", at a slow clock first"


def _programming(known: Recorded) -> str:
    words = line(known.state.setup.brief.board.programming)
    return words or "the part's own data sheet has its identity"


# ---- indicators ------------------------------------------------------------------------------


def indicator_steps(known: Recorded) -> Iterator[Step]:
    done: set[str] = set()
    for saved in known.of("indicator"):
        subject = line(saved.subject)
        done.add(subject)
        yield _indicator(saved, subject)
    for rail in known.rails:
        if known.fact("indicator", rail.id) is True and rail.id not in done:
            yield Step(
                f"rail.{rail.id}.indicator", "indicator", named(rail), "Look, with the rail on",
                Expected(words="lit"), f"indicator of {rail.id}", "eyes", PRACTICE,
                missing=f"No calculation gave its current: {known.why_not('indicator', rail.id)}",
                first="Its polarity; then its resistor",
            )  # fmt: skip


def _indicator(saved: Saved, subject: str) -> Step:
    across, current = output(saved, "V_R"), output(saved, "I_F")
    name = f"{saved.id}.lit" if not subject or "." in saved.id else f"rail.{subject}.indicator"
    title, where = subject or "Indicator", "across its series resistor"
    do, first = "Lit? Then the voltage across its resistor", "Dark: its polarity, then its resistor"
    if across is None or current is None or not across.high > 0:
        return Step(name, "indicator", title, do, Expected(words="lit"), where, "voltmeter",
                    NOTHING, missing=f"{line(saved.id)} keeps no current", first=first)  # fmt: skip
    low, high = outward(max(across.low, 0.0), across.high)
    amps = f"{value_words(current.low, 'A', 2)} .. {value_words(current.high, 'A', 2)}"
    return Step(
        name, "indicator", title, do, Expected(low, across.typ, high, "V", f"lit, {amps}"), where,
        "eyes, voltmeter", CALCULATED, saved.id, first=first,
    )  # fmt: skip
