"""The values shown of a board are those of the ledger, with where each is from."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from coach.sprint.brief.loading import load_brief
from coach.sprint.clock import ManualClock
from coach.sprint.commands import DeclareValue, DropSubject, SaveCalculation
from coach.sprint.ledger.known_values import BRIEF, CHANGED, NOT_GIVEN, KnownValue, known_values
from coach.sprint.ledger.ledger import Ledger
from coach.sprint.session import Session, start_sprint
from phases.kit.notation import read_quantity


@pytest.fixture
def session(tmp_path: Path) -> Session:
    clock = ManualClock(datetime(2031, 5, 5, 9, 0, tzinfo=UTC))
    return start_sprint(load_brief("usb-bench-meter"), tmp_path / "s.toml", clock)


def one(session: Session, name: str) -> KnownValue:
    return next(known for known in known_values(session.state) if known.name == name)


def test_a_value_of_the_brief_is_shown_as_it_was_written(session: Session) -> None:
    window = one(session, "rail.vbus.window")
    assert (window.value, window.origin, window.subject) == ("4.75 .. 5.25 V", BRIEF, "vbus")
    assert window.meaning == "declared voltage window of the rail"


def test_a_changed_one_says_so(session: Session) -> None:
    session.do(DeclareValue("rail.vbus.window", "4.5 .. 5.5 V"))
    window = one(session, "rail.vbus.window")
    assert (window.value, window.origin) == ("4.5 .. 5.5 V", CHANGED)


def test_one_the_brief_could_give_and_did_not_can_still_be_given(tmp_path: Path) -> None:
    clock = ManualClock(datetime(2031, 5, 5, 9, 0, tzinfo=UTC))
    brief = load_brief("usb-bench-meter")
    board = brief.board.model_copy(update={"capability": None})
    session = start_sprint(brief.model_copy(update={"board": board}), tmp_path / "s.toml", clock)
    missing = one(session, "board.capability")
    assert (missing.value, missing.origin) == ("", NOT_GIVEN)
    session.do(DeclareValue("board.capability", "two-layer-quick"))
    assert one(session, "board.capability").value == "two-layer-quick"


def test_what_a_calculation_published_is_what_the_ledger_says(session: Session) -> None:
    session.do(SaveCalculation("linear-regulator", "3v3", given={"I_out": "100 mA"}))
    session.do(SaveCalculation("load-budget"))
    calculated = [known for known in known_values(session.state) if known.calculated]
    ledger = Ledger(session.state)
    assert {known.origin for known in calculated} == {"linear-regulator@3v3", "load-budget"}
    for known in calculated:
        supply = ledger.lookup(known.name)
        assert supply is not None and supply.owner == known.origin
        assert isinstance(known.value, str)
        unit = known.value.split()[-1] if "%" not in known.value else "V"
        read = read_quantity(known.value, {"mA": "A", "µA": "A", "mV": "V"}.get(unit, unit))
        assert read.typ == pytest.approx(supply.value.typ, rel=0.01)


def test_the_values_of_a_subject_go_with_it(session: Session) -> None:
    session.do(DropSubject("main"))
    assert not [known for known in known_values(session.state) if known.subject == "main"]


def test_every_value_that_is_shown_can_be_said_again(session: Session) -> None:
    """What can be changed on the board screen is what the rules take."""
    for known in known_values(session.state):
        if isinstance(known.value, str) and known.value and known.name != "board.mcu":
            before = dict(session.state.declared)
            with pytest.raises(Exception, match="Already set"):
                session.do(DeclareValue(known.name, known.value))
            assert session.state.declared == before
