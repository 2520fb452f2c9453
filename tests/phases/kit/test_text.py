"""What is typed or read passes one door: nothing past it can move a cursor or set a title."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ValidationError

from phases.kit.text import Line, Text, clean, name_words, one_line

DIRECTION = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
# Strings in which escape sequences begin, end and lie inside one another.
SEQUENCES = st.text(st.sampled_from("\x1b\x9b[]PX^_\\\x07;0m?1 Aé\n\t" + DIRECTION), max_size=60)


class Note(BaseModel):
    """A model with both kinds of text."""

    title: Line = ""
    body: Text = ""


# Control functions by ECMA-48, 5th edition: CSI section 5.4, OSC and its kin section 5.6, the
# C1 set in its 8-bit form section 5.3; the window title is the customary use of OSC 0 and 2.
@pytest.mark.parametrize(
    ("dirty", "left"),
    [
        ("a\x1b[31mred\x1b[0m b", "ared b"),
        ("a\x1b[2J\x1b[1;1Hb", "ab"),
        ("a\x1b]0;title\x07b", "ab"),
        ("a\x1b]0;title\x1b\\b", "ab"),
        ("a\x1bPq payload \x1b\\b", "ab"),
        ("a\x1b]0;never closed", "a"),
        ("a\x9b31mb", "ab"),
        ("a\x1b(0b", "ab"),
        ("a\x1b", "a"),
        ("a\x00b\x07c\x7fd\x85e", "abcde"),
        ("safe\u202egnp.exe", "safegnp.exe"),
        ("lone \ud800 surrogate", "lone  surrogate"),
    ],
)
def test_escape_sequences_go_whole_and_control_characters_go(dirty: str, left: str) -> None:
    assert clean(dirty) == left


@pytest.mark.parametrize(
    "text",
    [
        "4k7 ± 5 %",
        "10 µF at 85 °C",
        "[/]",
        "[b]bold[/b]",
        "[@click=app.quit]",
        "$x {y} %s",
        "\\x1b",
        "Łódź 東京 🙂",
        "",
    ],
)
def test_everything_else_stays_as_it_was_markup_too(text: str) -> None:
    assert clean(text) == text


def test_line_ends_become_one_kind_and_tabs_stay() -> None:
    assert clean("a\r\nb\rc\nd\te") == "a\nb\nc\nd\te"


def test_a_line_is_one_line_with_single_blanks() -> None:
    assert one_line("  two\n lines\tand \u2028 more ") == "two lines and more"


@given(st.one_of(st.text(), SEQUENCES))
def test_nothing_that_steers_a_terminal_is_left(text: str) -> None:
    for left in (clean(text), one_line(text)):
        assert not set(left) & set(DIRECTION)
        categories = {unicodedata.category(c) for c in left if c not in "\n\t"}
        assert not categories & {"Cc", "Cs"}
    assert len(one_line(text).splitlines()) <= 1


@given(st.one_of(st.text(), SEQUENCES))
def test_cleaning_twice_is_cleaning_once(text: str) -> None:
    assert clean(clean(text)) == clean(text)
    assert one_line(one_line(text)) == one_line(text)


@pytest.mark.parametrize(
    "unseen",
    [
        "\u200b",
        "\u2060",
        "\ufeff",
        "\u00ad",
        "\u200c",
        "\u200d",
        "\u2063",
        "\u034f",
        "\u3164",
        "\U000e0041",
        "\u200d\u200c",
        "\u180e",
    ],
)
def test_two_titles_that_look_the_same_are_the_same(unseen: str) -> None:
    assert Note(title=f"Bench{unseen} meter{unseen}").title == "Bench meter"
    assert clean(f"{unseen}3{unseen}v3") == "3v3"


@pytest.mark.parametrize(
    "text",
    [
        "\u0646\u0645\u06cc\u200c\u062e\u0648\u0627\u0647\u0645",  # Persian, one word of two parts
        "\u0d28\u0d4d\u200d",  # Malayalam: the joiner makes a letter of its own, at the end too
        "\U0001f469\u200d\U0001f4bb",  # an emoji made of two
        "\u2764\ufe0f",  # a heart, in its coloured form
    ],
)
def test_what_a_script_or_an_emoji_needs_stays(text: str) -> None:
    assert clean(text) == text


IGNORABLE = "\u034f\u115f\u1160\u17b4\u17b5\u3164\uffa0"  # no format characters, and not seen


@given(
    st.text(
        st.characters(exclude_categories=["Cc", "Cs", "Cf", "Cn"], exclude_characters=IGNORABLE)
    )
)
def test_ordinary_characters_all_stay(text: str) -> None:
    assert clean(text) == text


def test_a_long_row_of_open_sequences_is_cleaned_at_once() -> None:
    assert clean("\x1b]" * 100_000) == ""
    assert clean("\x1b[" * 100_000) == ""
    assert clean(("\x1b[" + "0" * 50) * 4_000) != ""


def test_the_types_of_documents_clean_what_they_are_given() -> None:
    note = Note(title=" a\x1b[31m\nb ", body="a\x1b[31m\r\nb")
    assert note.title == "a b"
    assert note.body == "a\nb"


def test_the_types_of_documents_bound_what_they_are_given() -> None:
    assert len(Note(title="x" * 400, body="x" * 4000).body) == 4000
    for more in ({"title": "x" * 401}, {"body": "x" * 4001}, {"title": 5}):
        with pytest.raises(ValidationError):
            Note(**more)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Boot pin: 10 kΩ", ["boot", "pin", "10", "k"]),
        ("Straße №5, Übung", ["strasse", "no5", "ubung"]),
        ("日本", []),
    ],
)
def test_the_words_of_a_name_are_small_letters_and_digits(text: str, words: list[str]) -> None:
    assert name_words(text) == words
