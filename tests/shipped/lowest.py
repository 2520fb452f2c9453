"""The lowest version of each package that pyproject.toml allows, as constraints for pip.

`python -m tests.shipped.lowest` prints them, one a line; `make lowest` installs and tries them.
"""

from __future__ import annotations

import tomllib
from pathlib import Path

from packaging.requirements import Requirement
from packaging.version import Version

PYPROJECT = Path(__file__).resolve().parents[2] / "pyproject.toml"


def requirements() -> list[Requirement]:
    """What the coach needs, and what it needs to write HTML."""
    project = tomllib.loads(PYPROJECT.read_text(encoding="utf-8"))["project"]
    return [
        Requirement(one)
        for one in [*project["dependencies"], *project["optional-dependencies"]["report"]]
    ]


def lowest(requirement: Requirement) -> Version:
    """The lower end of its range."""
    return min(
        Version(one.version) for one in requirement.specifier if one.operator in (">=", "~=")
    )


if __name__ == "__main__":
    for one in requirements():
        print(f"{one.name}=={lowest(one)}")
