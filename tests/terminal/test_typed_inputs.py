"""What is typed into a calculator: read at every key, judged at once, never lost."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from coach.sprint.commands import DeclareValue, SaveCalculation
from coach.sprint.keys import CalculationKey
from coach.sprint.session import Session
from coach.terminal.typed_inputs import TypedInputs, opened_for
from coach.terminal.typed_rows import TypedRows, cell_at, cell_span, split_cells
from phases.kit import Bound, Calculator, Quantity, below, judge, limit, output
from phases.kit.arrays import Array
from phases.kit.catalogue import calculator
from phases.kit.refusals import Refusal
from phases.kit.tables import Column
from tests.terminal.driving import begun


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    with begun(tmp_path) as session:
        yield session


def opened(name: str, **given: object) -> TypedInputs:
    return TypedInputs(calculator(name)(given))


def line_of(typed: TypedInputs, key: str) -> tuple[str, str]:
    """(text, origin) of a line."""
    return next((one.text, one.origin) for one in typed.lines() if one.key == key)


def unread(typed: TypedInputs, key: str) -> str:
    return next(one.unread for one in typed.lines() if one.key == key)


def verdict(typed: TypedInputs) -> str:
    assert typed.judgement is not None
    return typed.judgement.verdict


# ---- fields --------------------------------------------------------------------------------------


def test_what_is_typed_is_judged_at_once() -> None:
    typed = opened("linear-regulator")
    assert verdict(typed) == "pass"
    typed.type("I_out", "400 mA")
    assert verdict(typed) == "fail"
    assert line_of(typed, "I_out") == ("400 mA", "hand")


def test_what_cannot_be_read_says_so_and_the_last_good_result_stays() -> None:
    typed = opened("linear-regulator", I_out="400 mA")
    before = typed.judgement
    typed.type("I_out", "3,3")
    assert typed.judgement is not None and before is not None
    assert typed.judgement.output("P_D") == before.output("P_D")
    assert typed.text("I_out") == "3,3"
    assert unread(typed, "I_out") == "'3,3' has a comma in a number. Use a point, as in 3.3."
    assert typed.trouble == ("I_out", f"load current: {unread(typed, 'I_out')}")


def test_an_unread_text_waits_while_another_field_is_typed() -> None:
    typed = opened("linear-regulator")
    typed.type("I_out", "lots")
    typed.leave("I_out")
    typed.type("V_DO", "0.2 V")
    assert typed.text("I_out") == "lots"
    assert unread(typed, "I_out")
    typed.type("I_out", "100 mA")
    assert typed.trouble is None


def test_a_cleared_field_goes_back_to_what_stood_there() -> None:
    typed = opened("linear-regulator", I_out="400 mA")
    typed.type("I_out", "")
    assert line_of(typed, "I_out") == ("150 mA", "default")
    assert typed.what_counts("I_out") == "default 150 mA"
    assert not typed.given()


def test_restoring_takes_an_unread_text_away() -> None:
    typed = opened("linear-regulator")
    typed.type("I_out", "lots")
    typed.restore("I_out")
    assert typed.trouble is None
    assert not typed.changed


def test_the_ledger_stands_beside_what_a_hand_typed(session: Session) -> None:
    typed = TypedInputs(opened_for(session.state, CalculationKey.of("linear-regulator", "3v3")))
    assert line_of(typed, "V_in")[1] == "brief"
    typed.type("V_in", "12 V")
    one = next(one for one in typed.lines() if one.key == "V_in")
    assert (one.text, one.origin, one.beside) == ("12 V", "hand", "4.75 .. 5.25 V")


def test_the_beginning_of_a_word_picks_a_choice() -> None:
    typed = opened("strap")
    typed.type("level", "hi")
    assert line_of(typed, "level") == ("high", "hand")
    assert typed.given()["level"].value == "high"
    typed.leave("level")
    assert typed.text("level") == "high"


def test_options_are_turned_in_a_ring() -> None:
    typed = opened("strap")
    assert typed.turned("level", 1) == "high"
    assert typed.turned("level", 2) == "low"
    assert typed.turned("pin", 1) == ""
    assert opened("type-c-sink").turned("reads", 1) == "yes"


# ---- proposals -----------------------------------------------------------------------------------


def test_a_blank_field_shows_what_is_proposed_and_is_blank_to_type_in() -> None:
    typed = opened("strap")
    assert line_of(typed, "R_pull") == ("10 kΩ ± 5 %", "proposed")
    assert typed.text("R_pull") == ""
    assert typed.what_counts("R_pull") == "proposed 10 kΩ ± 5 %"


def test_what_is_kept_is_what_a_hand_gave_and_the_proposal_frozen() -> None:
    typed = opened("strap")
    typed.type("t", "2 ms")
    given = typed.given()
    assert {name: (one.value, one.origin) for name, one in given.items()} == {
        "R_pull": ("10 kΩ ± 5 %", "proposed"),
        "t": ("2 ms", "hand"),
    }


def test_a_key_does_not_wait_for_another_proposal() -> None:
    typed = opened("indicator")
    first = line_of(typed, "R")
    typed.type("V", "5 V ± 5 %")
    assert typed.behind
    assert line_of(typed, "R") == first
    assert typed.judgement is not None
    assert typed.judgement.rows("V_R")[""].typ == pytest.approx(3.0)
    typed.propose()
    assert not typed.behind
    assert line_of(typed, "R") == ("1.5 kΩ ± 5 %", "proposed")  # 3 V / 2 mA, a value of E24


def test_what_a_thread_proposed_is_what_propose_gives() -> None:
    typed = opened("indicator")
    typed.type("V", "5 V ± 5 %")
    calculation = typed.to_propose()
    assert calculation is not None
    typed.proposed(judge(calculation))
    assert line_of(typed, "R")[0] == "1.5 kΩ ± 5 %"
    assert typed.to_propose() is None


def test_a_hand_typed_part_of_a_pair_has_the_other_proposed_at_once() -> None:
    typed = opened("feedback-divider")
    typed.type("R1", "100 kΩ")
    assert not typed.behind
    assert line_of(typed, "R1") == ("100 kΩ", "hand")
    # 3.3 V = 0.8 V (1 + R1 / R2) gives R2 = 32 kΩ; the nearest of E96 is 32.4 kΩ or 31.6 kΩ.
    assert line_of(typed, "R2")[0].split(" ± ")[0] in ("32.4 kΩ", "31.6 kΩ")


def test_another_proposal_can_be_taken_and_is_no_hand() -> None:
    typed = opened("strap")
    found = typed.candidates("R_pull")
    assert found is not None
    _, offered = found
    assert [one.verdict for one in offered[:2]] == ["pass", "pass"]
    typed.take(offered[1].values)
    assert line_of(typed, "R_pull") == (offered[1].values["R_pull"], "proposed")
    assert typed.text("R_pull") == offered[1].values["R_pull"]
    assert typed.changed
    assert typed.candidates("t") is None


# ---- tables --------------------------------------------------------------------------------------

MCU = "mcu | 3v3 | 35 mA | 60 mA | 100 % | 1"


def test_a_row_is_a_line_of_text() -> None:
    typed = opened("load-budget")
    assert typed.text("consumers#0") == "microcontroller | 3v3 | 40 mA | 80 mA | 100 % | 1"
    typed.type("consumers#0", MCU)
    given = typed.given()["consumers"]
    assert given.value[0]["consumer"] == "mcu"
    assert given.value[1]["consumer"] == "sensor"
    assert given.origin == "hand"


def test_cells_that_may_be_empty_take_their_default() -> None:
    typed = opened("load-budget")
    typed.type("consumers#0", "mcu | 3v3 | 35 mA | 60 mA")
    assert typed.given()["consumers"].value[0]["duty"] == "100 %"


def test_a_row_that_cannot_be_read_names_its_cell_and_keeps_its_last_values() -> None:
    typed = opened(
        "load-budget",
        consumers=[{"consumer": "mcu", "rail": "3v3", "typical": "1 A", "peak": "2 A"}],
    )
    typed.type("consumers#0", "mcu | 3v3 | 1 V | 2 A")
    assert unread(typed, "consumers#0").startswith("typical: V is ")
    assert typed.given()["consumers"].value[0]["typical"] == "1 A"
    assert typed.trouble == ("consumers#0", f"loads, row 1: {unread(typed, 'consumers#0')}")


def test_the_empty_line_at_the_end_adds_a_row() -> None:
    typed = opened("load-budget")
    assert [one.key for one in typed.lines() if one.field == "consumers"][-1] == "consumers#3"
    assert typed.text("consumers#3") == ""
    typed.type("consumers#3", "radio | 3v3 | 10 mA | 90 mA")
    assert len(typed.given()["consumers"].value) == 4
    assert [one.key for one in typed.lines() if one.field == "consumers"][-1] == "consumers#4"


def test_an_emptied_row_counts_for_nothing_and_goes_when_it_is_left() -> None:
    typed = opened("load-budget")
    typed.type("consumers#1", "")
    assert len(typed.given()["consumers"].value) == 2
    assert len([one for one in typed.lines() if one.field == "consumers"]) == 4
    typed.leave("consumers#1")
    assert len([one for one in typed.lines() if one.field == "consumers"]) == 3
    assert typed.text("consumers#1").startswith("indicator")


def test_a_row_can_be_copied() -> None:
    typed = opened("load-budget")
    assert typed.copy_row("consumers#0") == "consumers#1"
    assert typed.text("consumers#1") == typed.text("consumers#0")


def test_cells_of_a_spreadsheet_become_rows() -> None:
    typed = opened("load-budget")
    pasted = "radio\t3v3\t10 mA\t90 mA\ndisplay\t3v3\t15 mA\t25 mA\r\n"
    assert typed.paste_rows("consumers#3", pasted) == "consumers#4"
    assert [row["consumer"] for row in typed.given()["consumers"].value][3:] == ["radio", "display"]


def test_pasted_rows_pass_the_door_for_text() -> None:
    typed = opened("load-budget")
    typed.paste_rows("consumers#3", "ra\x1b[31mdio\t3v3\t10 mA\t90 mA\nled\t3v3\t1 mA\t\x072 mA")
    assert typed.text("consumers#3") == "radio | 3v3 | 10 mA | 90 mA |  | "


def test_rows_with_too_many_cells_are_refused_and_nothing_changes() -> None:
    typed = opened("load-budget")
    with pytest.raises(Refusal, match="7 cells, for 6 columns"):
        typed.paste_rows("consumers#3", "a\tb\tc\td\te\tf\tg")
    assert not typed.given()


def test_inputs_that_do_not_hang_together_say_so_until_they_do() -> None:
    typed = opened("load-budget")
    typed.type("consumers#0", "mcu | 5v0 | 35 mA | 60 mA")
    assert "no rail '5v0'" in typed.refusal
    assert typed.trouble == ("", typed.refusal)
    typed.type("rails#2", "5v0 | vbus | linear | 5 V")
    assert typed.trouble is None


def test_a_table_goes_back_to_what_the_brief_has(session: Session) -> None:
    typed = TypedInputs(opened_for(session.state, CalculationKey("load-budget")))
    before = typed.text("consumers#0")
    typed.type("consumers#0", "")
    typed.leave("consumers#0")
    typed.restore("consumers#0")
    assert typed.text("consumers#0") == before
    assert not typed.given()


def test_cells_end_at_a_bar_else_at_a_tab_else_at_a_semicolon() -> None:
    assert split_cells("a;b | c") == ["a;b", "c"]
    assert split_cells("a;b\tc") == ["a;b", "c"]
    assert split_cells("a; b") == ["a", "b"]
    assert cell_at("a | b | c", 5) == 1
    assert cell_span("a | bcd | e", 1) == (4, 7)


def test_pasting_into_an_emptied_row_takes_its_place() -> None:
    columns = {"name": Column("name", "text"), "i": Column("i", "A")}
    rows = TypedRows(columns, [{"name": "a", "i": "1 A"}, {"name": "b", "i": "2 A"}])
    rows.type(0, "")
    assert rows.paste(0, "c | 3 A\nd | 4 A") == 1
    assert [row["name"] for row in rows.read] == ["c", "d", "b"]


# ---- what a formula cannot digest ----------------------------------------------------------------


class Fragile(Calculator, name="fragile", title="Fragile", per="board", source="a test's own"):
    """Divides as plain Python does."""

    R = Quantity("Ω", "resistor", default="1 kΩ")

    @output("A", "current")
    def I(self) -> Array:  # noqa: E743
        return self.R * 0.0 + 1.0 / float(self.R.max())

    @limit("Current", unit="A")
    def current(self) -> Bound:
        return below(self.I, 1.0)


def test_a_formula_that_fails_ends_in_a_sentence() -> None:
    typed = TypedInputs(Fragile())
    typed.type("R", "0 Ω")
    assert typed.refusal == "Fragile cannot be computed with these values. Change one of them."
    assert verdict(typed) == "pass"
    typed.type("R", "0.5 Ω")
    assert typed.refusal == ""
    assert verdict(typed) == "fail"


# ---- the sprint round it -------------------------------------------------------------------------


def test_a_saved_calculation_opens_with_what_was_given(session: Session) -> None:
    rows = [{"consumer": "mcu", "rail": "3v3", "typical": "1 mA", "peak": "2 mA"}]
    session.do(SaveCalculation("load-budget", given={"consumers": rows, "I_source": "1 A"}))
    typed = TypedInputs(opened_for(session.state, CalculationKey("load-budget")))
    assert line_of(typed, "I_source") == ("1 A", "hand")
    assert typed.text("consumers#0") == "mcu | 3v3 | 1 mA | 2 mA | 100 % | 1"
    assert not typed.changed


def test_a_proposed_pick_stays_frozen_when_it_is_opened_again(session: Session) -> None:
    typed = TypedInputs(opened_for(session.state, CalculationKey.of("indicator", "3v3")))
    pick = line_of(typed, "R")[0]
    session.do(SaveCalculation("indicator", "3v3", given=typed.given()))
    session.do(DeclareValue("rail.3v3.window", "3.6 .. 4.2 V"))
    again = TypedInputs(opened_for(session.state, CalculationKey.of("indicator", "3v3")))
    assert line_of(again, "R") == (pick, "proposed")
    assert again.text("R") == pick


def test_a_value_changed_in_the_sprint_reaches_what_is_open(session: Session) -> None:
    typed = TypedInputs(opened_for(session.state, CalculationKey.of("linear-regulator", "3v3")))
    typed.type("I_out", "200 mA")
    session.do(DeclareValue("rail.vbus.window", "8 .. 9 V"))
    typed.follow(
        opened_for(session.state, CalculationKey.of("linear-regulator", "3v3"), given=typed.raw)
    )
    assert line_of(typed, "V_in") == ("8 .. 9 V", "brief")
    assert line_of(typed, "I_out") == ("200 mA", "hand")
    assert verdict(typed) == "fail"


def test_a_subject_that_is_not_there_is_refused(session: Session) -> None:
    with pytest.raises(Refusal, match="no rail '5v0'"):
        opened_for(session.state, CalculationKey.of("linear-regulator", "5v0"))
