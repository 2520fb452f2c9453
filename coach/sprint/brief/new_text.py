"""The text of a brief made from answers: typical figures, each section explained."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

FactValue = bool | str
Row = dict[str, object]


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


@dataclass(frozen=True, slots=True)
class _Supply:
    """voltage: of a source behind which a regulator stands; direct: of one without."""

    fact: str
    battery: str
    title: str
    connector: str
    current: str
    voltage: str
    direct: str
    rail: tuple[str, str] = ("3v3", "3.3 V ± 3 %")
    small: bool = False


_SUPPLIES = {
    "u": _Supply(
        "usb-c", "none", "USB supply", "usb-c", "500 mA", "4.75 .. 5.25 V", "4.75 .. 5.25 V"
    ),
    "d": _Supply(
        "dc-input", "none", "DC input", "screw-terminal", "2 A", "9 .. 28 V", "3.3 V ± 5 %",
    ),
    "l": _Supply(
        "battery", "lithium-ion", "Lithium-ion cell", "battery-lead", "1 A",
        "3.5 / 3.7 / 4.2 V", "3.0 / 3.7 / 4.2 V",
    ),
    "c": _Supply(
        "battery", "coin-cell", "Coin cell with its bulk capacitor", "cell-holder", "30 mA",
        "2.2 / 3.0 / 3.3 V", "2.2 / 3.0 / 3.3 V", ("1v8", "1.8 V ± 3 %"), small=True,
    ),
    "a": _Supply(
        "battery", "alkaline", "Two alkaline cells", "cell-holder", "500 mA",
        "2.0 / 2.7 / 3.3 V", "2.0 / 2.7 / 3.3 V", ("1v8", "1.8 V ± 3 %"),
    ),
    "h": _Supply(
        "host-board", "none", "Supply from the host board", "header", "500 mA",
        "5 V ± 5 %", "3.3 V ± 5 %",
    ),
}  # fmt: skip

_REGULATORS = {"l": ("linear", "500 mA"), "s": ("switching", "1 A"), "n": ("none", "")}
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
_BUSES: dict[str, tuple[str, str, dict[str, FactValue]]] = {
    "u": ("usb", "USB, full speed", {"bus_kind": "usb", "off_board": True, "transceiver": False}),
    "i": ("i2c1", "I2C", {"bus_kind": "i2c", "transceiver": False}),
    "s": ("spi1", "SPI", {"bus_kind": "spi", "transceiver": False}),
    "t": ("uart1", "Serial console", {"bus_kind": "uart", "off_board": True, "transceiver": False}),
    "c": ("can1", "CAN", {"bus_kind": "can", "off_board": True, "transceiver": True}),
    "r": ("field", "RS-485", {"bus_kind": "rs485", "off_board": True, "transceiver": True}),
}


def brief_text(answers: Answers) -> str:
    """The brief in TOML."""
    sections = [_head(answers), _board(answers), _facts(answers)]
    for name, (comment, rows_of) in _SUBJECTS.items():
        if rows := list(rows_of(answers)):
            tables = "\n".join(f"[[{name}]]\n{_keys(row)}" for row in rows)
            sections.append("".join(f"# {part}\n" for part in comment) + tables)
    return "\n".join(sections)


def _value(value: object) -> str:
    """A TOML value. JSON's strings are TOML's, once control characters are out."""
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {_value(inner)}" for key, inner in value.items()) + " }"
    return json.dumps(value, ensure_ascii=False)


def _keys(row: Mapping[str, object]) -> str:
    return "".join(f"{key} = {_value(value)}\n" for key, value in row.items())


def _main_rail(answers: Answers) -> str:
    return "entry" if answers.regulator == "n" else _SUPPLIES[answers.supply].rail[0]


def _head(answers: Answers) -> str:
    if answers.minutes is None:
        when = f"cut_off = {_value(answers.cut_off)}"
        reserve = 15
    else:
        when = f"minutes = {answers.minutes}"
        reserve = min(20, answers.minutes // 6)
    return f"""\
# Brief, made from seven answers. Change what differs; quantities are texts as on paper:
# "3.3 V ± 3 %", "4.75 .. 5.25 V", "-10 / 25 / 50 °C".

title = {_value(answers.title)}

