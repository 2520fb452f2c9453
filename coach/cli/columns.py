"""Text in columns."""

from __future__ import annotations

from collections.abc import Sequence


def columns(
    rows: Sequence[Sequence[str]], *, indent: str = "  ", right: frozenset[int] = frozenset()
) -> list[str]:
    """Rows of cells as aligned lines; right: the columns that align to the right."""
    widths: list[int] = []
    for row in rows:
        widths += [0] * (len(row) - len(widths))
        for place, cell in enumerate(row):
            widths[place] = max(widths[place], len(cell))
    lines = []
    for row in rows:
        cells = [
            cell.rjust(widths[place]) if place in right else cell.ljust(widths[place])
            for place, cell in enumerate(row)
        ]
        lines.append((indent + "  ".join(cells)).rstrip())
    return lines
