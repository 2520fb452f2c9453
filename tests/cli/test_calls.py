"""The command line as a whole: help, version, wrong calls, interrupted and unread ones."""

from __future__ import annotations

import errno
import io
import json
import os
import subprocess
import sys
from itertools import pairwise

import pytest

import coach as package
from coach.cli import main
from coach.cli.parser import Parser, add_command
from tests.cli.conftest import Coach
from tests.imports.sources import ROOT

COMMANDS = ("new", "sprint", "resume", "plan", "calc", "verify", "rehearse")


def test_help_lists_every_command_and_the_exit_codes(coach: Coach) -> None:
    answer = coach("--help")
    assert answer.code == 0
    for command in COMMANDS:
        assert f"    {command} " in answer.out
    assert "exit codes:" in answer.out
    assert "  1  a limit fails, a reading is out of limits, or a journal is damaged\n" in answer.out


@pytest.mark.parametrize("command", COMMANDS)
def test_each_command_has_help_with_an_example_of_itself(coach: Coach, command: str) -> None:
    answer = coach(command, "--help")
    assert answer.code == 0
    examples = answer.out.partition("example")[2]
    assert f"  coach {command}" in examples


@pytest.mark.parametrize("command", ["trends", "debrief", "bringup", "finding", *COMMANDS])
def test_what_a_command_does_is_told_in_lines_that_are_full(coach: Coach, command: str) -> None:
    told = coach(command, "--help").out.split("\n\n")[1].splitlines()
    assert all(len(line) <= 80 for line in told), told
    for line, after in pairwise(told):
        assert len(line) + 1 + len(after.split()[0]) > 80, line


def test_an_empty_line_of_a_description_begins_a_paragraph() -> None:
    commands = Parser(prog="coach").add_subparsers()
    made = add_command(
        commands,
        "try",
        run=lambda _: 0,
        does="do it",
        examples=("coach try",),
        more="Once\nor twice, with --an-option.\n\nAnd then no more.",
    )
    assert made.description == "Do it. Once or twice, with --an-option.\n\nAnd then no more."


def test_the_version_is_that_of_the_package(coach: Coach) -> None:
    answer = coach("--version")
    assert (answer.code, answer.out) == (0, f"coach {package.__version__}\n")


def test_without_a_terminal_the_coach_alone_says_what_there_is(coach: Coach) -> None:
    answer = coach()
    assert answer.code == 0
    assert "coach sprint" in answer.out


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["plann"], "Nearest: plan"),
        (["--vers"], "Nearest: --version"),
        (["plan"], "BRIEF"),
        (["plan", "usb-bench-metre"], "Nearest: usb-bench-meter"),
        (["plan", "usb-bench-meter", "--al"], "Nearest: --all"),
        (["plan", "usb-bench-meter", "pump-driver-24v"], "Unexpected argument"),
        (["plan", "nowhere/brief.toml"], "There is no brief here"),
        (["sprint"], "coach sprint usb-bench-meter"),
        (["sprint", "usb-bench-meter", "--speed"], "--speed"),
        (["sprint", "usb-bench-meter", "--speed", "fast"], "not a speed"),
        (["sprint", "usb-bench-meter", "--speed", "nan"], "not a speed"),
        (["sprint", "nothing"], "There is no brief"),
        (["new"], "terminal"),
        (["resume", "a.toml", "b.toml"], "Unexpected argument"),
        (["resume", "a.toml"], "There is no journal here"),
        (["resume"], "no sprint to go on with"),
        (["verify"], "JOURNAL"),
        (["verify", "nowhere.toml"], "There is no journal here"),
        (["rehearse", "usb-bench-meter", "--seed", "x"], "not a seed"),
        (["rehearse", "usb-bench-meter", "--pace", "0"], "pace"),
        (["rehearse", "usb-bench-meter", "--forget", "1.5"], "probability"),
        (["rehearse", "usb-bench-meter", "--forget", "inf"], "probability"),
        (["\x1b]0;title\x07"], "command"),
        (["plan", "a\x00b"], "brief"),
    ],
)
def test_a_wrong_call_is_one_sentence_with_a_way_out(
    coach: Coach, words: list[str], says: str
) -> None:
    said = coach(*words).sentence
    assert says in said
    assert "\x1b" not in said
    assert len(said) < 400


def test_stopping_it_is_quiet(coach: Coach, monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("coach.cli.plan.print_plan", lambda *_, **__: stopped())
    answer = coach("plan", "usb-bench-meter")
    assert (answer.code, answer.out, answer.err) == (130, "", "")


def command(*words: str, **more: object) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", "coach", *words],
        cwd=ROOT,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, **{k: str(v) for k, v in more.items()}},
    )


def test_a_reader_who_has_gone_is_no_fault() -> None:
    running = command("calc", "--json")
    assert running.stdout is not None
    assert running.stderr is not None
    running.stdout.close()
    assert running.stderr.read() == b""
    running.stderr.close()
    assert running.wait(60) == 141


def test_what_the_output_cannot_spell_is_no_traceback() -> None:
    out, err = command("calc", "indicator", PYTHONIOENCODING="ascii").communicate(timeout=60)
    assert err == b""
    assert b"620" in out or b"680" in out


def test_json_survives_an_output_of_plain_ascii() -> None:
    out, err = command("calc", "indicator", "--json", PYTHONIOENCODING="ascii").communicate(
        timeout=60
    )
    assert err == b""
    assert "Ω" in json.loads(out.decode("ascii"))["inputs"]["R"]["text"]


def test_python_dash_m_is_the_same_command() -> None:
    running = command("calc", "indicatr")
    out, err = running.communicate(timeout=60)
    assert (running.returncode, out) == (2, b"")
    assert err.decode() == "There is no calculator 'indicatr'. Nearest: indicator.\n"


def test_a_full_disk_behind_the_output_is_one_sentence(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    class Full(io.StringIO):
        def write(self, text: str) -> int:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(sys, "stdout", Full())
    assert main(["calc"]) == 2
    assert capsys.readouterr().err == "coach: No space left on device.\n"


def test_main_takes_the_words_of_the_shell_by_default(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "argv", ["coach", "--version"])
    assert main() == 0
    assert capsys.readouterr().out.startswith("coach ")