# `minutes` from the start, or `cut_off = "15:36"`. reserve: minutes held back for the closing
# list and the order. threshold: the chance of being on time below which dropping is offered.
[deadline]
{when}
reserve = {reserve}
threshold = 0.8
"""


def _board(answers: Answers) -> str:
    card, layers = _FABRICATORS[answers.fabricator]
    parts = 22 + 4 * len(answers.interfaces) + {"l": 4, "s": 9, "n": 0}[answers.regulator]
    return f"""\
# parts: a guess from the answers. Name the microcontroller's part card (mcu = "..") instead of
# counting its pins where there is one.
[board]
parts = {parts}
layers = {layers}
mcu_rail = {_value(_main_rail(answers))}
pins = {{ supply = 3, ground = 3 }}
capability = {_value(card)}
ambient = "-10 / 25 / 50 °C"
programming = {_value(_PROGRAMMING[answers.programming][1])}
"""


def _facts(answers: Answers) -> str:
    supply = _SUPPLIES[answers.supply]
    has = answers.interfaces.__contains__
    facts: dict[str, FactValue] = {
        "supply": supply.fact,
        "battery_kind": supply.battery,
        "usb_data": has("u"),
        "radio": has("m"),
        "console": has("t"),
        "adc": has("a"),
        "debug_kind": _PROGRAMMING[answers.programming][0],
    }
    if supply.battery != "lithium-ion":
        facts["charger"] = False
    if not has("m"):
        facts["on_board_antenna"] = False
    if _second_port(answers):
        facts["second_supply"] = True
    if has("u"):
        facts["fast_lines"] = True
    if answers.fabricator == "e":
        facts["assembly"] = "by-hand"
    return (
        "# What is known about the board: the ids of phases/facts.toml. What is left out stays\n"
        "# unknown and is asked when an item needs it.\n[facts]\n" + _keys(facts)
    )


def _rails(answers: Answers) -> Iterable[Row]:
    supply = _SUPPLIES[answers.supply]
    kind, rating = _REGULATORS[answers.regulator]
    steps = "m" in answers.interfaces
    direct = answers.regulator == "n"
    yield {
        "id": "entry",
        "title": supply.title,
        "voltage": supply.direct if direct else supply.voltage,
        "current": supply.current,
        "facts": {"regulator": "none", **({"large_steps": steps} if direct else {})},
    }
    if not direct:
        name, voltage = supply.rail
        yield {
            "id": name,
            "title": "Main supply",
            "parent": "entry",
            "voltage": voltage,
            "current": rating,
            "facts": {"regulator": kind, "large_steps": steps},
        }

    if _second_port(answers):
        yield {
            "id": "vbus",
            "title": "Supply of the USB port, a second source",
            "voltage": "4.75 .. 5.25 V",
            "current": "500 mA",
            "facts": {"regulator": "none"},
        }


def _second_port(answers: Answers) -> bool:
    """Whether USB data brings a port with a supply besides the board's own."""
    return "u" in answers.interfaces and _SUPPLIES[answers.supply].fact != "usb-c"


def _buses(answers: Answers) -> Iterable[Row]:
    for key, (name, title, facts) in _BUSES.items():
        if key in answers.interfaces:
            yield {"id": name, "title": title, "rail": _main_rail(answers), "facts": facts}


def _connectors(answers: Answers) -> Iterable[Row]:
    supply, main = _SUPPLIES[answers.supply], _main_rail(answers)
    kind: dict[str, FactValue] = {"connector_kind": supply.connector, "carries_supply": True}
    yield {"id": "j-supply", "title": "Supply connector", "rail": "entry", "facts": kind}
    if _second_port(answers):
        facts: dict[str, FactValue] = {"connector_kind": "usb-c", "carries_supply": True}
        yield {"id": "j-usb", "title": "USB-C receptacle", "rail": "vbus", "facts": facts}
    title = _PROGRAMMING[answers.programming][1]
    yield {"id": "j-debug", "title": title, "rail": main, "facts": {"connector_kind": "debug"}}
    for key, name, title, connector in (
        ("t", "j-console", "Console header", "header"),
        ("c", "j-can", "CAN connector", "screw-terminal"),
        ("r", "j-field", "RS-485 connector", "screw-terminal"),
        ("a", "j-analogue", "Analogue inputs", "header"),
    ):
        if key in answers.interfaces:
            facts = {"connector_kind": connector}
            if key != "t":
                facts["carries_supply"] = False
            yield {"id": name, "title": title, "rail": main, "facts": facts}


