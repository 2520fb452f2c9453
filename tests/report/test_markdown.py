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

from coach.report.markdown import escaped, markdown_of
from coach.report.sections import Point, Section, Table, TableRow
from phases.kit.text import one_line
from tests.report.sample_report import bare, small_report, with_section, with_texts

HOSTILE = (
    "# x | <b>",
    "$x^2$",
    "<script>alert(1)</script>",
    "&amp; &lt;",
    "1. one",
    "- dash",
    "> quote",
    "`code` ``` ~~~",
    "*a* _b_ **c**",
    "[a](http://b) ![c](d)",
    "---",
    "===",
    "| a | b |",
    "\\",
    "+ plus",
    "7) seven",
    "a\n# b\n\n---",
    "\tx",
    "<!-- x -->",
    ":---",
    "* * *",
    "http://a.example",
    "\\|",
    "a\\",
    "~~gone~~",
    "<https://a.example>",
    "    four blanks",
    "## ",
    "10.",
    "_",
    "__a__",
)


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
    assert one_text(escaped(typed)) == one_line(typed)


@given(st.text(alphabet=st.sampled_from("ab1 .)#-+=>|<&;*_`~[]()!\\:/$\n\t\"'Ω"), max_size=24))
def test_no_line_of_any_characters_gives_structure(typed: str) -> None:
    if one_line(typed):
        assert one_text(escaped(typed)) == one_line(typed)


@given(*[st.text(alphabet="ab |\\-:`<*_\n", max_size=12)] * 2)
def test_a_table_keeps_its_cells_whatever_is_typed_into_them(name: str, evidence: str) -> None:
    row = TableRow(("–", f"x{name}x", f"x{evidence}x"))
    table = Table("Items", ("closed", "item", "how"), (row,), names=1, numbers=(0,))
    report = dataclasses.replace(bare(), sections=(Section("items", "Items", tables=(table,)),))
    tokens = parsed(markdown_of(report))
    cells = [
        "".join(child.content for child in following.children or ())
        for token, following in pairwise(tokens)
        if token.type == "td_open"
    ]
    assert cells == ["–", one_line(f"x{name}x"), one_line(f"x{evidence}x")]


def test_hostile_texts_in_every_place_give_the_structure_of_harmless_ones() -> None:
    harmless = kinds(markdown_of(with_texts(small_report(), " x")))
    for typed in HOSTILE:
        assert kinds(markdown_of(with_texts(small_report(), f" {typed}"))) == harmless, typed


def said(point: Point) -> list[str]:
    below = [text for one in point.below for text in said(one)]
    return [point.mark, point.text, point.evidence, *below]


def test_everything_the_report_says_is_in_it() -> None:
    told = small_report()
    seen = " ".join(words(markdown_of(told)).split())
    texts = [told.title, told.ending, told.begun, *told.faults]
    for section in told.sections:
        texts += [section.title, section.lead]
        texts += [text for point in section.points for text in said(point)]
        for table in section.tables:
            texts += [table.caption, *table.columns, *(c for row in table.rows for c in row.cells)]
    assert [text for text in texts if text not in seen] == []


def test_it_opens_with_what_is_still_changeable_then_what_was_forgotten_then_the_sentences() -> (
    None
):
    titles = [
        following.content
        for token, following in pairwise(parsed(markdown_of(small_report())))
        if token.type == "heading_open" and token.tag == "h2"
    ]
    assert titles[:8] == [
        "Still changeable before production",
        "Forgotten",
        "In three sentences",
        "What was planned",
        "What happened",
        "Why they differ",
        "What to do differently",
        "Timeline",
    ]


def test_what_an_entry_is_about_is_a_list_below_it() -> None:
    assert (
        "2. 2 other essentials are open.\\\n   12 s to check, 4 min to fix\n"
        "   - Reset is pulled to a rail that is alive\\\n     Debug access, 6 s to check.\n"
    ) in markdown_of(small_report())


def test_a_report_with_next_to_nothing_is_still_told() -> None:
    text = markdown_of(bare())
    assert text.startswith("# Debrief: Greenhouse fan controller\n")
    assert "Nothing is left to change." in text
    assert "## Waived" not in text


def test_a_list_is_numbered_where_its_order_counts() -> None:
    steps = tuple(Point(f"{n}. step") for n in range(3))
    text = markdown_of(with_section(small_report(), "recommendations", points=steps))
    assert "1. 0\\. step\n2. 1\\. step\n3. 2\\. step" in text
