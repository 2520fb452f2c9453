"""To draw: what saved calculations imply, until the person says it is drawn."""

from __future__ import annotations

from coach.sprint.commands import Draw, RemoveCalculation, SaveCalculation, Undo
from coach.sprint.ledger.to_draw import as_text, to_draw
from coach.sprint.state import MET, REOPENED
from tests.sprint.conftest import Bench


def said(bench: Bench) -> list[str]:
    return [part.message for part in to_draw(bench.state)]


def test_a_saved_calculation_says_what_is_to_draw_the_oldest_first(bench: Bench) -> None:
    bench.save("pull-up")
    bench.save("series-resistor", "3v3")
    assert said(bench) == ["10 kΩ, BOOT to 3v3", "100 nF, BOOT to GND", "10 Ω, into 3v3"]


def test_the_part_of_a_failing_calculation_says_that_it_fails(bench: Bench) -> None:
    bench.save("series-resistor", "3v3", V_least="4.95 V")
    assert said(bench) == ["10 Ω, into 3v3 (its calculation fails)"]


def test_what_is_drawn_is_off_the_list(bench: Bench) -> None:
    bench.save("pull-up")
    assert bench.do(Draw((("pull-up", "R"),))) == "1 part drawn"
    assert said(bench) == ["100 nF, BOOT to GND"]
    bench.save("series-resistor", "3v3")
    assert bench.do(Draw((("pull-up", "C"), ("series-resistor@3v3", "R")))) == "2 parts drawn"
    assert said(bench) == []


def test_a_changed_value_comes_back_as_a_change(bench: Bench) -> None:
    bench.save("series-resistor", "3v3", R="10 Ω")
    bench.draw_all()
    bench.save("series-resistor", "3v3", R="4.7 Ω")
    assert said(bench) == ["change 10 Ω, into 3v3 to 4.7 Ω, into 3v3"]
    assert bench.status("enough-left@3v3") == REOPENED
    bench.draw_all()
    assert bench.status("enough-left@3v3") == MET


def test_a_value_put_back_is_drawn_already(bench: Bench) -> None:
    bench.save("series-resistor", "3v3", R="10 Ω")
    bench.draw_all()
    bench.save("series-resistor", "3v3", R="4.7 Ω")
    bench.save("series-resistor", "3v3", R="10 Ω")
    assert said(bench) == []
    assert bench.status("enough-left@3v3") == MET


def test_a_part_belongs_to_its_calculation_and_role(bench: Bench) -> None:
    bench.save("series-resistor", "3v3")
    bench.save("series-resistor", "1v8", V_in="5 V")
    bench.save("series-resistor", "3v3", "spare")
    bench.do(Draw((("series-resistor@1v8", "R"),)))
    waiting = [(part.calculation, part.role) for part in to_draw(bench.state)]
    assert waiting == [("series-resistor@3v3", "R"), ("series-resistor@3v3.spare", "R")]


def test_a_removed_calculation_has_nothing_to_draw(bench: Bench) -> None:
    bench.save("pull-up")
    bench.do(RemoveCalculation("pull-up"))
    assert said(bench) == []


def test_undoing_a_drawn_part_puts_it_back_on_the_list(bench: Bench) -> None:
    bench.save("series-resistor", "3v3")
    bench.draw_all()
    bench.do(Undo())
    assert said(bench) == ["10 Ω, into 3v3"]


def test_only_what_is_waiting_can_be_drawn(bench: Bench) -> None:
    bench.save("pull-up")
    assert bench.refused(Draw(())) == "Nothing to draw."
    refused = bench.refused(Draw((("pull-up", "R"), ("pull-up", "L"))))
    assert refused == "L of pull-up is not on the draw list."
    assert said(bench) == ["10 kΩ, BOOT to 3v3", "100 nF, BOOT to GND"]


def test_the_list_can_be_copied_out(bench: Bench) -> None:
    bench.save("pull-up")
    bench.save("series-resistor", "3v3")
    bench.draw_all()
    bench.save("series-resistor", "3v3", R="8.2 Ω")
    bench.save("pull-up", label="boot1")
    assert as_text(to_draw(bench.state)) == (
        "change 10 Ω, into 3v3 to 8.2 Ω, into 3v3  (series-resistor@3v3)\n"
        "10 kΩ, BOOT to 3v3  (pull-up.boot1)\n"
        "100 nF, BOOT to GND  (pull-up.boot1)"
    )


def test_two_parts_of_one_role_are_told_apart(bench: Bench) -> None:
    states = [
        {"state": "button", "expect": "override", "path": "other"},
        {"state": "button", "expect": "override", "path": "other", "R": "1 Ω"},
    ]
    bench.do(SaveCalculation("strap", given={"states": states, "R_pull": "10 kΩ ± 5 %"}))
    roles = [part.role for part in to_draw(bench.state)]
    assert len(roles) == len(set(roles)) > 1
    bench.draw_all()
    assert said(bench) == []


def test_a_part_of_many_words_is_drawn_like_any_other(bench: Bench) -> None:
    bench.do(SaveCalculation("strap", given={"pin": "B" * 400, "R_pull": "10 kΩ ± 5 %"}))
    assert all(len(words) <= 400 for words in said(bench))
    bench.draw_all()
    assert said(bench) == []
