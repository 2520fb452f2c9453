"""Buses at rest. Each level names the standard or the practice it comes from."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from coach.debrief.bringup.figures import outward
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

Steps = Iterator[Step]


def bus_steps(known: Recorded) -> Steps:
    for bus in known.subjects("bus"):
        room = _ROOMS.get(str(known.fact("bus_kind", bus.id)))
        if room is not None:
            yield from room(known, bus)
        yield from _published(known, bus)


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
