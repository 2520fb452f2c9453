"""The declared facts: each can be asked on the screen, and none is asked for nothing."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from pathlib import Path

import pytest

from phases.kit.facts import BOARD, PER, check_value, find_fact, load_facts
from phases.kit.items import all_items

BRIEFS = sorted((Path(__file__).parents[2] / "shared" / "briefs").glob("*.toml"))

NOT_FOR_ITEMS = {
    "parts_chosen": "the plan reads it: whether minutes for choosing parts come first",
}


def test_every_question_is_one_short_line_that_asks() -> None:
    for fact in load_facts().values():
        assert fact.question.endswith("?"), fact.id
        assert fact.question[0].isupper(), fact.id
        assert len(fact.question) <= 78, fact.id
        assert not any(unicodedata.category(c) == "Cc" for c in fact.question), fact.id


def test_no_two_facts_ask_the_same() -> None:
    questions = [fact.question for fact in load_facts().values()]
    assert len(set(questions)) == len(questions)


def test_ids_of_facts_can_be_keys_of_a_brief_without_quotes() -> None:
    assert all(re.fullmatch(r"[a-z][a-z0-9_]*", name) for name in load_facts())


def test_there_are_facts_of_the_board_and_of_every_kind_of_subject() -> None:
    assert {fact.per for fact in load_facts().values()} == set(PER)


def test_every_fact_is_there_for_an_item_or_has_another_reader() -> None:
    used = {fact for item in all_items() for table in item.when for fact in table}
    assert set(load_facts()) - used == set(NOT_FOR_ITEMS)


def test_every_choice_of_a_supply_and_a_battery_has_its_items() -> None:
    for name in ("supply", "battery_kind", "regulator", "bus_kind", "clock_kind"):
        wanted = {table[name] for item in all_items() for table in item.when if name in table}
        without = set(find_fact(name).choices) - {str(choice) for choice in wanted}
        assert without <= {"none", "internal", "other", "usb"}, name


def test_a_safe_assumption_never_takes_an_item_off() -> None:
    for name, fact in load_facts().items():
        if fact.default is None:
            continue
        wanted = [table[name] for item in all_items() for table in item.when if name in table]
        assert wanted and all(value == fact.default for value in wanted), name


@pytest.mark.parametrize("path", BRIEFS, ids=lambda path: path.stem)
def test_the_bundled_briefs_state_facts_that_exist_at_their_place(path: Path) -> None:
    brief = tomllib.loads(path.read_text())
    tables = [("board", BOARD, brief["facts"])]
    for kind in PER[1:]:
        tables += [(kind, row["id"], row.get("facts", {})) for row in brief.get(kind, [])]
    for kind, _, values in tables:
        for name, value in values.items():
            fact = find_fact(name)
            assert fact.per == kind, name
            check_value(fact, value)