def _clocks(answers: Answers) -> Iterable[Row]:
    kind = {"c": "crystal", "w": "crystal", "o": "oscillator", "i": "internal"}[answers.clock]
    tolerance = "2500 ppm" if "u" in answers.interfaces else "5000 ppm"
    yield {
        "id": "main-clock",
        "title": "Main clock",
        "frequency": "16 MHz",
        "tolerance": tolerance,
        "facts": {"clock_kind": kind, "clock_rate": "high"},
    }
    if answers.clock == "w":
        yield {
            "id": "watch-clock",
            "title": "Watch crystal",
            "frequency": "32.768 kHz",
            "tolerance": "100 ppm",
            "facts": {"clock_kind": "crystal", "clock_rate": "low"},
        }


def _loads(answers: Answers) -> Iterable[Row]:
    main, small = _main_rail(answers), _SUPPLIES[answers.supply].small
    currents = [("mcu", "Microcontroller", *(("2 mA", "8 mA") if small else ("30 mA", "60 mA")))]
    if "m" in answers.interfaces:
        currents.append(
            ("radio", "Radio module", *(("5 mA", "18 mA") if small else ("30 mA", "150 mA")))
        )
    if "c" in answers.interfaces:
        currents.append(("can-driver", "CAN transceiver", "10 mA", "70 mA"))
    if "r" in answers.interfaces:
        currents.append(("bus-driver", "RS-485 transceiver", "5 mA", "60 mA"))
    currents.append(("indicators", "Indicators", "1 mA", "2 mA"))
    kinds: dict[str, FactValue] = {"radio": "module", "indicators": "led"}
    for name, title, typical, peak in currents:
        row: Row = {"id": name, "title": title, "rail": main, "typical": typical, "peak": peak}
        if name == "indicators":
            row["count"] = 2
        if name in kinds:
            row["facts"] = {"load_kind": kinds[name]}
        yield row


def _features(answers: Answers) -> Iterable[Row]:
    yield {"id": "runs", "title": "Starts, runs and can be programmed", "required": True,
           "points": 40, "subjects": ["mcu", "j-debug"]}  # fmt: skip
    usb = ["usb", *(["j-usb", "vbus"] if _second_port(answers) else [])]
    for key, name, title, subjects, dropped in (
        (
            "u",
            "usb-data",
            "USB data",
            usb,
            {"usb_data": False},
        ),
        ("i", "i2c", "Parts on I2C", ["i2c1"], {}),
        ("s", "spi", "Parts on SPI", ["spi1"], {}),
        ("t", "serial", "Serial console", ["uart1", "j-console"], {"console": False}),
        ("c", "can", "CAN", ["can1", "j-can", "can-driver"], {}),
        ("r", "rs485", "RS-485", ["field", "j-field", "bus-driver"], {}),
        ("m", "by-radio", "Radio", ["radio"], {"radio": False}),
        ("a", "analogue", "Analogue inputs", ["j-analogue"], {"adc": False}),
    ):
        if key in answers.interfaces:
            row: Row = {
                "id": name,
                "title": title,
                "required": False,
                "points": 10,
                "subjects": subjects,
            }
            if dropped:
                row["facts"] = dropped
            yield row
    yield {"id": "signs-of-life", "title": "Indicators", "required": False,
           "points": 5, "subjects": ["indicators"]}  # fmt: skip


_SUBJECTS: dict[str, tuple[tuple[str, ...], Callable[[Answers], Iterable[Row]]]] = {
    "rail": (
        (
            "Rails: the entry has no parent. voltage: the window all on the rail may count on.",
            "current: what the rail may give, a regulator's rating or a source's allowance.",
        ),
        _rails,
    ),
    "bus": (("Buses and serial lines. rail: the one their levels belong to.",), _buses),
    "connector": (
        ("Connectors, headers, buttons. rail: the one they carry or their signals belong to.",),
        _connectors,
    ),
    "clock": (("Clocks. tolerance: the frequency error the interfaces allow.",), _clocks),
    "load": (
        (
            "What draws current, typical for a small board: put in your own figures.",
            "duty: the share of time it is on. count: how many alike.",
        ),
        _loads,
    ),
    "feature": (
        ("Features. One that is not required may be dropped, with its subjects.",),
        _features,
    ),
}
"""Each kind of table: what stands above it, and the rows."""
