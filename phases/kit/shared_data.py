"""Where the data lies that comes with the product: briefs, part cards, capability cards, tables."""

from __future__ import annotations

from pathlib import Path

from phases.kit.refusals import Refusal, unknown
from phases.kit.text import one_line

KINDS = {"briefs": "brief", "parts": "part card", "capability": "capability card"}
"""The folders whose files can be asked for by name, and what one such file is called."""


def shared_dir() -> Path:
    """The folder of the bundled data.

    In an installed package it lies inside `phases`, in a checkout beside it.
    """
    package = Path(__file__).resolve().parents[1]
    inside = package / "shared"
    return inside if inside.is_dir() else package.parent / "shared"


def list_shared(folder: str) -> tuple[str, ...]:
    """The bare names of the bundled files in `folder`, sorted."""
    return tuple(sorted(path.stem for path in (shared_dir() / folder).glob("*.toml")))


def find_shared(folder: str, name: str) -> Path:
    """The file meant by `name`: a bundled one by its bare name, or a path.

    A path is not looked at: whoever reads it says what is wrong with it.
    Raises Refusal, with the nearest name, where a bare name is neither bundled nor a file.
    """
    if not name.strip():
        raise Refusal(
            f"No {KINDS[folder]} is named", do=f"One of: {', '.join(list_shared(folder))}"
        )
    path = Path(name)
    if is_path(name):
        return path
    bare = name.removesuffix(".toml")
    known = list_shared(folder)
    if bare in known and not (bare != name and _is_file(path)):
        return shared_dir() / folder / f"{bare}.toml"
    if _is_file(path):
        return path
    raise unknown(KINDS[folder], one_line(bare), known)


def is_path(name: str) -> bool:
    """Whether `name` leads through folders, so that no bundled file can be meant."""
    return "/" in name or "\\" in name


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except (OSError, ValueError):  # a name too long, or one with a null byte
        return False
