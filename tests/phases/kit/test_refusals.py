"""A refusal is one sentence or two: where, what, and what to do about it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phases.kit.refusals import Refusal, unknown


def test_a_refusal_says_where_what_and_what_to_do() -> None:
    refusal = Refusal("The cell is empty", where="row 2, peak", do="Fill it in")
    assert str(refusal) == "row 2, peak: The cell is empty. Fill it in."


def test_what_alone_is_a_sentence() -> None:
    assert str(Refusal("Nothing is waiting to be drawn")) == "Nothing is waiting to be drawn."
    assert str(Refusal("Already ended.")) == "Already ended."


def test_further_out_the_place_grows_in_front() -> None:
    inner = Refusal("The cell is empty", where="row 2", do="Fill it in")
    outer = inner.at("consumers").at("brief.toml")
    assert outer.where == "brief.toml, consumers, row 2"
    assert (outer.what, outer.do) == (inner.what, inner.do)


def test_a_misspelt_name_is_told_the_nearest() -> None:
    refusal = unknown("field", "V_im", ["V_in", "V_out", "T_A"], where="linear-regulator")
    assert str(refusal) == "linear-regulator: There is no field 'V_im'. Nearest: V_in."


def test_a_name_in_other_capitals_is_told_too() -> None:
    assert unknown("series", "ABCDEFGH", ["abcdefgh"]).do == "Nearest: abcdefgh"


def test_without_a_near_one_the_known_are_listed_and_the_rest_counted() -> None:
    assert unknown("rail", "xyz", ["b2", "a1"]).do == "Known: a1, b2"
    many = [f"rail{n:02}" for n in range(20)]
    assert str(unknown("rail", "?", many)).endswith("rail11 and 8 more.")


def test_where_nothing_is_known_nothing_is_listed() -> None:
    assert str(unknown("rail", "3v3", [])) == "There is no rail '3v3'."


@given(st.text(max_size=300), st.lists(st.text(min_size=1, max_size=12), max_size=30))
def test_whatever_the_word_the_refusal_stays_short_and_on_one_line(
    word: str, known: list[str]
) -> None:
    text = str(unknown("word", word, known))
    assert len(repr(word[:60])) + 20 + 12 * 14 + 30 >= len(text)
    assert text.startswith("There is no word ")
    assert text.endswith(".")


@pytest.mark.parametrize("word", ["\x1b[31mred", "two\nlines", "\u202egnp.exe"])
def test_control_characters_of_an_unknown_word_are_shown_and_not_sent(word: str) -> None:
    assert str(unknown("calculator", word, ["fuse"])).isprintable()
