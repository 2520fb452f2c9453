"""Buses: termination, and levels at rest. Each names the standard or the practice it comes from."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from coach.debrief.bringup.figures import outward, window_words
from coach.debrief.bringup.levels import high_level
from coach.debrief.bringup.recorded import Recorded, named
from coach.debrief.bringup.sheet import (
    CALCULATED,
    MEMORY,
    NOTHING,
    PRACTICE,
    STANDARD,
    Expected,
    Step,
)
from coach.sprint.brief.document import Subject
from coach.sprint.state import NOT_HERE, WAIVED

Steps = Iterator[Step]


def bus_steps(known: Recorded) -> Steps:
    for bus in known.subjects("bus"):
        room = _ROOMS.get(str(known.fact("bus_kind", bus.id)))
        if room is not None:
            yield from room(known, bus)
        yield from _published(known, bus)


# ---- termination, unpowered ------------------------------------------------------------------

_TERMINATOR = 120.0
"""Ω, nominal: ISO 11898-2 for CAN; common practice on an RS-485 pair."""

_PARTS = 0.1
"""Share by which resistor, transceiver and leads may differ (common practice)."""

_BIASED = 0.82
"""Of the nominal, where bias resistors lie beside it: TIA-485-A loads a driver with 54 Ω for two
terminators and all receivers."""

_WIRES = {"can": "CANH to CANL", "rs485": "A to B"}


def termination_steps(known: Recorded) -> Steps:
    """Between the two lines of a terminated pair, before any power."""
    for bus in known.subjects("bus"):
        kind = str(known.fact("bus_kind", bus.id))
        if kind in _WIRES:
            yield _termination(known, bus, kind)


def _termination(known: Recorded, bus: Subject, kind: str) -> Step:
    wires = _WIRES[kind]
    one, both = (_between(_TERMINATOR / n, kind) for n in (1, 2))
    whole = window_words(both)
    if known.fact("off_board", bus.id) is False:
        expected, do = both, "The whole bus is on this board: both terminators in place"
    elif _without(known, bus):
        do = "Bus unplugged: this board has no terminator of its own"
        expected = Expected(unit="Ω", words=f"kilohms; {whole} in the bus, both ends in place")
    else:
        do = "Bus unplugged: this board's terminator alone"
        expected = replace(one, words=f"{whole} with the far end's in place; kilohms where this "
                           "board is no end of the bus")  # fmt: skip
    source = (
        "ISO 11898-2: 120 Ω nominal at each end; ± 10 % common practice"
        if kind == "can"
        else "120 Ω at each end, less beside bias resistors (TIA-485-A: 54 Ω in all)"
    )
    return Step(
        f"bus.{bus.id}.termination", "resistance", f"{named(bus)}: {wires}", do, expected, wires,
        "ohmmeter", STANDARD if kind == "can" else PRACTICE, source,
        first="Kilohms: its terminator is not fitted, or its jumper is open. Less: fitted twice, "
        "or a bridge",
    )  # fmt: skip


def _between(nominal: float, kind: str) -> Expected:
    least = _BIASED if kind == "rs485" else 1 - _PARTS
    low, high = outward(nominal * least, nominal * (1 + _PARTS))
    return Expected(low, nominal, high, "Ω")


def _without(known: Recorded, bus: Subject) -> bool:
    """Whether somebody said that this board is no end of its bus."""
    row = known.state.by_key.get(f"bus-ends-terminated@{bus.id}")
    return row is not None and row.status in (WAIVED, NOT_HERE)


# ---- at rest ---------------------------------------------------------------------------------


def _step(
    bus: Subject, point: str, title: str, expected: Expected, *, do: str = "Nobody talking",
    where: str, basis: str, why: str, first: str, missing: str = "", caution: str = "",
) -> Step:  # fmt: skip
    return Step(
        f"bus.{bus.id}.{point}", "bus", f"{named(bus)}: {title}", do, expected, where, "voltmeter",
        basis, why, caution, missing, first,
    )  # fmt: skip


def _pulled_up(
    known: Recorded, bus: Subject, *, title: str, where: str, basis: str, why: str, first: str
) -> Steps:
    voltage = known.voltage(bus.parent)
    if voltage is None:
        yield _step(bus, "idle", title, Expected(unit="V"), where=where, basis=NOTHING, why="",
                    first=first, missing=f"No voltage of rail {bus.parent} is known")  # fmt: skip
        return
    yield _step(
        bus, "idle", title, high_level(voltage), where=where, basis=basis, why=why, first=first,
        do="Nobody talking; the line further from its rail counts",
    )  # fmt: skip


def _i2c(known: Recorded, bus: Subject) -> Steps:
    return _pulled_up(
        known, bus, title="data and clock high", where="SDA and SCL", basis=STANDARD,
        why=f"pulled up to {bus.parent}; high from 0.7 of the supply (UM10204 rev. 7, table 10)",
        first="Pull-ups fitted, once, to the right rail; a device that holds the line",
    )  # fmt: skip


def _spi(known: Recorded, bus: Subject) -> Steps:
    return _pulled_up(
        known, bus, title="selects high", where="each chip select", basis=PRACTICE,
        why=f"selects idle high at the level of {bus.parent}",
        first="The select's pull-up, and the firmware's pin set-up",
    )  # fmt: skip


def _uart(known: Recorded, bus: Subject) -> Steps:
    return _pulled_up(
        known, bus, title="both lines high", where="transmit and receive", basis=PRACTICE,
        why=f"a serial line rests high at the level of {bus.parent}",
        first="Transmit and receive exchanged; the adapter's own level",
    )  # fmt: skip


def _can(known: Recorded, bus: Subject) -> Steps:
    first = "Termination at both ends only, 60 Ω in all, unpowered; the transceiver's mode pins"
    yield _step(
        bus, "recessive", "each line to ground", Expected(2.0, 2.5, 3.0, "V"),
        where="CANH and CANL", basis=MEMORY, first=first,
        why="ISO 11898-2, recessive: about 2.5 V; a transceiver on 3.3 V lies lower, near 2.3 V",
    )  # fmt: skip
    yield _step(
        bus, "difference", "CANH less CANL", Expected(-0.5, 0.0, 0.5, "V"),
        where="across CANH and CANL", basis=STANDARD, first=first,
        why="ISO 11898-2: a receiver takes less than 0.5 V as recessive",
    )  # fmt: skip


def _rs485(known: Recorded, bus: Subject) -> Steps:
    first = "Bias resistors and their sense, terminators at both ends only, A and B exchanged"
    yield _step(
        bus, "idle", "A less B, nobody sending",
        Expected(unit="V", words="0.2 V or more where bias resistors are fitted; near 0 V with a "
                 "receiver that is fail-safe inside"),
        where="across A and B, with its terminators", basis=STANDARD, first=first,
        why="TIA-485-A: a receiver is sure from 200 mV",
        missing=f"No calculation gave the bias: {known.why_not('bus-termination', bus.id)}",
    ) if not _has_idle(known, bus) else _biased(known, bus, first)  # fmt: skip


def _has_idle(known: Recorded, bus: Subject) -> bool:
    return f"bus.{bus.id}.idle" in known.published


def _biased(known: Recorded, bus: Subject, first: str) -> Step:
    found = known.published[f"bus.{bus.id}.idle"]
    low, high = outward(found.value.low, found.value.high)
    return _step(
        bus, "idle", "A less B, nobody sending", Expected(low, found.value.typ, high, "V"),
        where="across A and B, with its terminators", basis=CALCULATED, why=found.owner,
        first=first,
    )  # fmt: skip


def _usb(known: Recorded, bus: Subject) -> Steps:
    first = "The pull-up and who switches it on; D+ and D- exchanged; the firmware's clock"
    yield _step(
        bus, "idle", "D+ at rest, full speed", Expected(2.7, 3.0, 3.6, "V"), where="D+",
        basis=STANDARD, do="Attached to a host, firmware running, bus at rest", first=first,
        why="USB 2.0, 7.1.5.1: 1.5 kΩ to 3.0 .. 3.6 V against the host's 15 kΩ; low speed: on D-",
    )  # fmt: skip


def _published(known: Recorded, bus: Subject) -> Steps:
    """What other calculations give for this bus in volts: nothing needs to be told of them."""
    taken = {f"bus.{bus.id}.idle"}
    for name, found in known.published.items():
        if name.startswith(f"bus.{bus.id}.") and found.unit == "V" and name not in taken:
            low, high = outward(found.value.low, found.value.high)
            yield _step(
                bus, name.rpartition(".")[2], found.title or name,
                Expected(low, found.value.typ, high, "V"), where=bus.id, basis=CALCULATED,
                why=found.owner, first=f"What {found.owner} rests on",
            )  # fmt: skip


_ROOMS: dict[str, Callable[[Recorded, Subject], Steps]] = {
    "i2c": _i2c, "spi": _spi, "uart": _uart, "can": _can, "rs485": _rs485, "usb": _usb,
}  # fmt: skip
