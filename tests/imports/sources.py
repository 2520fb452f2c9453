"""The product's own modules, found by walking the tree."""

from __future__ import annotations

from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def sources(*folders: str) -> list[Path]:
    """Every Python file under `folders`, as paths from the root, in order."""
    return sorted(
        path.relative_to(ROOT) for folder in folders for path in (ROOT / folder).rglob("*.py")
    )


def modules(folder: str) -> list[str]:
    """The modules under `folder` by their dotted names, packages before what they hold."""
    names = [
        ".".join(path.with_suffix("").parts).removesuffix(".__init__") for path in sources(folder)
    ]
    return sorted(names)
