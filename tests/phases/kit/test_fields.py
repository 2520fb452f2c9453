"""Each kind of input is read from what a person, a file or the ledger gives, and says which."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from phases.kit import (
    Card,
    Choice,
    Column,
    Count,
    Flag,
    Following,
    Quantity,
    Table,
    Window,
    Words,
)
from phases.kit.fields import Field
from phases.kit.inputs import Given, Inputs, Supply, empty_ledger
from phases.kit.refusals import Refusal
from phases.kit.spread import Spread
from tests.depth import deep


def named(field: Field, name: str = "x") -> Any:
    field.__set_name__(object, name)
    return field


QUANTITY = named(Quantity("V", "supply", default="5 V ± 5 %", least=1.0, most=10.0))
WINDOW = named(Window("V", "allowed", default="3.0 .. 3.6 V"))
CHOICE = named(Choice("layer", ("outer", "inner", "In-pad"), default="outer"))
FLAG = named(Flag("is read", default="no"))
COUNT = named(Count("how many", default=1, least=1, most=20))
WORDS = named(Words("pin", default="BOOT"))
CARD = named(Card("microcontroller", default=""))
TABLE = named(
    Table("loads", (Column("name", "text"), Column("I", "A")), default=({"name": "a", "I": "1 A"},))
)
ALL = (QUANTITY, WINDOW, CHOICE, FLAG, COUNT, WORDS, CARD, TABLE)


def refusal_of(field: Field, given_: Any) -> str:
    with pytest.raises(Refusal) as caught:
        field.read(given_)
    return str(caught.value)


# ---- each kind ---------------------------------------------------------------------------


def test_a_quantity_keeps_the_text_it_was_typed_as() -> None:
    assert QUANTITY.read(" 5 V  ± 5 % ") == (Spread(4.75, 5.0, 5.25), "5 V ± 5 %")


@pytest.mark.parametrize("given_", [5, 5.0, "5", "5 V"])
def test_a_plain_number_is_meant_in_the_unit_of_the_field(given_: Any) -> None:
    assert QUANTITY.read(given_)[0] == Spread.exact(5.0)


def test_a_number_of_an_array_library_is_a_number() -> None:
    assert QUANTITY.read(np.float64(5.0)) == (Spread.exact(5.0), "5.0")


def test_a_spread_of_the_ledger_is_taken_as_it_is_and_shown_in_notation() -> None:
    assert QUANTITY.read(Spread(4.75, 5.0, 5.25)) == (Spread(4.75, 5.0, 5.25), "5 V ± 5 %")


@pytest.mark.parametrize(
    "given_",
    [True, None, [5], {"typ": 5}, b"5 V", 10**400, 10**5000, math.nan, math.inf, 1e300],
    ids=["yes", "none", "list", "table", "bytes", "400", "5000", "nan", "inf", "1e300"],
)
def test_what_is_no_value_of_a_quantity_is_refused(given_: Any) -> None:
    for field in (QUANTITY, WINDOW):
        assert refusal_of(field, given_).startswith("x: ")
        assert len(refusal_of(field, given_)) < 200


def test_a_refusal_names_the_field() -> None:
    assert refusal_of(QUANTITY, "0.5 V") == "x: '0.5 V' is too small. Minimum here: 1 V."
    assert refusal_of(QUANTITY, "3.3 A") == "x: A is not a unit of voltage. Give it in V."


def test_a_frozen_pick_reads_back_as_the_same_spread() -> None:
    spread = Spread.of(4.7, 0.05)
    assert QUANTITY.read(QUANTITY.frozen(spread))[0] == spread


def test_a_window_is_two_bounds() -> None:
    assert WINDOW.read("3.0 .. 3.6 V")[0] == Spread(3.0, 3.3, 3.6)
    assert WINDOW.read(3.3)[0] == Spread.exact(3.3)
    assert WINDOW.read(Spread(1.0, 2.0, 3.0))[1] == "2 V ± 50 %"


def test_a_choice_takes_its_words_and_their_beginnings() -> None:
    assert CHOICE.read("inner") == ("inner", "inner")
    assert CHOICE.read("o") == ("outer", "outer")
    assert CHOICE.read("in-") == ("In-pad", "In-pad")


@pytest.mark.parametrize("given_", ["", "i", "middle", "in", 5, None])
def test_a_choice_refuses_what_is_none_of_them_or_could_be_two(given_: Any) -> None:
    assert "There is no choice" in refusal_of(CHOICE, given_)


@pytest.mark.parametrize(
    ("given_", "value"),
    [
        (True, True),
        ("yes", True),
        ("Y", True),
        ("1", True),
        ("on", True),
        (False, False),
        ("no", False),
        ("N", False),
        ("0", False),
        (" off ", False),
    ],
)
def test_a_flag_is_yes_or_no_as_people_write_it(given_: Any, value: bool) -> None:
    assert FLAG.read(given_) == (value, "yes" if value else "no")


def test_a_flag_refuses_perhaps() -> None:
    assert refusal_of(FLAG, "perhaps") == "x: 'perhaps' is neither yes nor no. Write yes or no."


def test_a_count_is_a_whole_number_in_its_range() -> None:
    assert COUNT.read(" 12 ") == (12, "12")
    assert COUNT.read(20) == (20, "20")
    assert COUNT.read("+3") == (3, "3")


@pytest.mark.parametrize(
    "given_", ["0", 21, -1, "1.5", 2.0, "+-3", "--3", "", "three", True, "\u0663", "1e1", "9" * 400]
)
def test_a_count_refuses_anything_else(given_: Any) -> None:
    assert refusal_of(COUNT, given_).endswith("Write one from 1 to 20.")


def test_words_are_cleaned_and_bounded() -> None:
    assert WORDS.read("BOOT\x1b[31m 0\n") == ("BOOT 0", "BOOT 0")
    assert WORDS.read("[/]") == ("[/]", "[/]")
    assert "401 characters" in refusal_of(WORDS, "x" * 401)


def test_no_card_is_an_answer_and_an_unknown_one_is_refused() -> None:
    assert CARD.read("") == (None, "")
    assert CARD.read("none") == (None, "")
    assert refusal_of(CARD, "no-such-part")


def test_a_table_is_read_row_by_row_and_says_where_it_cannot() -> None:
    data, text = TABLE.read([{"name": "a", "I": "20 mA ± 10 %"}, {"name": "b", "I": 1}])
    assert [row["I"].typ for row in data.rows] == [0.02, 1.0]
    assert text == "2 rows"
    assert refusal_of(TABLE, [{"name": "a"}]) == "x, row 1, I: The cell is empty. Fill it in."


def test_every_kind_describes_itself_for_listings() -> None:
    kinds = ["quantity", "window", "choice", "flag", "count", "text", "card", "table"]
    assert [field.described()["kind"] for field in ALL] == kinds
    assert all(field.described()["title"] for field in ALL)
    assert QUANTITY.described()["si_unit"] == "V"
    assert CHOICE.described()["choices"] == ["outer", "inner", "In-pad"]
    assert TABLE.described()["columns"][1]["unit"] == "A"
    scenarios = Table("cases", (Column("name", "text"),), default=(), scenarios=True)
    assert scenarios.described()["kind"] == "scenarios"


def test_a_default_may_be_made_late() -> None:
    late = named(Table("loads", (Column("name", "text"),), default=lambda: [{"name": "late"}]))
    assert late.default == [{"name": "late"}]


PLAIN = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(),
    st.text(max_size=100),
    st.binary(),
    st.lists(st.text(max_size=5), max_size=3),
    st.dictionaries(st.text(max_size=5), st.text(max_size=5), max_size=3),
)


@pytest.mark.parametrize("field", ALL, ids=lambda field: field.kind)
@settings(max_examples=deep(40))
@given(given_=st.one_of(PLAIN, st.lists(st.dictionaries(st.text(max_size=4), PLAIN), max_size=3)))
def test_whatever_is_given_is_read_or_refused(field: Field, given_: Any) -> None:
    try:
        _, text = field.read(given_)
    except Refusal as refusal:
        assert str(refusal).startswith("x")
        assert len(str(refusal)) < 1000
    else:
        assert isinstance(text, str)


# ---- where an input comes from -----------------------------------------------------------

FIELDS: dict[str, Field] = {
    "V_in": Quantity("V", "input", default="5 V", ledger="rail.{parent}.voltage"),
    "V_too": Quantity("V", "input again", default="5 V", ledger="rail.{parent}.voltage"),
    "I": Quantity("A", "load", default="1 A", ledger="rail.{rail}.peak"),
    "R": Quantity("Ω", "resistor", free=True),
}
for _name, _field in FIELDS.items():
    named(_field, _name)
NAMES = {"parent": "vbus", "rail": "3v3"}


def inputs(given_: dict[str, Any] | None = None, **ledger: Any) -> Inputs:
    stock = {name.replace("__", "."): value for name, value in ledger.items()}
    return Inputs(FIELDS, given_ or {}, stock.get, NAMES)


def test_a_default_stands_where_nothing_else_does() -> None:
    reading = inputs().reading("V_in")
    assert (reading.origin, reading.text, reading.owner) == ("default", "5 V", None)
    assert reading.ledger == "rail.vbus.voltage"


def test_the_ledger_goes_before_the_default_and_names_its_owner() -> None:
    supply = Supply(Spread(4.5, 5.0, 5.5), "ledger", "linear-regulator@vbus")
    reading = inputs(rail__vbus__voltage=supply).reading("V_in")
    assert (reading.origin, reading.text) == ("ledger", "5 V ± 10 %")
    assert reading.owner == "linear-regulator@vbus"


def test_what_the_brief_gives_as_text_is_read_in_the_unit_of_the_field() -> None:
    reading = inputs(rail__vbus__voltage=Supply("4.5 .. 5.5", "brief", "brief")).reading("V_in")
    assert (reading.origin, reading.value) == ("brief", Spread(4.5, 5.0, 5.5))


def test_a_hand_goes_before_the_ledger_and_shows_what_that_says_beside_it() -> None:
    supply = Supply(Spread.exact(5.0), "ledger", "drop-chain@vbus")
    reading = inputs({"V_in": "4.8 V"}, rail__vbus__voltage=supply).reading("V_in")
    assert (reading.origin, reading.text, reading.beside) == ("hand", "4.8 V", "5 V")


def test_a_fault_in_the_ledger_does_not_hinder_what_a_hand_typed() -> None:
    wrong = Supply("3 A", "brief", "brief")
    reading = inputs({"V_in": "4.8 V"}, rail__vbus__voltage=wrong).reading("V_in")
    assert (reading.value, reading.beside) == (Spread.exact(4.8), None)

    def loop(name: str) -> Supply | None:
        raise Refusal(f"{name} is needed to make itself", do="Type it by hand")

    by_hand = Inputs(FIELDS, {"V_in": "4.8 V"}, loop, NAMES)
    assert by_hand.reading("V_in").text == "4.8 V"
    with pytest.raises(Refusal, match="Type it by hand"):
        by_hand.reading("I")


def test_a_ledger_value_that_does_not_fit_is_refused_with_its_name_and_owner() -> None:
    with pytest.raises(Refusal) as caught:
        inputs(rail__vbus__voltage=Supply("3 A", "brief", "brief")).reading("V_in")
    assert caught.value.where == "rail.vbus.voltage from brief, V_in"


@pytest.mark.parametrize("blank", ["", "  ", None])
def test_a_cleared_field_goes_back_to_the_ledger_or_the_default(blank: str | None) -> None:
    supply = Supply(Spread.exact(3.0), "ledger", "x")
    assert inputs({"V_in": blank}, rail__vbus__voltage=supply).reading("V_in").origin == "ledger"
    assert inputs({"V_in": blank}).reading("V_in").origin == "default"


def test_a_free_input_is_blank_until_a_pick_is_frozen() -> None:
    assert inputs().reading("R").origin == "blank"
    assert inputs().reading("R").value is None
    picked = inputs().with_given({"R": Given("4.7 kΩ ± 5 %", "proposed")})
    assert (picked.reading("R").origin, picked.reading("R").text) == ("proposed", "4.7 kΩ ± 5 %")


def test_where_the_subject_lacks_a_name_the_ledger_is_not_asked() -> None:
    asked: list[str] = []

    def lookup(name: str) -> Supply | None:
        asked.append(name)
        return None

    board = Inputs(FIELDS, {}, lookup, {"rail": "3v3"})
    assert [reading.ledger for reading in board.readings()] == [None, None, "rail.3v3.peak", None]
    assert asked == ["rail.3v3.peak"]


def test_an_unknown_field_is_told_the_nearest() -> None:
    with pytest.raises(Refusal, match="Nearest: V_in"):
        inputs({"V_im": "5 V"})


def test_inputs_of_one_ledger_name_are_fed_together_unless_a_hand_took_one() -> None:
    supply = Supply(Spread(4.5, 5.0, 5.5), "ledger", "x")
    fed = inputs(rail__vbus__voltage=supply)
    assert fed.fed_together("V_in") == fed.fed_together("V_too") == ("V_in", "V_too")
    assert fed.fed_together("I") == ("I",)
    assert inputs({"V_too": "5 V"}, rail__vbus__voltage=supply).fed_together("V_in") == ("V_in",)
    assert inputs().fed_together("V_in") == ("V_in",)


def test_with_one_input_replaced_the_ledger_is_not_asked_again() -> None:
    asked: list[str] = []

    def lookup(name: str) -> Supply | None:
        asked.append(name)
        return Supply(Spread.exact(5.0), "brief", "brief")

    before = Inputs(FIELDS, {}, lookup, NAMES)
    assert before.reading("V_in").value == Spread.exact(5.0)
    after = before.with_given({"I": Given("2 A")})
    assert after.reading("V_in") == before.reading("V_in")
    assert after.reading("I").text == "2 A"
    assert asked == ["rail.vbus.voltage", "rail.3v3.peak"]


def test_a_default_follows_its_choice_also_when_that_is_replaced() -> None:
    kind = named(Choice("kind", ("short", "long"), default="short"), "kind")
    length = named(
        Quantity("mm", "length", default=Following("kind", {"short": "1 mm", "long": "9 mm"})),
        "length",
    )
    before = Inputs({"kind": kind, "length": length}, {}, empty_ledger, {})
    assert before.reading("length").text == "1 mm"
    assert before.with_given({"kind": Given("long")}).reading("length").text == "9 mm"
    by_hand = before.with_given({"length": Given("5 mm")})
    assert by_hand.with_given({"kind": Given("long")}).reading("length").text == "5 mm"
