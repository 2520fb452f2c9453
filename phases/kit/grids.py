"""A limit over scenario rows, scan points and corners: the arrays that verdicts are read from."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from phases.kit.arrays import broadcast_arrays
from phases.kit.bounds import Bound, Check, Finding, Findings, NotApplicable
from phases.kit.calculator import Calculator, limit
from phases.kit.frame import Blank, View

if TYPE_CHECKING:
    from numpy.typing import NDArray

DOES_NOT_APPLY, PASSES, IS_MARGINAL, FAILS = range(4)
"""Places in bounds.VERDICTS."""

_NOISE = 1e-9
"""What floats lose on the way, as a share of the scale: no verdict turns on it."""
_NO_ROWS = "The table has no rows"


@dataclass(frozen=True, slots=True)
class Grid:
    """A limit over scenario rows and scan points: arrays of shape (rows, points).

    reason: of a row that fails without a margin; otherwise: of one it does not apply to.
    """

    verdict: NDArray[Any]
    value: NDArray[Any]
    bound: NDArray[Any]
    margin: NDArray[Any]
    share: NDArray[Any]
    side: str = ""
    reason: str = ""
    otherwise: str = ""
    rows: tuple[str, ...] = ()
    corners: tuple[Mapping[str, float], ...] = ()
    findings: tuple[Finding, ...] = ()


def row_labels(calculation: Calculator, along: str | None) -> tuple[str, ...]:
    """What the rows of a table are called: the words of its first column."""
    if along is None:
        return ()
    rows = calculation._frame.rows(type(calculation).fields[along])  # type: ignore[arg-type]
    return rows.words(next(iter(type(calculation).fields[along].columns)))  # type: ignore[attr-defined]


def fold(values: Any, calculation: Calculator, along: str | None) -> NDArray[Any]:
    """`values` as (rows, scan points, corners)."""
    import numpy as np

    frame = calculation._frame
    array = np.asarray(values, dtype=float)
    array = array.reshape((1,) * (frame.axes.count - array.ndim) + array.shape)
    rows = frame.axes.of(along) if along else None
    first = [array.shape[rows] if rows is not None else 1, array.shape[-1]]
    order = [axis for axis in range(array.ndim - 1) if axis != rows]
    moved = np.transpose(array, ([rows] if rows is not None else []) + [array.ndim - 1] + order)
    corners = -1 if array.size else math.prod(array.shape[axis] for axis in order)
    return moved.reshape((*first, corners))


def grid_of(declared: limit, calculation: Calculator) -> Grid:
    """One limit over scenario rows and scan points. NaN anywhere in the corners is a fail."""
    import numpy as np

    try:
        with np.errstate(all="ignore"):
            result = getattr(calculation, declared.name)
    except Blank as blank:
        return _flat(FAILS, reason=f"Not evaluated: {blank}")
    with np.errstate(all="ignore"):
        if isinstance(result, NotApplicable):
            return _flat(DOES_NOT_APPLY, otherwise=result.reason)
        if isinstance(result, Findings):
            return _findings(result)
        labels = row_labels(calculation, declared.along)
        if declared.along and not labels:
            return _flat(DOES_NOT_APPLY, otherwise=_NO_ROWS)
        if isinstance(result, Check):
            return _check(result, declared, calculation, labels)
        return _bound(result, declared, calculation, labels)


def _flat(
    code: int, *, reason: str = "", otherwise: str = "", findings: tuple[Finding, ...] = ()
) -> Grid:
    import numpy as np

    nothing = np.full((1, 1), math.nan)
    return Grid(
        np.full((1, 1), code),
        nothing,
        nothing,
        nothing,
        nothing,
        reason=reason,
        otherwise=otherwise,
        findings=findings,
    )


def _findings(result: Findings) -> Grid:
    code = PASSES
    if result.found:
        code = FAILS if any(f.serious for f in result.found) else IS_MARGINAL
    return _flat(code, findings=result.found)


def _check(
    result: Check, declared: limit, calculation: Calculator, labels: tuple[str, ...]
) -> Grid:
    import numpy as np

    wide = broadcast_arrays(result.holds, result.where)
    if wide[0].size == 0:
        return _flat(DOES_NOT_APPLY, otherwise=_NO_ROWS)
    holding, here = (fold(a, calculation, declared.along) == 1 for a in wide)
    code = _rowed(np.where((holding | ~here).all(axis=2), PASSES, FAILS), labels)
    applies = _rowed(here.any(axis=2), labels)
    nothing = np.full(code.shape, math.nan)
    return Grid(
        np.where(applies, code, DOES_NOT_APPLY),
        nothing,
        nothing,
        nothing,
        nothing,
        rows=labels,
        reason=result.what,
        otherwise=result.otherwise,
    )


def _bound(
    result: Bound, declared: limit, calculation: Calculator, labels: tuple[str, ...]
) -> Grid:
    import numpy as np

    wide = broadcast_arrays(result.value, result.limit, result.margin, result.scale, result.where)
    if wide[2].size == 0:
        return _flat(DOES_NOT_APPLY, otherwise=_NO_ROWS)
    value, bound, margin, scale, where = (fold(a, calculation, declared.along) for a in wide)
    here = where == 1
    share = _shares(margin + result.digit / 2, scale)
    margin = np.where(np.isnan(share), np.nan, margin)  # without a scale nothing can be said
    worst = _ranked(margin, here).argmin(axis=2)[:, :, None]
    first = _rowed(worst[:, :, 0], labels)[:, 0]
    value, bound, margin, scale = (
        _rowed(np.take_along_axis(a, worst, axis=2)[:, :, 0], labels)
        for a in (value, bound, margin, scale)
    )
    share = np.where(np.isnan(margin), np.nan, _rowed(_ranked(share, here).min(axis=2), labels))
    granted = margin + result.digit / 2
    noise = _NOISE * np.abs(np.where(np.isfinite(scale), scale, 0.0))
    code = np.where(share < declared.asked - _NOISE, IS_MARGINAL, PASSES)
    code = np.where(granted >= -noise, code, FAILS)  # NaN compares false and fails
    shown = np.where((margin < 0) & (granted >= -noise), 0.0, margin)
    applies = _rowed(here.any(axis=2), labels)
    value, bound, shown, share = (
        np.where(applies, a, np.nan) for a in (value, bound, shown, share)
    )
    return Grid(
        np.where(applies, code, DOES_NOT_APPLY),
        value,
        bound,
        shown,
        share,
        side=result.side,
        rows=labels,
        reason="It cannot be evaluated with these values",
        otherwise=result.otherwise,
        corners=_corners(wide[2], first, calculation, declared.along),
    )


def _shares(granted: NDArray[Any], scale: NDArray[Any]) -> NDArray[Any]:
    """The margin over its scale in each corner; all of it where there is no bound to come near."""
    import numpy as np

    share = np.where(scale != 0, granted / np.abs(scale), np.where(granted > 0, np.inf, 0.0))
    without_bound = np.isinf(granted) & ~np.isnan(scale)
    found: NDArray[Any] = np.where(without_bound, granted, share)
    return np.where(np.isnan(granted), np.nan, found)


def _ranked(values: NDArray[Any], here: NDArray[Any]) -> NDArray[Any]:
    """For finding the worst: what is unknown comes first, what does not apply last."""
    import numpy as np

    ranked: NDArray[Any] = np.where(np.isnan(values), -np.inf, values)
    return np.where(here, ranked, np.inf)


def _rowed(array: NDArray[Any], labels: tuple[str, ...]) -> NDArray[Any]:
    """One line a row, also where a limit does not differ between them."""
    import numpy as np

    return np.broadcast_to(array, (len(labels), array.shape[1])) if labels else array


def _corners(
    margin: NDArray[Any], worst: NDArray[Any], calculation: Calculator, along: str | None
) -> tuple[Mapping[str, float], ...]:
    """The inputs at the worst corner of each row, by field name."""
    import numpy as np

    frame = calculation._frame
    array = np.asarray(margin)
    array = array.reshape((1,) * (frame.axes.count - array.ndim) + array.shape)
    rows = frame.axes.of(along) if along else None
    rest = [axis for axis in range(array.ndim - 1) if axis != rows]
    shape = tuple(array.shape[axis] for axis in rest)
    corners = []
    for row, index in enumerate(worst):
        where = dict(zip(rest, np.unravel_index(int(index), shape), strict=True))
        ends = {
            name: values[int(where[axis])]
            for axis, (name, values) in frame.points.items()
            if axis in where and len(values) == array.shape[axis]
        }
        corners.append(_of_row(ends, row, along))
    return tuple(corners)


def _of_row(ends: Mapping[str, Any], row: int, along: str | None) -> dict[str, float]:
    """The ends of a corner; of a column that of its row, or nothing where the row is not known."""
    found = {}
    for name, end in ends.items():
        if not isinstance(end, list):
            found[name] = end
        elif name.partition(".")[0] == along:
            found[name] = end[row]
        elif len(end) == 1:
            found[name] = end[0]
    return found


def codes(calculation: Calculator, view: View) -> NDArray[Any]:
    """The verdicts, as places in VERDICTS, by limit (its worst row) and scan point."""
    import numpy as np

    seen = calculation.under(view)
    points = max((len(s) for s in view.scan.values()), default=1)
    found = np.full((len(type(calculation).limits), points), DOES_NOT_APPLY)
    for line, one in zip(found, type(calculation).limits.values(), strict=True):
        line[:] = grid_of(one, seen).verdict.max(axis=0, initial=DOES_NOT_APPLY)
    return found
