"""Text in columns."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest


def columns(
    rows: Sequence[Sequence[str]], *, indent: str = "  ", right: frozenset[int] = frozenset()
) -> list[str]:
    """Rows of cells as aligned lines; right: the columns that align to the right."""
    formats = [
        f"{'>' if place in right else '<'}{max(map(len, column))}"
        for place, column in enumerate(zip_longest(*rows, fillvalue=""))
    ]
    aligned = ([f"{cell:{way}}" for cell, way in zip(row, formats, strict=False)] for row in rows)
    return [f"{indent}{'  '.join(cells)}".rstrip() for cells in aligned]
