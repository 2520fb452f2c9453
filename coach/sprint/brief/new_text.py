"""The text of a brief made from answers: `new_brief.toml.j2`, filled in."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from jinja2 import Template


@dataclass(frozen=True, slots=True)
class Answers:
    """The answers, each as its key or keys; the deadline as minutes or as a cut-off."""

    title: str
    minutes: int | None
    cut_off: str | None
    supply: str
    regulator: str
    programming: str
    clock: str
    fabricator: str
    interfaces: str


def brief_text(answers: Answers) -> str:
    """The brief in TOML."""
    return _template().render(answers=answers)


@cache
def _template() -> Template:
    """Read at the first brief: jinja2 is too heavy for the first frame."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    made = Environment(
        loader=FileSystemLoader(Path(__file__).parent),
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        undefined=StrictUndefined,
    )
    made.filters["toml"] = _toml
    return made.get_template("new_brief.toml.j2")


def _toml(value: object) -> str:
    """A TOML value. JSON's strings are TOML's, once control characters are out."""
    return json.dumps(value, ensure_ascii=False)
