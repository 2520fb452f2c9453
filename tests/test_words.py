"""What a person reads is written in the trade's own words: schematic, inductor, max, not others."""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.imports.sources import ROOT, sources

RULED_OUT = {
    r"\blegend\b": "silkscreen",
    r"\bcoils?\b": "inductor",
    r"\bentrance\b": "input",
    r"\bgreatest\b": "max",
    r"(?<!at )\bleast\b": "min",
    r"\brule check\b": "ERC or DRC",
    r"\bparts list\b": "BOM",
    r"\bpin-outs?\b": "pinout",
    r"\bexchanged\b": "swapped",
    r"\bseries (resistance|inductance)\b": "ESR or ESL",
    r"\bsuppressors?\b": "clamp or TVS",
    r"(?<!there )\b(is|are|was|were) no\b(?! longer)": "is not a",
    r"\banew\b": "again",
    r"\bheeded\b": "acted on",
    r"\bmade good\b": "fixed",
    r"\bhangs? on\b": "depends on, or is on",
    r"\bfor ever\b": "what it is: hold current, held in reset",
    r"\blicensed practice\b": "qualified people",
    r"\bfrom memory\b|\bengineering notes\b": "typical, or common practice",
}
SHEET = {r"(?<!data )(?<!bring-up )\bsheets?\b": "schematic, or data sheet"}
"""In the engineering. In the coach the sheet is the bring-up sheet."""

_NOT_READ = frozenset({"id", "point", "cites", "asks", "when", "reopened_by", "met_by"})
_NO_WORDS = frozenset({"anew {}", "made good:{}"})
"""What a random draw is drawn by, never shown."""
_SHOWN = frozenset({"output", "limit", "listing", "proposal"})
"""Of what these make, the docstring is its formula on the screen."""


# ---- what is read --------------------------------------------------------------------------


def _of_toml(path: Path) -> Iterator[str]:
    """Every text of a file but ids. Of a table of figures the sources stay in the file."""
    unread = _NOT_READ | ({"source"} if path.parent.name == "tables" else set())

    def texts(value: Any) -> Iterator[str]:
        match value:
            case str():
                yield value
            case dict():
                for key, inner in value.items():
                    yield from () if key in unread else texts(inner)
            case list():
                for inner in value:
                    yield from texts(inner)

    yield from texts(tomllib.loads(path.read_text(encoding="utf-8")))


def _of_python(path: Path) -> Iterator[str]:
    """Every text of a module but its docstrings, the values of an f-string as {}; a text without
    a blank is a name. Of a calculator its question and its formulas, which are docstrings."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    inner: set[ast.AST] = set()
    for node in ast.walk(tree):
        match node:
            case ast.Expr(value=ast.Constant()):
                inner.add(node.value)
            case ast.JoinedStr(values=values):
                inner.update(values)
                yield "".join(v.value if isinstance(v, ast.Constant) else "{}" for v in values)
            case ast.ClassDef(bases=bases) if "Calculator" in map(_name, bases):
                yield (ast.get_docstring(node) or "").partition("\n")[0]
            case ast.FunctionDef(decorator_list=made) if _SHOWN & set(map(_name, made)):
                yield ast.get_docstring(node) or ""
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and node not in inner:
            yield node.value


def _name(node: ast.AST) -> str:
    """The name of a base class, or of a decorator that is called."""
    called = node.func if isinstance(node, ast.Call) else node
    return called.id if isinstance(called, ast.Name) else ""


def read_by_a_person(path: Path) -> list[str]:
    """The texts of a file that can come before a person's eyes."""
    if path.suffix == ".toml":
        return list(_of_toml(path))
    if path.suffix == ".py":
        return [text for text in _of_python(path) if " " in text and text not in _NO_WORDS]
    return re.sub(r"\{[{%#].*?[}%#]\}", "", path.read_text(encoding="utf-8")).splitlines()


def ruled_out(text: str, *, sheet: bool) -> list[str]:
    """Each word that a text should not have, with the one to take."""
    words = RULED_OUT | (SHEET if sheet else {})
    return [
        f"{found[0]!r}, say {better}"
        for pattern, better in words.items()
        if (found := re.search(pattern, text, re.IGNORECASE))
    ]


FILES = [
    *sources("phases", "coach"),
    *sorted(
        path.relative_to(ROOT)
        for folder in ("phases", "coach", "shared")
        for suffix in ("toml", "md", "j2")
        for path in (ROOT / folder).rglob(f"*.{suffix}")
    ),
]


@pytest.mark.parametrize("path", FILES, ids=str)
def test_no_text_has_a_word_that_is_ruled_out(path: Path) -> None:
    offenders = [
        f"{word}: {text[:120]!r}"
        for text in read_by_a_person(ROOT / path)
        for word in ruled_out(text, sheet=path.parts[0] != "coach")
    ]
    assert not offenders, "\n".join([str(path), *offenders])


# ---- that it finds them --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("path", "text"),
    [
        ("phases/power_entry/phase.toml", "Each CC pin has its own 5.1 kΩ pull-down"),
        ("phases/facts.toml", "Is USB data used?"),
        ("phases/changes.toml", "Stack-up changed"),
        ("shared/tables/usb-type-c.toml", "3 A, resistor"),
        ("phases/regulation/linear_regulator.py", "Enough headroom, cool enough?"),
        ("phases/regulation/linear_regulator.py", "max load at this ambient"),
        ("phases/regulation/linear_regulator.py", "T_J = T_A + theta P_D"),
        ("phases/regulation/linear_regulator.py", "It gets too hot to touch, over {}"),
        ("coach/terminal/help/sprint.md", "# The sprint"),
    ],
)
def test_items_questions_labels_formulas_and_cautions_are_read(path: str, text: str) -> None:
    assert text in read_by_a_person(ROOT / path)


@pytest.mark.parametrize(
    "text",
    ["Greatest load", "the least of them", "A resistor is no fuse", "on the sheet", "of the coil"],
)
def test_a_word_that_is_ruled_out_is_found(text: str) -> None:
    (said,) = ruled_out(text, sheet=True)
    assert ", say " in said


@pytest.mark.parametrize(
    "text",
    ["at least 3 V", "There is no rail", "is no longer there", "Its data sheet", "spreadsheet"],
)
def test_a_word_that_only_looks_like_it_is_not(text: str) -> None:
    assert ruled_out(text, sheet=True) == []
