"""The command line: parse, call, print.

One file for each family of commands; exit_codes.py owns the exit codes, command_line.py the
way from a refusal to its sentence. stdout is data, stderr is talk.
Nothing here computes or decides. What is heavy (numbers, the terminal) is imported inside the
command that needs it.
"""

from __future__ import annotations

from coach.cli.command_line import main as main
