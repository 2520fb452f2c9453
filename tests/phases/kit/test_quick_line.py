"""One line for a calculation: what belongs to which field, and what cannot be put in place."""

from __future__ import annotations

from pathlib import Path

import pytest

from phases.kit.catalogue import calculator
from phases.kit.judging import judge
from phases.kit.quick_line import parse_line, read_words, split_words
from phases.kit.refusals import Refusal


@pytest.mark.parametrize(
    ("text", "given"),
    [
        ("indicator", {}),
        ("indicator 3.3V 2.1V 2mA", {"V": "3.3V", "V_F": "2.1V", "I": "2mA"}),
        ("indicator 3.3 V 2.1 V 2 mA", {"V": "3.3 V", "V_F": "2.1 V", "I": "2 mA"}),
        ("indicator 3.3 2.1 2", {"V": "3.3", "V_F": "2.1", "I": "2"}),
        ("indicator V_F=2.1V 5V", {"V_F": "2.1V", "V": "5V"}),
        ("indicator 5V V_F=2V 2mA", {"V": "5V", "V_F": "2V", "I": "2mA"}),
        ("indicator I=2 mA driver=pin", {"I": "2 mA", "driver": "pin"}),
        ("indicator 5 V ± 5 % 2V", {"V": "5 V ± 5 %", "V_F": "2V"}),
        ("indicator 5V +- 250 mV", {"V": "5V +- 250 mV"}),
        ("indicator V=4.75 .. 5.25 V 2V", {"V": "4.75 .. 5.25 V", "V_F": "2V"}),
        ("indicator 4.75.. 5.25V 2V", {"V": "4.75.. 5.25V", "V_F": "2V"}),
        ("indicator 4.75 / 5 / 5.25 V 2V", {"V": "4.75 / 5 / 5.25 V", "V_F": "2V"}),
        ('indicator "4.75 .. 5.25 V" 2V', {"V": "4.75 .. 5.25 V", "V_F": "2V"}),
        ("indicator V='5 V ± 5 %'", {"V": "5 V ± 5 %"}),
        ("indicator V = 5 V driver = pin", {"V": "5 V", "driver": "pin"}),
        ("  indicator   5V  ", {"V": "5V"}),
        ("indicator #1", {"V": "#1"}),
        ("strap pin='BOOT 0' level=low", {"pin": "BOOT 0", "level": "low"}),
        ("linear-regulator T_A=-10 / 25 / 50 °C", {"T_A": "-10 / 25 / 50 °C"}),
    ],
)
def test_each_value_goes_to_its_field(text: str, given: dict[str, str]) -> None:
    name, found = parse_line(text)
    assert name == text.split(maxsplit=1)[0]
    assert found == given


def test_what_was_put_in_place_can_be_calculated() -> None:
    name, given = parse_line("indicator 3.3 V 2.1 V 2 mA")
    judgement = judge(calculator(name)(given))
    # Ohm's law over what the LED leaves.
    assert judgement.output("R_0").typ == pytest.approx((3.3 - 2.1) / 2e-3)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "nothing to calculate"),
        ("indicatr 5V", "Nearest: indicator"),
        ("indicator V_f=2V", "Nearest: V_F"),
        ("indicator V=5V V=4V", "V appears twice"),
        ("indicator V= I=2mA", "V has no value"),
        ("indicator V=", "V has no value"),
        ("indicator V='' I=2mA", "V has no value"),
        ("indicator '5 V", "A quote is open"),
        ("indicator " + "1 " * 40, "Unexpected value"),
        ("indicator V=@loads.csv", "Only a table"),
        ("load-budget @nowhere.csv", "nowhere.csv"),
    ],
)
def test_what_cannot_be_put_in_place_is_refused(text: str, says: str) -> None:
    with pytest.raises(Refusal) as refused:
        parse_line(text)
    assert says in str(refused.value)


def test_a_backslash_is_a_letter_like_any_other() -> None:
    assert split_words(r"load-budget consumers=@C:\loads.csv")[1] == r"consumers=@C:\loads.csv"


def test_a_number_without_unit_is_not_joined_to_a_word_of_the_next_field() -> None:
    # 0 V of drop, then the choice "pin": no unit of voltage begins like that.
    kind = calculator("indicator")
    given = read_words(kind, ["5V", "2V", "2mA", "1k", "0", "pin"])
    assert (given["V_sw"], given["driver"]) == ("0", "pin")


def test_a_part_card_is_named_and_never_meant_by_its_place() -> None:
    given = read_words(calculator("linear-regulator"), ["regulator=hearth-33", "5V", "3.3V"])
    assert given == {"regulator": "hearth-33", "V_in": "5V", "V_out": "3.3V"}
    assert read_words(calculator("linear-regulator"), ["5V", "3.3V"]) == {
        "V_in": "5V",
        "V_out": "3.3V",
    }


def test_a_table_of_a_file_is_read_when_the_line_is(tmp_path: Path) -> None:
    path = tmp_path / "loads.csv"
    path.write_text("consumer;rail;typical;peak\npump;3v3;90 mA;120 mA\n", encoding="utf-8")
    _, given = parse_line(f"load-budget consumers=@{path}")
    path.unlink()
    expected = {"consumer": "pump", "rail": "3v3", "typical": "90 mA", "peak": "120 mA"}
    assert given["consumers"] == [expected]
