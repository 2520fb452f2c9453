"""A fault of the coach's own never shows a traceback: one sentence, and the rest in a file."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.terminal.app import CoachApp
from coach.terminal.screens.sprint import SprintScreen
from tests.terminal.driving import begun


async def test_a_fault_in_a_screen_leaves_the_journal_whole_and_says_where_it_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    session = begun(tmp_path)
    app = CoachApp(session)

    def broken(self: SprintScreen) -> None:
        raise ZeroDivisionError("a secret on the stack")

    monkeypatch.setattr(SprintScreen, "action_fold", broken)
    with pytest.raises(ZeroDivisionError):
        async with app.run_test() as pilot:
            await pilot.press("f")
    session.close()
    said = " ".join(capsys.readouterr().err.split())
    told = (tmp_path / "coach-fault.txt").read_text(encoding="utf-8")
    assert "the journal is intact" in said and "a secret on the stack" not in said
    assert "ZeroDivisionError: a secret on the stack" in told
