"""The text of a brief made from answers, with typical figures of a small board where a number is
needed; our own estimates. Each answer is its key, as `coach.sprint.brief.new` asks for it."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import NamedTuple


@dataclass(frozen=True, slots=True)
class Answers:
    """The answers, each as its key or keys; the deadline as minutes or as a cut-off."""

    title: str
    minutes: int | None
    cut_off: str | None
    supply: str
    regulator: str
    programming: str
    clock: str
    fabricator: str
    interfaces: str

    @property
    def main_rail(self) -> str:
        """The rail the microcontroller is on."""
        if self.regulator == "n":
            return "entry"
        return "1v8" if self.supply in "ca" else "3v3"

    @property
    def usb_port(self) -> bool:
        """USB data on a board that is supplied otherwise: its port is a second source."""
        return "u" in self.interfaces and self.supply != "u"


class _Supply(NamedTuple):
    """voltage: behind this source a regulator follows; direct: none does."""

    fact: str
    battery: str
    title: str
    connector: str
    current: str
    voltage: str
    direct: str


_USB, _COIN = "4.75 .. 5.25 V", "2.2 / 3.0 / 3.3 V"
_CELL, _ALKALINE = "3.5 / 3.7 / 4.2 V", "2.0 / 2.7 / 3.3 V"
_SUPPLIES = {
    "u": _Supply("usb-c", "none", "USB supply", "usb-c", "500 mA", _USB, _USB),
    "d": _Supply(
        "dc-input", "none", "DC input", "screw-terminal", "2 A", "9 .. 28 V", "3.3 V ± 5 %"
    ),
    "l": _Supply(
        "battery",
        "lithium-ion",
        "Lithium-ion cell",
        "battery-lead",
        "1 A",
        _CELL,
        "3.0 / 3.7 / 4.2 V",
    ),
    "c": _Supply(
        "battery",
        "coin-cell",
        "Coin cell with its bulk capacitor",
        "cell-holder",
        "30 mA",
        _COIN,
        _COIN,
    ),
    "a": _Supply(
        "battery",
        "alkaline",
        "Two alkaline cells",
        "cell-holder",
        "500 mA",
        _ALKALINE,
        _ALKALINE,
    ),
    "h": _Supply(
        "host-board",
        "none",
        "Supply from the host board",
        "header",
        "500 mA",
        "5 V ± 5 %",
        "3.3 V ± 5 %",
    ),
}

_REGULATORS = {"l": ("linear", "500 mA"), "s": ("switching", "1 A")}
"""The fact, and what the regulator may give."""

_REGULATOR_PARTS = {"l": 4, "s": 9, "n": 0}
_PROGRAMMING = {
    "d": ("debug-10", "10-way debug connector"),
    "t": ("debug-20", "20-way debug connector"),
    "h": ("header", "Programming header"),
    "p": ("pads", "Programming pads"),
}
_FABRICATORS = {
    "2": ("two-layer-quick", 2),
    "4": ("four-layer-standard", 4),
    "e": ("hand-etched", 2),
}
_CLOCKS = {"c": "crystal", "w": "crystal", "o": "oscillator", "i": "internal"}
_BUSES = {
    "u": ("usb", "USB, full speed", {"off_board": True, "transceiver": False}),
    "i": ("i2c1", "I2C", {"transceiver": False}),
    "s": ("spi1", "SPI", {"transceiver": False}),
    "t": ("uart1", "Serial console", {"off_board": True, "transceiver": False}),
    "c": ("can1", "CAN", {"off_board": True, "transceiver": True}),
    "r": ("field", "RS-485", {"off_board": True, "transceiver": True}),
}
_BUS_KINDS = {"u": "usb", "i": "i2c", "s": "spi", "t": "uart", "c": "can", "r": "rs485"}
_SIGNALS_ONLY = {"connector_kind": "screw-terminal", "carries_supply": False}
_CONNECTORS = {
    "t": ("j-console", "Console header", {"connector_kind": "header"}),
    "c": ("j-can", "CAN connector", _SIGNALS_ONLY),
    "r": ("j-field", "RS-485 connector", _SIGNALS_ONLY),
    "a": ("j-analogue", "Analogue inputs", {"connector_kind": "header", "carries_supply": False}),
}
_FEATURES = {
    "u": ("usb-data", "USB data", ["usb"], "usb_data"),
    "i": ("i2c", "Parts on I2C", ["i2c1"], ""),
    "s": ("spi", "Parts on SPI", ["spi1"], ""),
    "t": ("serial", "Serial console", ["uart1", "j-console"], "console"),
    "c": ("can", "CAN", ["can1", "j-can", "can-driver"], ""),
    "r": ("rs485", "RS-485", ["field", "j-field", "bus-driver"], ""),
    "m": ("by-radio", "Radio", ["radio"], "radio"),
    "a": ("analogue", "Analogue inputs", ["j-analogue"], "adc"),
}
"""Its subjects, and the fact that is false without it."""


# ---- the comments of its tables --------------------------------------------------------------

_HEAD = """\
# Brief, made from seven answers. Change what differs; quantities are texts as on paper:
# "3.3 V ± 3 %", "4.75 .. 5.25 V", "-10 / 25 / 50 °C"."""
_OF_DEADLINE = """\
# `minutes` from the start, or `cut_off = "15:36"`. reserve: minutes held back for the closing
# list and the order. threshold: the chance of being on time below which dropping is offered."""
_OF_BOARD = """\
# parts: a guess from the answers. Name the microcontroller's part card (mcu = "..") instead of
# counting its pins where there is one."""
_OF_FACTS = """\
# What is known about the board: the ids of phases/facts.toml. What is left out stays
# unknown and is asked when an item needs it."""
_OF_RAILS = """\
# Rails: the entry has no parent. voltage: the window all on the rail may count on.
# current: what the rail may give, a regulator's rating or a source's allowance."""
_OF_LOADS = """\
# What draws current, typical for a small board: put in your own figures.
# duty: the share of time it is on. count: how many alike."""


