"""Naming one item of a sprint by a part of its key, or by its words."""

from __future__ import annotations

import pytest

from coach.sprint.brief.loading import load_brief
from coach.sprint.commands import Affirm
from coach.sprint.gates.item_search import item_named, items_with
from coach.sprint.state import NOT_HERE
from phases.kit.refusals import Refusal
from tests.sprint.conftest import Begin, Bench


@pytest.fixture
def board(begin: Begin) -> Bench:
    return begin(load_brief("usb-bench-meter"))


@pytest.mark.parametrize(
    ("name", "key"),
    [
        ("source-maximum", "source-maximum"),
        ("SOURCE-MAX", "source-maximum"),
        ("cc-pull-downs@j-usb", "cc-pull-downs@j-usb"),
        ("cc-pull-downs", "cc-pull-downs@j-usb"),
        ("receptacle 5.1 kΩ", "cc-pull-downs@j-usb"),
    ],
)
def test_an_item_is_named_by_its_key_a_part_of_it_or_its_words(
    board: Bench, name: str, key: str
) -> None:
    assert item_named(board.state, name).key == key


def test_where_several_are_meant_they_are_named(board: Bench) -> None:
    with pytest.raises(Refusal, match=r"\d+ items have 'clamp'\. Name one: .*, .* and \d+ more"):
        item_named(board.state, "clamp")


def test_where_none_is_meant_the_nearest_is_named(board: Bench) -> None:
    with pytest.raises(
        Refusal, match=r"There is no item 'sorce-maximum'\. Nearest: source-maximum"
    ):
        item_named(board.state, "sorce-maximum")


def test_what_was_said_not_to_be_here_is_found_too_but_stands_last(board: Bench) -> None:
    row = next(r for r in board.state.rows if r.applies is None and r.item.asks)
    board.do(Affirm(row.key, False))
    assert board.status(row.key) == NOT_HERE
    assert item_named(board.state, row.key).key == row.key
    found = items_with(board.state.rows, row.item.statement.split()[0])
    there = [one.status != NOT_HERE for one in found]
    assert row.key in [one.key for one in found]
    assert there == sorted(there, reverse=True)


def test_no_word_finds_nothing(board: Bench) -> None:
    assert items_with(board.state.rows, "  ") == []


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("BACK feed", ["no-back-feed"]),  # though it is not on this board
        ("debug", ["debug-pins"]),
        ("output main", ["output-seen@3v3"]),
        ("dark strap source", ["strap-source"]),
        ("[", []),
    ],
)
def test_an_item_is_found_by_all_its_words(bench: Bench, words: str, found: list[str]) -> None:
    assert [row.key for row in items_with(bench.state.rows, words)] == found
