"""What is printed where there is much: what can hurt somebody or kill the board is not left out."""

from __future__ import annotations

import dataclasses
import re

import pytest

from coach.debrief.account.data import Account
from coach.debrief.account.telling import account_of
from coach.debrief.report import paper
from coach.debrief.report.html import html_of
from coach.debrief.report.sections import Point, Section, sections_of
from coach.history.read_sprint import read_sprint
from coach.sprint.brief.document import load_brief
from coach.sprint.rehearsal.rehearse import rehearse
from tests.debrief.sample_account import item, small_account


@pytest.fixture(scope="module")
def given_up(tmp_path_factory: pytest.TempPathFactory) -> Account:
    path = tmp_path_factory.mktemp("up") / "up.toml"
    rehearse(load_brief("pump-driver-24v"), pace=9.0, forget=0.5, path=path)
    return account_of(read_sprint(path))


def on_paper(page: str) -> str:
    """The page without what only a screen shows."""
    without = re.sub(r"<details.*?</details>", "", page, flags=re.DOTALL)
    return re.sub(r'<li class="off-paper">.*?</li>', "", without)


def test_every_grave_item_is_printed_before_any_other_open_one_is(given_up: Account) -> None:
    printed = on_paper(html_of(given_up))
    assert len(given_up.forgotten) > 40
    rows = set(re.findall(r'<th scope="row">(.*?)</th>', printed.partition("Every item")[2]))
    names = {one.name: one.grave for one in given_up.forgotten}
    shown = {name for name in names if name.replace("'", "&#39;") in rows}
    if any(not names[name] for name in shown):
        assert all(name in shown for name, grave in names.items() if grave)
    assert all(
        one.name.rstrip(".").replace("'", "&#39;") in printed
        for one in given_up.forgotten if one.grave
    )  # fmt: skip


def test_what_is_left_out_says_where_it_is(given_up: Account) -> None:
    page = html_of(given_up)
    folds = re.findall(r"<summary>(.*?)</summary>", page)
    assert folds
    assert all(
        re.fullmatch(r'\d+ more<span class="on-paper"> in the file itself</span>', one)
        for one in folds
    )


def test_of_a_list_too_long_for_the_sheet_as_many_are_printed_as_have_room() -> None:
    names = tuple(f"Item number {n} of this board, with a name of some length" for n in range(200))
    point = Point("200 items that can kill the board are open.", names=names, grave=True)
    rest = [Section(one, one, points=(Point("A sentence."),)) for one in paper.MOST_FIRST]
    sections = [
        dataclasses.replace(one, points=(Point("Hazard: A.", grave=True), point))
        if one.id == "changeable" else one
        for one in rest
    ]  # fmt: skip
    held = paper.sheets(sections, 0, 0)
    assert held.numbers["changeable"] == 2
    assert 10 < held.names["changeable"] < 200
    assert all(held.numbers[one] == 1 for one in paper.MOST_FIRST if one != "changeable")


def test_a_name_is_cut_to_a_line_only_where_what_went_astray_has_no_room_else() -> None:
    few = next(one for one in sections_of(small_account()) if one.id == "timeline")
    held = paper.sheets([few], 0, 0)
    assert held.whole == held.items
    astray = tuple(
        item(f"a{n}", f"Item {n} with a name that is a good deal longer than one line", "layout",
             outcome="open", closed=None)
        for n in range(120)
    )  # fmt: skip
    account = dataclasses.replace(small_account(), items=astray)
    many = next(one for one in sections_of(account) if one.id == "timeline")
    held = paper.sheets([many], 0, 0)
    assert held.items == 120
    assert 0 < held.whole < 120
    page = html_of(account)
    assert page.count('<tr class="marked grave cut">') > 0
