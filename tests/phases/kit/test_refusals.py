"""A refusal is one sentence or two: where, what, and what to do about it."""

from __future__ import annotations

import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phases.kit.catalogue import calculators
from phases.kit.fields import Table
from phases.kit.judging import judge
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


def test_an_empty_name_is_not_among_the_known() -> None:
    assert unknown("kind", "x", ["", "linear"]).do == "Known: linear"


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


def test_what_is_repeated_of_somebodys_own_is_cut_and_the_fault_stays_readable() -> None:
    cell = "x" * 40_000
    told = str(Refusal(f"{cell!r} is not a number with a unit", do="Write it as 12 A"))
    assert told == f"'{'x' * 30}…{'x' * 29}' is not a number with a unit. Write it as 12 A."
    unquoted = str(Refusal(f"{cell} is not on the draw list"))
    assert len(unquoted) < 160
    assert unquoted.endswith("xx is not on the draw list.")


def test_a_path_can_be_copied_from_it() -> None:
    path = "/home/somebody/" + "a-folder-of-boards/" * 8 + "sprint.toml"
    refusal = Refusal("It is open already", where=path, do=f"Look at it with: coach verify {path}")
    assert (refusal.where, refusal.do) == (path, f"Look at it with: coach verify {path}")


def test_an_apostrophe_is_no_quotation_mark() -> None:
    what = "The journal's header cannot be used, " + "and so it goes on and on, " * 3 + "isn't it"
    assert Refusal(what).what == what


texts = st.text(max_size=50).map(lambda text: text * 900)


@given(texts, texts, texts, st.lists(texts, max_size=20))
def test_no_refusal_is_long_whatever_was_given(
    what: str, where: str, do: str, known: list[str]
) -> None:
    assert len(str(Refusal(what, do="Type it again, as in 3.3 V"))) <= 200
    long = len(str(Refusal(what, where=where, do=do).at("row 2")))
    assert long <= (1400 if {"/", "\\"} & {*where, *do} else 640), "only a path may be long"
    named = len(str(unknown("word", do, known)))
    assert named <= (1400 if {"/", "\\"} & {*do, *"".join(known)} else 400), "the same"


@pytest.mark.parametrize("ending", ["", "'", "\"'"])
@pytest.mark.parametrize("piece", ["'", "' ", " '\"", "a'", "\\'"])
def test_cutting_takes_no_time(piece: str, ending: str) -> None:
    begun = time.process_time()
    str(Refusal(piece * 200_000 + ending))
    assert time.process_time() - begun < 0.1


def test_no_field_of_a_calculator_repeats_a_cell_of_forty_thousand_characters() -> None:
    told: set[str] = set()
    for kind in calculators().values():
        for name, field in kind.fields.items():
            cell = "x" * 40_000
            row = dict.fromkeys(field.columns, cell) if isinstance(field, Table) else {"a": cell}
            for value in (cell, "9" * 40_000, [row]):
                try:
                    judge(kind({name: value}))
                except Refusal as refusal:
                    told.add(str(refusal))
    assert len(told) > 50
    assert [text for text in told if len(text) > 300] == []
