"""The lines of a debug connection: which way each is pulled, and what is wrong with that.

Signals by their names in the Arm debug interface. What the sources say about each stands in
shared/tables/debug-connectors.toml.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from phases.kit import Finding, show
from phases.kit.refusals import Refusal
from phases.kit.spec_tables import spec_table

if TYPE_CHECKING:
    from phases.kit.cards import PartCard

SIGNALS = ("SWDIO", "SWCLK", "GND", "VTref", "nRESET", "SWO", "TDI", "nTRST", "RTCK")
# The functions by which a part card names its debug pins.
_ON_CARD = {"debug.data": "SWDIO", "debug.clock": "SWCLK", "debug.in": "TDI"}
_NEEDED = {
    "SWDIO": "Data is not wired",
    "SWCLK": "The clock is not wired",
    "GND": "Ground is not wired",
    "VTref": "The target's reference voltage is not wired",
}


@dataclass(frozen=True, slots=True)
class DebugLine:
    """One signal. own: the board's pull, value in Ω; internal: the part's; "up", "down", "none"."""

    signal: str
    wired: bool
    own: str
    internal: str
    value: float

    @property
    def listens(self) -> bool:
        """Whether the part reads it: reset always, another where it is wired."""
        return self.signal in _ways() and (self.wired or self.signal == "nRESET")


def settled(rows: Iterable[Mapping[str, Any]], card: PartCard | None) -> dict[str, DebugLine]:
    """The lines by signal, with "card" and "as needed" resolved. Refusal where one is there twice.

    A pull as needed is fitted where none is known inside the part.
    """
    inside = _pulls_on(card)
    lines: dict[str, DebugLine] = {}
    for row in rows:
        signal = row["signal"]
        if signal in lines:
            raise Refusal(f"{signal} appears twice", where="signals", do="Keep one row")
        internal = inside.get(signal, "none") if row["internal"] == "card" else row["internal"]
        own = row["pull"]
        if own == "as needed":
            own = _ways().get(signal, "none") if internal == "none" else "none"
        lines[signal] = DebugLine(signal, row["wired"], own, internal, row["value"].typ)
    return lines


def _ways() -> Mapping[str, str]:
    """Which way a line is pulled that has no pull inside the part."""
    ways: Mapping[str, str] = spec_table("debug-connectors")["pulls"]["way"]
    return ways


def _pulls_on(card: PartCard | None) -> dict[str, str]:
    pulls: dict[str, str] = {}
    for pin in card.pin_table if card else ():
        if pin.kind == "reset":
            pulls["nRESET"] = pin.pull
        pulls.update({_ON_CARD[f]: pin.pull for f in pin.functions if f in _ON_CARD})
    return pulls


def missing(lines: Mapping[str, DebugLine], pins: Sequence[str]) -> list[Finding]:
    """What an adapter cannot do without, and what is wired to a pin that is not there."""
    absent = [s for s in _NEEDED if s not in lines or not lines[s].wired]
    homeless = [s for s, line in lines.items() if line.wired and s not in pins]
    return [Finding(s, _NEEDED[s], "Wire it to the connector") for s in absent] + [
        Finding(s, "This connector has no pin for it", "Add a pad for it") for s in homeless
    ]


def floating(lines: Mapping[str, DebugLine]) -> list[Finding]:
    """Lines that nothing holds while no adapter is there."""
    return [
        Finding(
            line.signal,
            "Floats without the adapter: no board pull, and no internal one is known",
            f"Pull it {_ways()[line.signal]}, with the value of the part's data sheet",
        )
        for line in lines.values()
        if line.listens and line.own == line.internal == "none"
    ]


def mispulled(lines: Mapping[str, DebugLine]) -> list[Finding]:
    """Own pulls that work against the part or against what the sources ask for."""
    return [finding for line in lines.values() if line.own != "none" for finding in _faults(line)]


def _faults(line: DebugLine) -> list[Finding]:
    table = spec_table("debug-connectors")["pulls"]
    lowest, highest = table["least"], table["greatest"]
    faults = []
    if line.internal not in ("none", line.own):
        what = f"Its pull-{line.own} opposes the internal pull-{line.internal}"
        faults.append(Finding(line.signal, what, f"Leave it out, or pull {line.internal}"))
    if line.own == "down" and line.signal == "nRESET":
        faults.append(Finding(line.signal, "A pull-down keeps the part in reset", "Pull it up"))
    elif line.own == "down" and _ways().get(line.signal) == "up":
        what = "Pulled down where vendor guidelines ask for a pull-up"
        faults.append(Finding(line.signal, what, "See the part's data sheet", serious=False))
    if not lowest <= line.value <= highest:
        what = (
            f"{show(line.value, 'Ω')} is outside {show(lowest, 'Ω')} to {show(highest, 'Ω')}, "
            "the range of vendor guidelines"
        )
        faults.append(Finding(line.signal, what, "See the part's data sheet", serious=False))
    return faults
