"""Cards say what is known about a part or a fabricator, and refuse what cannot be."""

from __future__ import annotations

from pathlib import Path

import pytest

from phases.kit import shared_data
from phases.kit.card_figures import is_ratio
from phases.kit.cards import (
    PIN_KINDS,
    CapabilityCard,
    PartCard,
    Pin,
    load_capability,
    load_part,
    pins_from_csv,
)
from phases.kit.documents import parse_document
from phases.kit.notation import read_quantity
from phases.kit.refusals import Refusal
from phases.kit.shared_data import find_shared, list_shared, shared_dir

THIN = """\
name = "knot-8"
title = "Knot"
kind = "mcu"
[pins.count]
supply = 2
core = 0
[limits]
io_current = "4 mA"
"""

TABLE = """\
name = "knot-8"
title = "Knot"
kind = "mcu"
[[pin]]
name = "VDD"
number = 1
kind = "supply"
capacitor = "470 nF"
[[pin]]
name = "BOOT"
number = "2"
kind = "strap"
pull = "down"
functions = ["uart1.tx"]
"""


def part(text: str) -> PartCard:
    return parse_document(text, PartCard, kind="part card", where="knot.toml")


def said(text: str) -> str:
    with pytest.raises(Refusal) as caught:
        part(text)
    return str(caught.value)


# ---- the bundled ones ------------------------------------------------------------------------


@pytest.mark.parametrize("name", list_shared("parts"))
def test_every_bundled_part_card_is_whole_and_named_like_its_file(name: str) -> None:
    card = load_part(name)
    assert card.name == name
    assert card.source
    assert card.pins or card.pin_table
    assert card.figure("junction")


@pytest.mark.parametrize("name", list_shared("capability"))
def test_every_bundled_capability_card_is_whole_and_marked_as_common_practice(name: str) -> None:
    card = load_capability(name)
    assert card.name == name
    assert card.source == "common practice"


def test_the_quick_fabricator_makes_what_small_fabricators_usually_make() -> None:
    # Common practice: track and gap 0.15 mm, drill 0.3 mm, copper to a routed edge 0.3 mm and to
    # a scored one 0.5 mm, outer copper 35 µm, legend 1.0 mm high with a stroke of 0.15 mm.
    card = load_capability("two-layer-quick")
    expected = {
        "track": 0.15e-3,
        "gap": 0.15e-3,
        "drill": 0.3e-3,
        "edge_routed": 0.3e-3,
        "edge_scored": 0.5e-3,
        "legend_height": 1.0e-3,
        "legend_stroke": 0.15e-3,
        "copper_outer": 35e-6,
    }
    read = {name: read_quantity(getattr(card, name), "mm").typ for name in expected}
    assert read == pytest.approx(expected)


def test_the_pin_table_of_the_larger_microcontroller_numbers_each_pin_once() -> None:
    card = load_part("brindle-48")
    assert [pin.number for pin in card.pin_table] == [str(n) for n in range(1, 49)]
    assert {pin.kind for pin in card.pin_table} == set(PIN_KINDS)
    assert all(pin.capacitor for pin in card.pins_of("supply") + card.pins_of("core"))


# ---- pins ------------------------------------------------------------------------------------


def test_a_thin_card_names_its_counted_pins_by_kind() -> None:
    assert [pin.name for pin in part(THIN).pins_of("supply")] == ["supply 1", "supply 2"]
    assert part(THIN).pins_of("analogue") == ()


def test_a_table_gives_its_pins_by_kind_and_by_name() -> None:
    card = part(TABLE)
    assert [pin.capacitor for pin in card.pins_of("supply")] == ["470 nF"]
    assert card.pin("BOOT").pull == "down"
    assert card.pin("VDD").number == "1"


def test_an_unknown_pin_is_refused_with_the_nearest() -> None:
    with pytest.raises(Refusal) as caught:
        part(TABLE).pin("BOOT0")
    assert str(caught.value) == "Part card knot-8 has no pin 'BOOT0'. Nearest: BOOT."
    with pytest.raises(Refusal) as caught:
        part(THIN).pin("BOOT")
    assert "does not name them" in str(caught.value)


def test_a_card_answers_the_facts_that_its_pins_show_and_no_others() -> None:
    assert part(THIN).facts() == {"core_pin": False}
    assert part(TABLE).facts() == {
        "analogue_pin": False,
        "core_pin": False,
        "reference_pin": False,
        "backup_pin": False,
        "usb_supply_pin": False,
        "strap_pins": True,
    }
    assert part('name = "x"\ntitle = "x"\nkind = "other"').facts() == {}


def test_two_accounts_of_the_pins_are_refused() -> None:
    assert "pins appear twice" in said(TABLE + "[pins.count]\nsupply = 1\n")
    assert "number 2" in said(TABLE.replace("number = 1", "number = 2"))
    assert "name VDD" in said(TABLE.replace('"BOOT"', '"VDD"'))


