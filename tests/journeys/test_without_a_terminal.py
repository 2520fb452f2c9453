"""In a pipe, a script or a build job there is no screen: text says what there is to know."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from coach.sprint.brief.loading import load_brief
from coach.sprint.clock import SystemClock
from coach.sprint.session import start_sprint
from tests.journeys.terminal import ROOT


def piped(home: Path, *words: str) -> subprocess.CompletedProcess[str]:
    env = {"HOME": str(home), "PATH": os.environ.get("PATH", ""), "PYTHONPATH": str(ROOT)}
    return subprocess.run(
        [sys.executable, "-m", "coach", *words],
        cwd=home,
        env=env,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        encoding="utf-8",
        timeout=30,
        check=False,
    )


def test_a_sprint_prints_its_plan_and_how_to_go_on_and_starts_nothing(home: Path) -> None:
    done = piped(home, "sprint", "usb-bench-meter", "--journal", "j.toml")
    assert done.returncode == 0
    for title in ("Power entry", "Regulation", "Decoupling", "Layout", "Labelling"):
        assert title in done.stdout
    assert "\x1b" not in done.stdout
    assert done.stderr.count("\n") == 1
    assert "No terminal here" in done.stderr
    assert "coach sprint usb-bench-meter" in done.stderr
    assert list(home.iterdir()) == []


def test_resume_and_new_say_in_one_sentence_what_to_do_instead(home: Path) -> None:
    start_sprint(load_brief("usb-bench-meter"), home / "j.toml", SystemClock()).close()
    before = (home / "j.toml").read_bytes()
    for words, way_out in ((("resume", "j.toml"), "coach verify"), (("new",), "coach plan")):
        done = piped(home, *words)
        assert done.returncode == 2
        assert done.stdout == ""
        assert done.stderr.count("\n") == 1
        assert "terminal" in done.stderr
        assert way_out in done.stderr
    assert (home / "j.toml").read_bytes() == before