def brief_text(answers: Answers) -> str:
    """The brief in TOML."""
    return (
        "\n\n".join(
            [
                _HEAD,
                f"title = {_toml(answers.title)}",
                _deadline(answers),
                _board(answers),
                _facts(answers),
                *_rails(answers),
                *_buses(answers),
                *_connectors(answers),
                *_clocks(answers),
                *_loads(answers),
                *_features(answers),
            ]
        )
        + "\n"
    )


def _deadline(answers: Answers) -> str:
    if answers.minutes is None:
        when: dict[str, object] = {"cut_off": answers.cut_off, "reserve": 15}
    else:
        when = {"minutes": answers.minutes, "reserve": min(20, answers.minutes // 6)}
    return _table(
        "[deadline]",
        when | {"threshold": 0.8},
        _OF_DEADLINE,
    )


def _board(answers: Answers) -> str:
    card, layers = _FABRICATORS[answers.fabricator]
    return _table(
        "[board]",
        {
            "parts": 22 + 4 * len(answers.interfaces) + _REGULATOR_PARTS[answers.regulator],
            "layers": layers,
            "mcu_rail": answers.main_rail,
            "pins": {"supply": 3, "ground": 3},
            "capability": card,
            "ambient": "-10 / 25 / 50 °C",
            "programming": _PROGRAMMING[answers.programming][1],
        },
        _OF_BOARD,
    )


def _facts(answers: Answers) -> str:
    has, supply = answers.interfaces, _SUPPLIES[answers.supply]
    facts: dict[str, object] = {
        "supply": supply.fact,
        "battery_kind": supply.battery,
        "usb_data": "u" in has,
        "radio": "m" in has,
        "console": "t" in has,
        "adc": "a" in has,
        "debug_kind": _PROGRAMMING[answers.programming][0],
    }
    if supply.battery != "lithium-ion":
        facts["charger"] = False
    if "m" not in has:
        facts["on_board_antenna"] = False
    if answers.usb_port:
        facts["second_supply"] = True
    if "u" in has:
        facts["fast_lines"] = True
    if answers.fabricator == "e":
        facts["assembly"] = "by-hand"
    return _table(
        "[facts]",
        facts,
        _OF_FACTS,
    )


def _rails(answers: Answers) -> Iterable[str]:
    supply, steps = _SUPPLIES[answers.supply], {"large_steps": "m" in answers.interfaces}
    direct = answers.regulator == "n"
    yield _table(
        "[[rail]]",
        {
            "id": "entry",
            "title": supply.title,
            "voltage": supply.direct if direct else supply.voltage,
            "current": supply.current,
            "facts": {"regulator": "none"} | (steps if direct else {}),
        },
        _OF_RAILS,
    )
    if not direct:
        regulator, current = _REGULATORS[answers.regulator]
        yield _table(
            "[[rail]]",
            {
                "id": answers.main_rail,
                "title": "Main supply",
                "parent": "entry",
                "voltage": "1.8 V ± 3 %" if answers.main_rail == "1v8" else "3.3 V ± 3 %",
                "current": current,
                "facts": {"regulator": regulator} | steps,
            },
        )
    if answers.usb_port:
        yield _table(
            "[[rail]]",
            {
                "id": "vbus",
                "title": "Supply of the USB port, a second source",
                "voltage": _USB,
                "current": "500 mA",
                "facts": {"regulator": "none"},
            },
        )


def _buses(answers: Answers) -> Iterable[str]:
    note = "# Buses and serial lines. rail: the one their levels belong to."
    for key, (name, title, facts) in _BUSES.items():
        if key in answers.interfaces:
            kind = {"bus_kind": _BUS_KINDS[key]}
            yield _table(
                "[[bus]]",
                {"id": name, "title": title, "rail": answers.main_rail, "facts": kind | facts},
                note,
            )
            note = ""


def _connectors(answers: Answers) -> Iterable[str]:
    rail, kind = answers.main_rail, _SUPPLIES[answers.supply].connector
    carries = {"connector_kind": kind, "carries_supply": True}
    note = "# Connectors, headers, buttons. rail: the one they carry or their signals belong to."
    yield _table(
        "[[connector]]",
        {"id": "j-supply", "title": "Supply connector", "rail": "entry", "facts": carries},
        note,
    )
    if answers.usb_port:
        carries = {"connector_kind": "usb-c", "carries_supply": True}
        yield _table(
            "[[connector]]",
            {"id": "j-usb", "title": "USB-C receptacle", "rail": "vbus", "facts": carries},
        )
    title = _PROGRAMMING[answers.programming][1]
    yield _table(
        "[[connector]]",
        {"id": "j-debug", "title": title, "rail": rail, "facts": {"connector_kind": "debug"}},
    )
    for key, (name, title, facts) in _CONNECTORS.items():
        if key in answers.interfaces:
            yield _table(
                "[[connector]]", {"id": name, "title": title, "rail": rail, "facts": facts}
            )


def _clocks(answers: Answers) -> Iterable[str]:
    yield _table(
        "[[clock]]",
        {
            "id": "main-clock",
            "title": "Main clock",
            "frequency": "16 MHz",
            "tolerance": "2500 ppm" if "u" in answers.interfaces else "5000 ppm",
            "facts": {"clock_kind": _CLOCKS[answers.clock], "clock_rate": "high"},
        },
        "# Clocks. tolerance: the frequency error the interfaces allow.",
    )
    if answers.clock == "w":
        yield _table(
            "[[clock]]",
            {
                "id": "watch-clock",
                "title": "Watch crystal",
                "frequency": "32.768 kHz",
                "tolerance": "100 ppm",
                "facts": {"clock_kind": "crystal", "clock_rate": "low"},
            },
        )


def _loads(answers: Answers) -> Iterable[str]:
    def load(name: str, title: str, typical: str, peak: str, note: str = "", **more: object) -> str:
        values = {"id": name, "title": title, "rail": answers.main_rail, "typical": typical}
        return _table("[[load]]", {**values, "peak": peak, **more}, note)

    has, coin_cell = answers.interfaces, answers.supply == "c"
    note = _OF_LOADS
    mcu = ("2 mA", "8 mA") if coin_cell else ("30 mA", "60 mA")
    yield load("mcu", "Microcontroller", *mcu, note)
    if "m" in has:
        radio = ("5 mA", "18 mA") if coin_cell else ("30 mA", "150 mA")
        yield load("radio", "Radio module", *radio, facts={"load_kind": "module"})
    if "c" in has:
        yield load("can-driver", "CAN transceiver", "10 mA", "70 mA")
    if "r" in has:
        yield load("bus-driver", "RS-485 transceiver", "5 mA", "60 mA")
    yield load("indicators", "Indicators", "1 mA", "2 mA", count=2, facts={"load_kind": "led"})


def _features(answers: Answers) -> Iterable[str]:
    runs = "Starts, runs and can be programmed"
    note = "# Features. One that is not required may be dropped, with its subjects."
    yield _feature("runs", runs, 40, ["mcu", "j-debug"], required=True, note=note)
    for key, (name, title, subjects, fact) in _FEATURES.items():
        if key in answers.interfaces:
            port = ["j-usb", "vbus"] if key == "u" and answers.usb_port else []
            yield _feature(name, title, 10, subjects + port, fact=fact)
    yield _feature("signs-of-life", "Indicators", 5, ["indicators"])


# ---- one table -------------------------------------------------------------------------------


def _feature(
    name: str,
    title: str,
    points: int,
    subjects: list[str],
    *,
    required: bool = False,
    fact: str = "",
    note: str = "",
) -> str:
    values = {"id": name, "title": title, "required": required, "points": points}
    without = {"facts": {fact: False}} if fact else {}
    return _table("[[feature]]", {**values, "subjects": subjects, **without}, note)


def _table(head: str, values: Mapping[str, object], note: str = "") -> str:
    """A table of the brief, its comment above it."""
    lines = (f"{key} = {_toml(value)}" for key, value in values.items())
    return "\n".join([note, head, *lines] if note else [head, *lines])


def _toml(value: object) -> str:
    """A TOML value. JSON's strings are TOML's, once control characters are out."""
    if isinstance(value, Mapping):
        return f"{{ {', '.join(f'{key} = {_toml(one)}' for key, one in value.items())} }}"
    return json.dumps(value, ensure_ascii=False)
