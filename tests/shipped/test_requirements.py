"""What the wheel asks for: ranges that were tried, and nothing that no module imports."""

from __future__ import annotations

import ast
import re
import sys
import tomllib

import pytest
from packaging.requirements import Requirement
from packaging.version import Version

from tests.imports.sources import ROOT, sources
from tests.shipped.lowest import PYPROJECT, lowest, requirements

COMES_WITH = {
    "markupsafe": "jinja2",
    "pydantic_core": "pydantic",
    "rich": "textual",
    "typing_extensions": "pydantic",
}
"""Packages that are imported by name and are part of another's own interface."""

WHEEL = tomllib.loads(PYPROJECT.read_text(encoding="utf-8"))["tool"]["hatch"]["build"]["targets"][
    "wheel"
]

DATA = {"tzdata"}
"""Read by the standard library's zoneinfo, imported by nobody."""


def imported() -> set[str]:
    """The packages outside the standard library that the coach and its engineering import."""
    names = set()
    for path in sources("coach", "phases"):
        for node in ast.walk(ast.parse((ROOT / path).read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                names |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module:
                names.add(node.module.split(".")[0])
    return names - set(sys.stdlib_module_names) - {"coach", "phases"}


def pinned(file: str) -> dict[str, Version]:
    text = (ROOT / "requirements" / file).read_text(encoding="utf-8")
    return {
        name.lower(): Version(version)
        for name, version in re.findall(r"^([\w.-]+)==([\w.]+)", text, re.MULTILINE)
    }


def test_every_package_asked_for_is_imported_and_every_one_imported_is_asked_for() -> None:
    asked = {one.name.replace("-", "_") for one in requirements()}

    assert {COMES_WITH.get(name, name) for name in imported()} == asked - DATA


@pytest.mark.parametrize("requirement", requirements(), ids=lambda one: one.name)
def test_a_range_begins_at_a_version_that_is_tried_and_holds_the_pinned_one(
    requirement: Requirement,
) -> None:
    operators = {one.operator for one in requirement.specifier}

    assert lowest(requirement) in requirement.specifier
    assert pinned("run.txt")[requirement.name] in requirement.specifier
    assert "==" not in operators
    # Zones and their rules are data: a later release of them is always the better one.
    assert requirement.name in DATA or operators in ({">=", "<"}, {"~="})


@pytest.mark.parametrize("file", ["build.txt", "run.txt", "dev.txt"])
def test_what_is_pinned_has_hashes_and_names_no_address(file: str) -> None:
    text = (ROOT / "requirements" / file).read_text(encoding="utf-8")

    assert "://" not in text
    assert not re.findall(r"^--", text, re.MULTILINE)
    assert all("--hash=sha256:" in one for one in re.split(r"\n(?=[\w.-]+==)", text)[1:])


def test_what_runs_is_pinned_alike_where_it_is_tested() -> None:
    run, dev = pinned("run.txt"), pinned("dev.txt")

    assert run.items() <= dev.items()


def test_the_wheel_brings_all_shared_data_but_the_pictures() -> None:
    included = WHEEL["force-include"]
    folders = {f"shared/{one.name}" for one in (ROOT / "shared").iterdir() if one.is_dir()}

    assert set(included) == folders - {"shared/pictures"}
    assert all(inside == f"phases/{outside}" for outside, inside in included.items())
