"""`coach plan`: boxes, where the plan ends, and the items of this board, as text."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from coach.sprint.brief.loading import load_brief
from coach.sprint.clock import SystemClock
from coach.sprint.durations import duration
from coach.sprint.fold import begin
from coach.sprint.gates.gates import gate_rows
from coach.sprint.pace.plan import plan_of, progress_of
from coach.sprint.setup import setup_of
from coach.sprint.state import State
from phases.kit.facts import find_fact
from phases.kit.shared_data import list_shared, shared_dir
from tests.cli.conftest import Coach

BRIEFS = list_shared("briefs")


def state_of(name: str) -> State:
    return begin(setup_of(load_brief(name), SystemClock().wall()))


@pytest.fixture
def own_brief(tmp_path: Path) -> Path:
    """A copy of a bundled brief, to be changed."""
    path = tmp_path / "own.toml"
    text = (shared_dir() / "briefs" / "usb-bench-meter.toml").read_text(encoding="utf-8")
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize("name", BRIEFS)
def test_each_bundled_brief_has_its_boxes_and_where_they_end(coach: Coach, name: str) -> None:
    answer = coach("plan", name)
    assert (answer.code, answer.err) == (0, "")
    state = state_of(name)
    plan = plan_of(state)
    lines = answer.out.splitlines()
    assert lines[0] == state.setup.brief.title
    assert f"Cut-off {duration(state.deadline)} from the start" in lines[1]
    end = 0
    for box in plan.boxes:
        row = next(line for line in lines if line.strip().startswith(f"{box.name} "))
        assert f" {duration(box.seconds)} " in row
        end += round(box.seconds / 60)  # the column adds up as it is printed
        assert row.endswith(f" {end // 60}:{end % 60:02d}")
    spare = duration(state.deadline - 60 * end)
    assert f"it ends at {end // 60}:{end % 60:02d}: {spare} to spare." in answer.out
    assert abs(progress_of(state, 0.0, plan).ends / 60 - end) < len(plan.boxes) / 2


@pytest.mark.parametrize("name", BRIEFS)
def test_each_gate_row_stands_there_with_place_and_severity(coach: Coach, name: str) -> None:
    lines = coach("plan", name).out.splitlines()
    state = state_of(name)
    for phase in state.setup.phases:
        assert phase.title in lines
        for gate in gate_rows(state, phase.id):
            item = gate.item
            row = next(line for line in lines if item.statement in line)
            assert re.match(
                rf"  [-?]  {item.stage} +{item.severity} +{re.escape(item.statement)}", row
            )
            for cell in gate.cells:
                assert cell.title in row


def test_where_a_fact_is_not_known_its_question_is_asked(coach: Coach) -> None:
    lines = coach("plan", "usb-bench-meter").out.splitlines()
    asked = [
        row.question
        for row in state_of("usb-bench-meter").rows
        if row.applies is None and row.item.essential
    ]
    assert asked
    for question in asked:
        assert question is not None
        place = next(i for i, line in enumerate(lines) if find_fact(question).question in line)
        assert lines[place - 1].startswith("  ?  ")


def test_further_items_are_a_count_unless_asked_for(coach: Coach) -> None:
    short, whole = coach("plan", "usb-bench-meter"), coach("plan", "--all", "usb-bench-meter")
    state = state_of("usb-bench-meter")
    hidden = {
        r.item.statement for r in state.rows if not r.item.essential and r.applies is not False
    }
    closing = {item.statement for item in state.setup.closing.items}
    assert not [s for s in hidden | closing if s in short.out]
    assert not [s for s in hidden | closing if s not in whole.out]
    assert "more checks" in short.out


def test_what_is_not_on_this_board_is_left_out(coach: Coach) -> None:
    away = {r.item.statement for r in state_of("usb-bench-meter").rows if r.applies is False}
    there = {r.item.statement for r in state_of("usb-bench-meter").rows if r.applies is not False}
    whole = coach("plan", "usb-bench-meter", "--all").out
    assert away - there
    assert not [s for s in away - there if s in whole]


def test_a_plan_that_does_not_fit_says_by_how_much_it_is_short(
    coach: Coach, own_brief: Path
) -> None:
    text = own_brief.read_text(encoding="utf-8").replace("minutes = 120", "minutes = 60", 1)
    own_brief.write_text(text, encoding="utf-8")
    out = coach("plan", str(own_brief)).out
    boxes = plan_of(state_of(str(own_brief))).boxes
    short = sum(round(box.seconds / 60) for box in boxes) - 60
    assert short > 30
    assert f"short by {duration(60 * short)}." in out


def test_a_cut_off_is_shown_as_the_time_it_is(coach: Coach, own_brief: Path) -> None:
    text = own_brief.read_text(encoding="utf-8")
    text = text.replace("minutes = 120", 'cut_off = "2999-12-31 23:59"', 1)
    own_brief.write_text(text, encoding="utf-8")
    assert "Cut-off 2999-12-31 23:59, " in coach("plan", str(own_brief)).out


def test_a_cut_off_that_has_passed_is_refused(coach: Coach, own_brief: Path) -> None:
    text = own_brief.read_text(encoding="utf-8")
    text = text.replace("minutes = 120", 'cut_off = "2001-01-01 10:00"', 1)
    own_brief.write_text(text, encoding="utf-8")
    assert "not in the future" in coach("plan", str(own_brief)).sentence


def test_a_fault_in_a_brief_names_file_line_and_key(coach: Coach, own_brief: Path) -> None:
    text = own_brief.read_text(encoding="utf-8").replace("layers = 2", "layres = 2", 1)
    own_brief.write_text(text, encoding="utf-8")
    said = coach("plan", str(own_brief)).sentence
    line = text.splitlines().index("layres = 2") + 1
    assert f"own.toml, line {line}, board.layres" in said
    assert "Nearest: layers" in said
