"""The tables of README.md that repeat what the code declares: its calculators and its commands.

`python -m tests.shipped.tables` writes them anew.
"""

from __future__ import annotations

import io
import os
import re
from contextlib import redirect_stdout
from unittest.mock import patch

from coach.cli import main
from phases.kit.catalogue import calculators
from phases.kit.items import load_phases
from tests.imports.sources import ROOT

README = ROOT / "README.md"


def calculators_table() -> str:
    """Phase by phase, each calculator with the question it answers."""
    rows = ["| phase | calculator | what it answers |", "|---|---|---|"]
    for phase in load_phases():
        title = phase.title
        for kind in calculators().values():
            if kind.phase == phase.id:
                rows.append(f"| {title} | `{kind.name}` | {kind.question} |")
                title = ""
    return "\n".join(rows)


def commands_table() -> str:
    """Each command with what `coach --help` says of it."""
    printed = io.StringIO()
    with redirect_stdout(printed), patch.dict(os.environ, COLUMNS="200"):
        main(["--help"])
    listed = printed.getvalue().partition("COMMAND\n")[2].partition("\n\n")[0]
    rows = ["| command | |", "|---|---|", "| `coach` | the start screen |"]
    rows += [
        f"| `coach {name}` | {does} |"
        for name, does in re.findall(r"^    (\w+) +(.+)$", listed, re.MULTILINE)
    ]
    return "\n".join(rows)


def with_tables(text: str) -> str:
    """The README with both tables as they are to be."""
    for table in (calculators_table(), commands_table()):
        head = re.escape(table.partition("\n")[0])
        text = re.sub(rf"^{head}\n(?:\|.*\n)*", lambda _, t=table: f"{t}\n", text, flags=re.M)
    return text


if __name__ == "__main__":
    README.write_text(with_tables(README.read_text(encoding="utf-8")), encoding="utf-8")
