"""Trends as text for eighty columns, as CSV and as JSON."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import pytest

from coach.history.ended import EndedSprint, ended_sprint
from coach.history.trends import Trends, trends_of
from coach.history.trends_tables import COLUMNS, csv_of, json_of, write_table
from coach.history.trends_text import WIDTH, trends_text
from coach.sprint.events.summary import ForecastOutcome, LateFinding
from phases.kit.items import CLOSING_ID, Item
from phases.kit.refusals import Refusal
from tests.history.conftest import Script
from tests.history.lines import ITEMS, MISSED, THERE, item, sprint


def past(missed: str, **more: Any) -> list[EndedSprint]:
    return [
        sprint(n, {"strap-level": MISSED if one == "x" else THERE}, **more)
        for n, one in enumerate(missed)
    ]


def changed(**fields: Any) -> Item:
    return ITEMS["strap-level"].model_copy(update=fields)


def text(trends: Trends) -> str:
    return "\n".join(trends_text(trends))


# ---- text ------------------------------------------------------------------------------------


def test_it_says_how_many_sprints_and_how_often_each_item_was_forgotten() -> None:
    said = text(trends_of(past("xoxoooxo")))
    assert "8 sprints from 2028-01-03 to 2028-01-10." in said
    assert "Orders accepted: 8, by the cut-off: 8." in said
    assert "3 essentials were forgotten, of 8 that were due." in said
    row = next(line for line in said.splitlines() if "strap-level" in line)
    assert row.split() == ["strap-level", "*", "3", "of", "8", "14", "to", "69", "%", *"····"]
    assert "The strap has its level (again twice)" in said


def test_under_ten_sprints_it_counts_and_claims_nothing() -> None:
    said = text(trends_of(past("xxxxoooo", pace=1.0)))
    assert "8 sprints: counts only, no trend under 10." in said
    assert "twice as many" not in said


def test_from_ten_on_it_says_better_worse_or_that_no_trend_is_seen() -> None:
    lines = [sprint(n, pace=2 * n**-0.3219) for n in range(1, 12)]
    said = " ".join(text(trends_of(lines)).split())
    assert "Pace: it gets better; twice as many sprints bring it to 80 % of before" in said
    said = " ".join(text(trends_of([sprint(n, pace=n**0.2) for n in range(1, 12)])).split())
    assert "Pace: it gets worse; twice as many sprints bring it to 115 % of before" in said
    mixed = [sprint(n, pace=1 + 0.1 * (n % 2)) for n in range(1, 12)]
    assert "Pace: no trend in 11 sprints; twice as many leave it at 9" in " ".join(
        text(trends_of(mixed)).split()
    )


def test_ten_sprints_of_which_few_tell_a_pace_claim_nothing_of_it() -> None:
    lines = [sprint(n, pace=1 / n if n < 5 else None) for n in range(1, 12)]
    said = " ".join(text(trends_of(lines)).split())
    assert "Pace: known of 4 sprints, no trend under 10." in said


def flat(trends: Trends) -> str:
    return " ".join(text(trends).split())


def test_of_a_mixture_it_says_how_many_are_rehearsed_and_what_the_own_ones_say() -> None:
    lines = [*past("xxxx", rehearsed=True), *past("x", speed=60.0), *past("xooo")]
    said = flat(trends_of(lines))
    assert "9 sprints" in said
    assert "5 of them rehearsed (4 simulated, 1 with a faster clock)." in said
    assert "Your own 4 sprints alone: orders accepted 4, forgotten 1 of 4." in said
    assert "(again 5 times, your own 1 of 4)" in said
    assert "Forgotten, own and rehearsed together" in said
    assert "Shown for your own sprints alone. 4 sprints of your own: counts only" in said


def test_of_rehearsed_sprints_nothing_is_claimed_and_it_says_why() -> None:
    better = [sprint(n, pace=2 / n, rehearsed=True) for n in range(1, 14)]
    said = flat(trends_of(better))
    assert "all rehearsed (13 simulated)." in said
    assert said.endswith("Not shown for rehearsed sprints.")
    assert "twice as many" not in said
    own = [sprint(n, pace=1 + 0.1 * (n % 2)) for n in range(20, 31)]
    mixed = flat(trends_of([*better, *own]))
    assert "Pace: no trend in 11 sprints" in mixed
    assert "it gets" not in mixed


def test_sprints_given_up_at_once_are_left_out_and_said_with_their_number() -> None:
    at_once = past("xx", given_up=True, accepted=False)
    assert (
        "2 sprints were given up at once, within the first tenth of the time and without an "
        "order: left out of rates, pace and claims."
    ) in flat(trends_of([*past("xo"), *at_once]))
    alone = flat(trends_of(at_once[:1]))
    assert alone.startswith("1 sprint was given up at once")


def test_what_was_only_asked_is_said_and_not_forgotten() -> None:
    only = sprint(5, {"strap-level": {"here": 0, "asked": 1}})
    said = flat(trends_of([*past("xx"), only]))
    assert "2 essentials were forgotten, of 2 that were due." in said
    assert "1 more was never answered; not counted." in said
    assert "(again once, only asked in 1)" in said


def test_a_fault_of_which_a_house_rule_was_made_is_asked_for_now(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    faults = (LateFinding("Lead too thin", "", None, "lead"), LateFinding("Label", "", None))
    said = flat(trends_of([sprint(1, findings=faults)]))
    now = "No item asked for; a house rule of yours asks for it now: Lead too thin: lead"
    assert f"{now} No item asks for: Label" in said
    rule = item("The lead carries its current", "power-entry", "hazard", essential=True)
    monkeypatch.setitem(ITEMS, "lead", rule)
    later = sprint(2, {"lead": THERE})
    assert "Lead too thin: The lead carries its current" in flat(
        trends_of([sprint(1, findings=faults), later])
    )


def test_of_many_items_the_text_has_the_worst_and_says_how_many_more() -> None:
    many = {f"item-{n}": MISSED for n in range(40)}
    assert "  and 25 more: --csv has all" in trends_text(trends_of([sprint(1, many)]))


def test_nothing_forgotten_is_said_in_a_sentence() -> None:
    assert "No essential was forgotten, late or waived" in text(trends_of(past("oo")))


def test_no_sprint_at_all_is_one_sentence() -> None:
    assert trends_text(trends_of([])) == ["No sprint has ended yet: there is nothing to count."]


def test_late_findings_say_what_they_cost_and_which_no_item_asks_for() -> None:
    faults = (
        LateFinding("Clock and data exchanged", "debug-pins", 25.0),
        LateFinding("The label covers a pad", "", 10.0),
    )
    said = text(trends_of([sprint(1, findings=faults)]))
    assert "2 faults found late, 1 let through by an item. They cost 35 min." in said
    assert "The label covers a pad" in said


def test_forecasts_show_what_was_said_and_what_came() -> None:
    marks = (ForecastOutcome(50, 0.9, True, True, 60.0),)
    said = text(trends_of([sprint(n, forecasts=marks) for n in range(10)]))
    row = next(line for line in said.splitlines() if "at 50 %" in line)
    assert "10 of 10" in row
    assert "72 to 100 %" in row


def test_what_is_typed_in_a_header_stays_on_its_line_and_in_the_page() -> None:
    faults = tuple(LateFinding("word " * 70, "", 1e7) for _ in range(30))
    many = {f"an-item-of-a-very-long-name-{n}": MISSED | {"late": 3} for n in range(40)}
    for lines in (
        [sprint(n, many, findings=faults, pace=1.3) for n in range(12)],
        [sprint(n, many, pace=900.0) for n in range(1, 13)],
        past("x" * 1200),
    ):
        for line in trends_text(trends_of(lines)):
            assert len(line) <= WIDTH, line
            assert line == line.rstrip()


# ---- CSV -------------------------------------------------------------------------------------


def rows(trends: Trends) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(csv_of(trends), newline="")))


def test_the_csv_has_a_row_an_item_and_says_its_columns() -> None:
    table = rows(trends_of(past("xoxoooxo")))
    assert table[0].keys() == COLUMNS.keys()
    assert table[0]["item"] == "strap-level"
    assert (table[0]["sprints"], table[0]["forgotten"]) == ("8", "3")
    assert (table[0]["rate_low"], table[0]["rate_high"]) == ("0.1368", "0.6943")
    assert table[0]["cautious_rate"] == "0.2353"
    assert (table[0]["essential"], table[0]["asked_first"]) == ("yes", "yes")


def test_a_habit_of_the_closing_list_is_not_said_to_be_asked_first(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    about = changed(phase=CLOSING_ID)
    monkeypatch.setitem(ITEMS, "strap-level", about)
    trends = trends_of(past("xxx"))
    assert trends.items[0].yours
    assert rows(trends)[0]["asked_first"] == "no"
    plain = json.loads(json_of(trends, past("xxx")))["counts"]["items"][0]
    assert (plain["yours"], plain["asked_first"]) == (True, False)
    assert "worst first (the closing list keeps its order)." in text(trends)


@pytest.mark.parametrize("typed", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", '=HYPERLINK("x","y")'])
def test_no_cell_is_a_formula(typed: str, monkeypatch: pytest.MonkeyPatch) -> None:
    about = changed(statement=typed)
    monkeypatch.setitem(ITEMS, "strap-level", about)
    table = rows(trends_of(past("x")))
    assert table[0]["statement"] == f"'{typed}"


def test_quotes_commas_and_line_ends_stay_in_their_cell(monkeypatch: pytest.MonkeyPatch) -> None:
    typed = 'a "b", c\nd;e'
    monkeypatch.setitem(ITEMS, "strap-level", changed(statement=typed))
    assert [row["statement"] for row in rows(trends_of(past("x")))] == [typed]


# ---- JSON ------------------------------------------------------------------------------------


def test_the_json_has_everything(scripts: list[Script]) -> None:
    lines = [ended_sprint(script.path) for script in scripts]
    trends = trends_of(lines)
    plain = json.loads(json_of(trends, lines))
    assert plain["counts"]["sprints"] == len(scripts)
    assert plain["counts"]["enough_for_a_trend"] is False
    assert len(plain["counts"]["items"]) == len(trends.items)
    assert [one["forgotten"] for one in plain["sprints"]] == [
        one.summary.forgotten for one in lines
    ]
    items = plain["sprints"][0]["items"]
    assert {one["item"]: one.get("late", 0) for one in items} == {
        item: one.late for item, one in lines[0].summary.by_item.items()
    }
    assert plain["counts"]["pace"]["claim"] == ""


def test_what_is_no_number_is_null_in_json() -> None:
    lines = [sprint(1, pace=1.0), sprint(2, pace=2.0)]
    text = json_of(trends_of(lines), lines)
    plain = json.loads(text, parse_constant=pytest.fail)
    assert plain["counts"]["pace"]["low"] is None


# ---- files -----------------------------------------------------------------------------------


def test_a_table_of_an_older_coach_gives_way_too(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text("item,statement,phase,severity,essential,sprints,forgotten,again\r\n", "utf-8")
    write_table(path, csv_of(trends_of(past("x"))))
    assert "own_sprints" in path.read_text(encoding="utf-8")


def test_a_table_gives_way_to_a_later_one_and_nothing_else_does(tmp_path: Path) -> None:
    trends = trends_of(past("xo"))
    for name, made in (("a.csv", csv_of(trends)), ("a.json", json_of(trends, past("xo")))):
        path = tmp_path / name
        write_table(path, made)
        write_table(path, made)
        assert path.read_bytes().decode() == made
    mine = tmp_path / "journal.toml"
    mine.write_text("[journal]\nversion = 1\n", encoding="utf-8")
    with pytest.raises(Refusal, match="it holds no trends"):
        write_table(mine, "item")
    assert mine.read_text(encoding="utf-8") == "[journal]\nversion = 1\n"
