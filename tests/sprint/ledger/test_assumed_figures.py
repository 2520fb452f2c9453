"""Nothing is met by a figure nobody gave: a part's figure is typed, carded or confirmed first."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from coach.sprint.brief.document import Brief
from coach.sprint.brief.loading import load_brief
from coach.sprint.clock import ManualClock
from coach.sprint.commands import ConfirmFigures, Draw, EnterPhase, Meet, SaveCalculation
from coach.sprint.gates.advice import CONFIRM
from coach.sprint.gates.next_thing import next_thing
from coach.sprint.ledger.assumed_figures import assumed_parts
from coach.sprint.ledger.to_draw import undrawn
from coach.sprint.session import Session, start_sprint
from coach.sprint.state import ASSUMED, MET
from phases.kit.inputs import Given
from phases.kit.refusals import Refusal

BRIEFS = ("usb-bench-meter", "orchard-radio-tag", "pump-driver-24v")
REGULATOR = "linear-regulator@3v3"
HEADROOM = "linear-headroom@3v3"


def without_cards(name: str) -> Brief:
    """A bundled brief whose subjects name no part card."""
    brief = load_brief(name)
    bare = {
        field: tuple(
            one.model_copy(update={"part": None, "parts": {}}) for one in getattr(brief, field)
        )
        for field in ("rails", "buses", "connectors", "clocks", "loads")
    }
    return brief.model_copy(update=bare)


def begun(brief: Brief, folder: Path) -> Session:
    clock = ManualClock(datetime(2031, 3, 4, 9, 0, tzinfo=UTC))
    session = start_sprint(brief, folder / "sprint.toml", clock)
    session.do(EnterPhase("power-entry"))
    return session


@pytest.fixture
def bare(tmp_path: Path) -> Iterator[Session]:
    """The USB meter without cards, its regulator calculated on what nobody gave, and drawn."""
    session = begun(without_cards("usb-bench-meter"), tmp_path)
    session.do(SaveCalculation("linear-regulator", "3v3"))
    draw_all(session)
    yield session
    session.close()


def draw_all(session: Session) -> None:
    parts = tuple((part.calculation, part.role) for part in undrawn(session.state))
    if parts:
        session.do(Draw(parts))


def calculated(session: Session) -> None:
    """Every calculation that a row of this board cites, as the coach fills it in, all drawn."""
    from coach.sprint.ledger.calculation_choices import proving

    wanted = {
        key for row in session.state.rows if row.applies for key in proving(session.state, row)
    }
    for key in sorted(wanted):
        try:
            session.do(SaveCalculation(key.calculator, key.subject))
        except Refusal:
            continue
    draw_all(session)


@pytest.mark.parametrize("name", BRIEFS)
def test_with_nothing_typed_and_no_card_no_essential_closes_on_a_part_s_figure(
    name: str, tmp_path: Path
) -> None:
    with begun(without_cards(name), tmp_path) as session:
        calculated(session)
        closed = [row for row in session.state.rows if row.essential and row.status == MET]
        resting = [
            (row.key, one.name)
            for row in closed
            for cite in row.item.cites
            for saved in session.state.calculations.values()
            if saved.calculator == cite.partition(":")[0]
            and (saved.subject == row.subject or not row.subject)
            for one in saved.record.limits
            if one.name == cite.partition(":")[2] and one.assumed
        ]
        assert resting == []
        assert any(row.status == ASSUMED for row in session.state.rows) or name != BRIEFS[0]


def test_what_rests_on_a_default_is_assumed_and_open(bare: Session) -> None:
    row = bare.state.by_key[HEADROOM]
    assert row.status == ASSUMED
    assert not row.closed
    assert row.state is not None
    assert set(row.state.assumed) == {f"{REGULATOR} V_DO", f"{REGULATOR} V_inmin"}


def test_next_asks_for_the_figure_with_most_of_the_margin(bare: Session) -> None:
    bare.do(EnterPhase("regulation"))
    asked = next_thing(bare.state, bare.t)
    assert asked is not None
    row = bare.state.by_key["linear-heat@3v3"]
    assert assumed_parts(bare.state, row)[0].figures[0][0] == "T_Jmax"
    for _ in range(200):
        asked = next_thing(bare.state, bare.t)
        if asked is None or asked.row is None or asked.row.status == ASSUMED:
            break
        bare.do(Meet(asked.row.key)) if not asked.row.item.cites else bare.do(
            _waived(asked.row.key)
        )
    assert asked is not None and asked.kind == CONFIRM
    assert "assumed" in asked.answer


def _waived(key: str):  # type: ignore[no-untyped-def]
    from coach.sprint.commands import Waive

    return Waive(key, "not of interest here")


def test_one_key_confirms_what_is_shown_of_one_part(bare: Session) -> None:
    shown = assumed_parts(bare.state, bare.state.by_key["linear-heat@3v3"])
    assert [len(one.figures) for one in shown] == [6]
    bare.do(Meet("linear-heat@3v3"))
    assert bare.state.by_key["linear-heat@3v3"].status == MET
    inputs = bare.state.calculations[REGULATOR].record.inputs
    assert {name for name, one in inputs.items() if one.origin == "confirmed"} == set(
        shown[0].fields
    )
    # Of the same part what was not shown stays assumed.
    assert bare.state.by_key[HEADROOM].status == ASSUMED


def test_a_typed_figure_closes_and_a_card_does(tmp_path: Path) -> None:
    with begun(without_cards("usb-bench-meter"), tmp_path) as session:
        typed = {"V_DO": Given("0.28 V", "hand"), "V_inmin": Given("3.6 V", "hand")}
        session.do(SaveCalculation("linear-regulator", "3v3", given=typed))
        draw_all(session)
        assert session.state.by_key[HEADROOM].status == MET
    (tmp_path / "carded").mkdir()
    with begun(load_brief("usb-bench-meter"), tmp_path / "carded") as session:
        session.do(SaveCalculation("linear-regulator", "3v3"))
        draw_all(session)
        assert session.state.by_key[HEADROOM].status == MET
        assert session.state.by_key["linear-heat@3v3"].status == MET


def test_a_confirmation_is_of_one_part_and_of_what_is_assumed(bare: Session) -> None:
    with pytest.raises(Refusal, match="V_out"):
        bare.do(ConfirmFigures(REGULATOR, ("V_out",)))
    with pytest.raises(Refusal, match="Nothing to confirm"):
        bare.do(ConfirmFigures(REGULATOR, ()))


def test_undo_takes_a_confirmation_back(bare: Session) -> None:
    from coach.sprint.commands import Undo

    bare.do(Meet(HEADROOM))
    assert bare.state.by_key[HEADROOM].status == MET
    bare.do(Undo())
    assert bare.state.by_key[HEADROOM].status == ASSUMED


def test_what_another_calculation_assumed_holds_up_what_reads_it(tmp_path: Path) -> None:
    with begun(without_cards("pump-driver-24v"), tmp_path) as session:
        session.do(SaveCalculation("feedback-divider", "5v"))
        session.do(SaveCalculation("step-down", "5v"))
        session.do(
            SaveCalculation("linear-regulator", "3v3", given={"V_DO": Given("0.3 V", "hand")})
        )
        draw_all(session)
        row = session.state.by_key[HEADROOM]
        assert row.status == ASSUMED
        assert row.state is not None
        assert any(one.startswith("feedback-divider@5v ") for one in row.state.assumed)
        while session.state.by_key[HEADROOM].status == ASSUMED:
            session.do(Meet(HEADROOM))
        assert session.state.by_key[HEADROOM].status == MET
