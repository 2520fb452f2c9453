"""What to heed before a first power-on, by what this board is; and whose word is the last."""

from __future__ import annotations

from coach.debrief.bringup.recorded import Recorded

LAST_WORD = (
    "Extra-low voltage only: nothing here speaks for mains or for anything connected to it. "
    "The parts' data sheets, local codes and licensed practice have the last word."
)

_GENERAL = (
    "Power the board from a current-limited supply, with the output off while you connect it.",
    "Before touching or probing with an ohmmeter: supply off, and wait; capacitors stay charged.",
    "Static discharge kills parts unseen: wrist strap, or touch ground before the board.",
    "Smoke, smell or a part too hot to touch: supply off first, then think.",
)
_LITHIUM_ION = (
    "Lithium cell: bring the board up without it, from a supply in its place; the cell goes in "
    "last. Never short, crush or overcharge it, charge it only as its data sheet allows, and "
    "leave a swollen or hot one alone, outdoors.",
)
_COIN = (
    "Coin cell: never charged, never shorted. Take it out before any supply is connected, and "
    "keep it away from small children.",
)
_ALKALINE = ("Cells out while a supply is connected: they must not be charged.",)
_WIRED = ("Connect the supply before it is switched on: contacts that carry more than 12 V spark.",)
_POWER = (
    "First power-on without motor, heater or valve: it may move, burn or start by itself. Keep "
    "hands and tools out of its way when it is connected.",
)


def cautions_of(known: Recorded) -> tuple[str, ...]:
    """The general ones first, then those this board has a reason for."""
    kind = known.fact("battery_kind")
    lithium = kind == "lithium-ion" or known.fact("charger") is True
    highest = max(
        (w.high for rail in known.rails if (w := known.window(rail.id)) is not None), default=0.0
    )
    return (
        *_GENERAL,
        *(_LITHIUM_ION if lithium else ()),
        *(_COIN if kind == "coin-cell" else ()),
        *(_ALKALINE if kind in ("alkaline", "other") else ()),
        *(_WIRED if highest > 12.0 else ()),
        *(_POWER if known.fact("power_outputs") is True else ()),
    )
