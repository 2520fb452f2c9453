"""The debrief as Markdown: complete, plain, and nothing that was typed gives it structure.

What gives structure is judged by a parser of CommonMark with tables, written by others.
"""

from __future__ import annotations

import dataclasses
from collections import Counter
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from markdown_it import MarkdownIt
from markdown_it.token import Token

from coach.debrief.account.data import Account, Said
from coach.debrief.report.markdown import escaped, markdown_of
from phases.kit.text import line
from tests.debrief.sample_account import small_account, with_texts

HOSTILE = (
    "# x | <b>", "$x^2$", "<script>alert(1)</script>", "&amp; &lt;", "1. one", "- dash", "> quote",
    "`code` ``` ~~~", "*a* _b_ **c**", "[a](http://b) ![c](d)", "---", "===", "| a | b |", "\\",
    "+ plus", "7) seven", "a\n# b\n\n---", "\tx", "<!-- x -->", ":---", "* * *", "http://a.example",
    "\\|", "a\\", "~~gone~~", "<https://a.example>", "    four blanks", "## ", "10.", "_", "__a__",
)  # fmt: skip


def parsed(text: str) -> list[Token]:
    return MarkdownIt("commonmark").enable("table").enable("strikethrough").parse(text)


def kinds(text: str) -> Counter[str]:
    """How often each kind of structure comes, inside lines too."""
    found: Counter[str] = Counter()
    for token in parsed(text):
        found[token.type] += 1
        # Text is cut into pieces around what was escaped: how many is of no account.
        found.update(e.type for e in token.children or () if e.type not in ("text", "text_special"))
    return found


def words(text: str) -> str:
    """Everything a reader sees."""
    pieces = [
        "".join(e.content if "break" not in e.type else "\n" for e in token.children or ())
        for token in parsed(text)
        if token.type == "inline"
    ]
    return "\n".join(pieces)


def one_text(text: str) -> str:
    """What a paragraph of nothing but text says; fails where it is anything else."""
    tokens = parsed(text)
    assert [t.type for t in tokens] == ["paragraph_open", "inline", "paragraph_close"], text
    children = tokens[1].children or []
    assert {child.type for child in children} <= {"text", "text_special"}, text
    return "".join(child.content for child in children)


@pytest.mark.parametrize("typed", HOSTILE)
def test_what_was_typed_stays_text(typed: str) -> None:
    assert one_text(escaped(typed)) == line(typed)


@given(st.text(alphabet=st.sampled_from("ab1 .)#-+=>|<&;*_`~[]()!\\:/$\n\t\"'Ω"), max_size=24))
def test_no_line_of_any_characters_gives_structure(typed: str) -> None:
    if line(typed):
        assert one_text(escaped(typed)) == line(typed)


@given(*[st.text(alphabet="ab |\\-:`<*_\n", max_size=12)] * 2)
def test_a_table_keeps_its_cells_whatever_is_typed_into_them(name: str, evidence: str) -> None:
    told = dataclasses.replace(
        small_account().items[0], name=f"x{name}x", evidence=f"x{evidence}x", outcome="met"
    )
    tokens = parsed(markdown_of(dataclasses.replace(bare(), items=(told,))))
    cells = [
        "".join(child.content for child in following.children or ())
        for token, following in pairwise(tokens) if token.type == "td_open"
    ]  # fmt: skip
    assert cells == ["–", line(f"x{name}x"), line(f"x{evidence}x")]


def test_hostile_texts_in_every_place_give_the_structure_of_harmless_ones() -> None:
    harmless = kinds(markdown_of(with_texts(small_account(), " x")))
    for typed in HOSTILE:
        assert kinds(markdown_of(with_texts(small_account(), f" {typed}"))) == harmless, typed


def test_everything_the_account_says_is_in_it() -> None:
    told = small_account()
    seen = " ".join(words(markdown_of(told)).split())
    texts = [
        told.title, told.standing, *told.planned, *told.happened, *told.differences, *told.faults,
        *told.dropped, *told.thoughts, told.honesty.says,
        *(text for said in (*told.changeable, *told.sentences, *told.differently)
          for text in (said.text, said.evidence)),
        *(one.name for one in told.items), *(one.reason for one in told.waived),
        *(again.because for one in told.reopened for again in one.reopenings),
        *(limit.says for one in told.calculations for limit in one.limits),
        *(one.says for one in told.undrawn), *(one.says for one in told.calls),
        *(text for one in told.findings
          for text in (one.fault, one.bodge, one.let_through, one.would_catch)),
        *(text for one in told.measured for text in (one.title, one.text, one.expected)),
        *(one.why for one in told.phases),
    ]  # fmt: skip
    assert [text for text in texts if text not in seen] == []


def test_it_opens_with_what_is_still_changeable_then_the_sentences_then_the_questions() -> None:
    titles = [
        following.content
        for token, following in pairwise(parsed(markdown_of(small_account())))
        if token.type == "heading_open" and token.tag == "h2"
    ]
    assert titles[:7] == [
        "To change on the boards and in the next revision", "In three sentences",
        "What was planned", "What happened",
        "Why they differ", "What to do differently", "Timeline",
    ]  # fmt: skip


def test_times_and_margins_are_told_in_figures_of_the_trade() -> None:
    text = markdown_of(small_account())
    assert "- cut-off: 2:00" in text
    assert "| layout " in text
    assert "+14 min" in text
    assert "−8.0 %" in text
    assert "7 in 10" in text


def test_a_late_item_says_when_it_was_due_and_how_it_came_up() -> None:
    text = markdown_of(small_account())
    assert "Closed 1:30, due 0:50. Came up by a walk. Inspected." in text


def test_what_is_often_forgotten_says_how_often() -> None:
    assert "Forgotten in 3 of your last 8 sprints" in markdown_of(small_account())


def test_nothing_left_to_change_is_said_and_not_left_out() -> None:
    told = dataclasses.replace(small_account(), changeable=())
    assert "Nothing this journal knows of is left to change." in markdown_of(told)


def test_an_account_with_next_to_nothing_is_still_told() -> None:
    text = markdown_of(bare())
    assert text.startswith("# Debrief: Greenhouse fan controller\n")
    assert "## Waived" not in text
    assert "No essential is open now." in text


def test_a_list_is_numbered_where_its_order_counts() -> None:
    said = tuple(Said(f"{n}. step", "") for n in range(3))
    text = markdown_of(dataclasses.replace(small_account(), differently=said))
    assert "1. 0\\. step\n2. 1\\. step\n3. 2\\. step" in text


def bare() -> Account:
    """Nothing but a title and times."""
    told = small_account()
    empty = {
        field.name: ()
        for field in dataclasses.fields(told)
        if isinstance(getattr(told, field.name), tuple)
    }
    return dataclasses.replace(told, **empty, ended_at=None)


def test_what_left_the_board_is_not_counted_as_on_it() -> None:
    account = small_account()
    there = len(account.items)
    gone = dataclasses.replace(account.items[0], outcome="not on this board")
    moved = dataclasses.replace(account, items=(gone, *account.items[1:]))
    assert f"{there} items on this board." in markdown_of(account)
    assert f"{there - 1} items on this board." in markdown_of(moved)
