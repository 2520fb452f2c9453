"""How spreads become arrays: each owns an axis, so that a method is written once and broadcasts.

Axes of one calculation, in order: one for each quantity, one for the rows of each table and one
for each numeric column of it, and last the scan axis, along which whole inputs are exchanged
(candidates, remedies, curves). Two quantities fed by the same ledger name share one axis,
because they are one thing; two parts of the same tolerance do not.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

from phases.kit.fields import Field, Quantity, Table
from phases.kit.inputs import Inputs, Reading
from phases.kit.refusals import Refusal
from phases.kit.spread import Spread

if TYPE_CHECKING:
    from phases.kit.arrays import Array
    from phases.kit.tables import Rows

T = TypeVar("T")

_SAMPLES_INSIDE = 9
_MOST_CORNERS = 2**20
_MOST_AT_ONCE = 2**23


class TooMany(Refusal):
    """More corners than can be looked at: beyond that the screen would freeze."""

    def __init__(self, inputs: int, corners: int) -> None:
        super().__init__(
            f"{inputs} inputs of one answer have a spread, which makes {corners} corners",
            do="Give some of them a single value",
        )


class Blank(Exception):
    """A free input was read while it is still blank; caught where verdicts are made."""

    def __init__(self, name: str, title: str) -> None:
        super().__init__(f"{title} is blank")
        self.name = name


@dataclass(frozen=True, slots=True)
class View:
    """What one evaluation looks at.

    corners: both ends of every spread, else its typical value only. scan: inputs exchanged
    along the scan axis, all of the same length. held: inputs kept at their typical value.
    """

    corners: bool = False
    scan: Mapping[str, tuple[Spread, ...]] = field(default_factory=dict)
    held: frozenset[str] = frozenset()


TYPICAL = View()
CORNERS = View(corners=True)


class Axes:
    """Which axis belongs to which input of a calculator; made once, at its declaration."""

    def __init__(self, fields: Mapping[str, Field]) -> None:
        self._axis: dict[tuple[str, str], int] = {}
        for name, declared in fields.items():
            if isinstance(declared, Quantity):
                self._add(name, "")
            elif isinstance(declared, Table):
                self._add(name, "")
                for column in declared.columns.values():
                    if column.is_quantity:
                        self._add(name, column.name)
        self.scan = len(self._axis)
        self.count = self.scan + 1

    def _add(self, name: str, column: str) -> None:
        self._axis[name, column] = len(self._axis)

    def of(self, name: str, column: str = "") -> int:
        return self._axis[name, column]


class _Read(NamedTuple):
    """What an answer was made from: axes, and names of inputs."""

    axes: set[int]
    inputs: set[str]


class Frame:
    """The values of one calculation under one view, each made when first asked for."""

    def __init__(self, inputs: Inputs, axes: Axes, view: View) -> None:
        self.inputs = inputs
        self.axes = axes
        self.view = view
        self.memo: dict[str, Any] = {}
        # By axis: whose ends stand along it, and these; for a column the values of all its rows.
        self.points: dict[int, tuple[str, list[Any]]] = {}
        self._lengths: dict[int, int] = {}
        self._read: dict[str, _Read] = {}
        self._making: list[_Read] = []

    def once(self, name: str, make: Callable[[], T]) -> T:
        """The value of that name, made at the first call; with it what it was made from."""
        if name not in self.memo:
            self._making.append(_Read(set(), set()))
            try:
                self.memo[name] = make()
            finally:
                self._read[name] = self._making.pop()
        if self._making:
            read, making = self._read[name], self._making[-1]
            making.inputs.update(read.inputs)
            if not read.axes <= making.axes:
                making.axes.update(read.axes)
                self._check_size(making.axes)
        value: T = self.memo[name]
        return value

    def inputs_of(self, name: str) -> frozenset[str]:
        """The inputs that an answer was made from; none where it was not made."""
        return frozenset(self._read[name].inputs) if name in self._read else frozenset()

    def reading(self, name: str) -> Reading:
        """An input, noted as read by what is being made."""
        if self._making:
            self._making[-1].inputs.add(name)
        return self.inputs.reading(name)

    def _check_size(self, axes: set[int]) -> None:
        """Looked at before the axes are multiplied out, and for one answer at a time."""
        size = math.prod(self._lengths.get(axis, 1) for axis in axes)
        corners = size // self._lengths.get(self.axes.scan, 1)
        if corners > _MOST_CORNERS or size > _MOST_AT_ONCE:
            raise TooMany(sum(axis in self.points for axis in axes), corners)

    def plain(self, declared: Field) -> Any:
        return self.reading(declared.name).value

    def quantity(self, declared: Quantity) -> Array:
        return self.once(declared.name, lambda: self._quantity(declared))

    def _quantity(self, declared: Quantity) -> Array:
        name, scan = declared.name, self.view.scan
        value = self.reading(name).value
        if value is None and name not in scan:
            raise Blank(name, declared.title)
        sharers = [
            other for other in self.inputs.fed_together(name) if (other in scan) == (name in scan)
        ]
        inside = any(getattr(self.inputs.fields[other], "inside", False) for other in sharers)
        spreads = scan.get(name, (value,))
        return self._array(name, self.axes.of(sharers[0]), spreads, inside)

    def _array(self, name: str, axis: int, spreads: tuple[Spread, ...], inside: bool) -> Array:
        import numpy as np

        spread_here = self.view.corners and name not in self.view.held
        if not spread_here or all(s.is_exact for s in spreads):
            points = [[s.typ for s in spreads]]
        elif inside:
            points = np.linspace(
                [s.low for s in spreads], [s.high for s in spreads], _SAMPLES_INSIDE
            ).tolist()
        else:
            points = [[s.low for s in spreads], [s.high for s in spreads]]
        if len(points) > 1 and len(spreads) == 1:
            self.points[axis] = (name, [row[0] for row in points])
        self._note(axis, len(points))
        self._note(self.axes.scan, len(spreads))
        shape = [1] * self.axes.count
        shape[axis], shape[-1] = len(points), len(spreads)
        return np.asarray(points, dtype=float).reshape(shape)

    def _note(self, axis: int, length: int) -> None:
        if length > 1:
            self._lengths[axis] = length
            self._making[-1].axes.add(axis)

    def rows(self, declared: Table) -> Rows:
        from phases.kit.tables import Rows

        data = self.reading(declared.name).value
        return Rows(
            data,
            lambda column: self.column(declared, column),
            self.axes.of(declared.name),
            lambda column: self._name_opposed(declared, column),
        )

    def _name_opposed(self, declared: Table, column: str) -> None:
        """Along a column that is read with its ends exchanged, a corner names the ends read."""
        axis = self.axes.of(declared.name, column)
        if axis in self.points:
            spreads = [row[column] for row in self.reading(declared.name).value.rows]
            ends = [[s.high for s in spreads], [s.low for s in spreads]]
            self.points[axis] = (f"{declared.name}.{column}", ends)

    def column(self, declared: Table, column: str) -> Array:
        """A column along the table's axis; its spread has one axis for all rows together.

        An empty column name gives ones, the shape of the rows.
        """
        return self.once(f"{declared.name}.{column}", lambda: self._column(declared, column))

    def _column(self, declared: Table, column: str) -> Array:
        import numpy as np

        rows = self.reading(declared.name).value.rows
        shape = [1] * self.axes.count
        shape[self.axes.of(declared.name)] = len(rows)
        self._note(self.axes.of(declared.name), len(rows))
        if not column:
            return np.ones(shape)
        if not declared.columns[column].is_quantity:
            return np.asarray([float(row[column]) for row in rows]).reshape(shape)
        key = f"{declared.name}.{column}"
        spreads = [row[column] for row in rows]
        spread_here = self.view.corners and key not in self.view.held
        if not spread_here or all(s.is_exact for s in spreads):
            return np.asarray([s.typ for s in spreads], dtype=float).reshape(shape)
        axis = self.axes.of(declared.name, column)
        ends = [[s.low for s in spreads], [s.high for s in spreads]]
        self.points[axis] = (key, ends)
        self._note(axis, len(ends))
        low, high = (np.asarray(end, dtype=float).reshape(shape) for end in ends)
        return np.concatenate([low, high], axis=axis)