# ---- quantities ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "where"),
    [
        ('io_current = "4 mV"', "line 8, limits.io_current"),
        ('io_current = "4 Ma"', "line 8, limits.io_current"),
        ("io_current = 4", "a text in quotes"),
        ('io_curent = "4 mA"', "Nearest: io_current"),
        ('vil = "1.3"', "too large"),
        ('vil = "0.8 A"', "limits.vil"),
        ('junction = "nan"', "limits.junction"),
    ],
)
def test_a_limit_that_cannot_be_read_is_refused_at_its_line(line: str, where: str) -> None:
    assert where in said(THIN.replace('io_current = "4 mA"', line))


def test_an_input_level_is_a_voltage_or_a_ratio_of_the_supply() -> None:
    assert is_ratio("0.3")
    assert not is_ratio("0.8 V")
    for level in ("0.3", "0.8 V"):
        assert part(THIN + f'vil = "{level}"\n').figure("vil") == level


def test_a_supply_window_runs_upwards() -> None:
    text = THIN + '[supply]\nmin = "{}"\nmax = "{}"\n'
    assert part(text.format("2.7 V", "3.6 V")).supply is not None
    assert "from 3.6 V down to 2.7 V" in said(text.format("3.6 V", "2.7 V"))


def test_a_capability_without_its_track_is_refused() -> None:
    text = (shared_dir() / "capability" / "hand-etched.toml").read_text(encoding="utf-8")
    with pytest.raises(Refusal) as caught:
        parse_document(
            text.replace("track =", "trak ="), CapabilityCard, kind="card", where="mine.toml"
        )
    assert "Nearest: track" in str(caught.value)


# ---- pins from a spreadsheet -----------------------------------------------------------------

EXPECTED = [
    Pin(name="VDD", number="1", kind="supply"),
    Pin(name="A0", number="B2", kind="io", functions=("adc.0", "uart1.tx")),
]


@pytest.mark.parametrize(
    "text",
    [
        "VDD,1,supply,\nA0,B2,io,adc.0 uart1.tx\n",
        "VDD;1;supply\r\nA0;B2;io;adc.0/uart1.tx\r\n",
        "VDD\t1\tsupply\t\nA0\tB2\tio\tadc.0|uart1.tx",
        'kind,name,functions,number\nsupply,VDD,,1\nio,A0,"adc.0, uart1.tx",B2\n',
        "\ufeffName;Number;Kind;Functions\nVDD;1;supply;\n\nA0;B2;io;adc.0, uart1.tx\n",
    ],
)
def test_a_pin_table_is_read_from_csv_or_a_clipboard(text: str) -> None:
    assert pins_from_csv(text) == EXPECTED


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", "empty"),
        ("name,number,kind\n", "empty"),
        ("VDD,1,supply\nA0,2,oi\n", "row 2, kind: There is no choice 'oi'. Nearest: io"),
        ("VDD,1\n", "row 1, kind"),
        ("name,number,kint\nVDD,1,supply\n", "Nearest: kind"),
        ("VDD,1,supply,,,,,,,,\n", "cells"),
        ('"' + "a" * 200_000 + '",1,supply', "cannot be read"),
    ],
)
def test_a_faulty_pin_table_is_refused_with_its_row(text: str, expected: str) -> None:
    with pytest.raises(Refusal) as caught:
        pins_from_csv(text)
    assert expected in str(caught.value)


# ---- where they are found --------------------------------------------------------------------


def test_a_bundled_file_is_found_by_name_and_any_other_by_path(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    bundled = shared_dir() / "parts" / "sedge-28.toml"
    assert find_shared("parts", "sedge-28") == bundled
    assert find_shared("parts", "sedge-28.toml") == bundled
    assert find_shared("parts", str(bundled)) == bundled
    Path("mine.toml").write_text(THIN, encoding="utf-8")
    assert load_part("mine.toml").name == "knot-8"
    assert load_part("./mine.toml").name == "knot-8"


@pytest.mark.parametrize("name", ["brindle-84", "brindel-48.toml"])
def test_an_unknown_name_is_refused_with_the_nearest(name: str) -> None:
    with pytest.raises(Refusal) as caught:
        load_part(name)
    assert caught.value.do == "Nearest: brindle-48"


def test_a_name_that_is_none_is_refused() -> None:
    for name in ("", "  ", "a\x00b", "n" * 5000, "../../nowhere.toml"):
        with pytest.raises(Refusal):
            load_part(name)


def test_installed_data_lies_inside_the_package(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    module = tmp_path / "phases" / "kit" / "shared_data.py"
    (tmp_path / "shared").mkdir()
    monkeypatch.setattr(shared_data, "__file__", str(module))
    assert shared_dir() == tmp_path / "shared"
    (tmp_path / "phases" / "shared").mkdir(parents=True)
    assert shared_dir() == tmp_path / "phases" / "shared"
