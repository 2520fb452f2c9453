"""The array functions a calculator may use; numpy itself is imported at the first use of one.

A calculator writes `from phases.kit import arrays as np` and stays as quick to import as
plain Python, because declaring calculators must not cost the first frame of a screen.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from numpy import abs as abs
    from numpy import arccos as arccos
    from numpy import arccosh as arccosh
    from numpy import asarray as asarray
    from numpy import clip as clip
    from numpy import concatenate as concatenate
    from numpy import exp as exp
    from numpy import expm1 as expm1
    from numpy import float64 as float64
    from numpy import inf as inf
    from numpy import isfinite as isfinite
    from numpy import isnan as isnan
    from numpy import log as log
    from numpy import log1p as log1p
    from numpy import log10 as log10
    from numpy import maximum as maximum
    from numpy import minimum as minimum
    from numpy import nan as nan
    from numpy import pi as pi
    from numpy import power as power
    from numpy import sqrt as sqrt
    from numpy import where as where
    from numpy.typing import NDArray

    Array = NDArray[float64]
else:
    Array = object

    def __getattr__(name: str) -> Any:
        if name.startswith("__"):  # the import system looks for some; numpy must not come for that
            raise AttributeError(name)
        import numpy

        return getattr(numpy, name)


def broadcast_arrays(*values: Any) -> list[Array]:
    """The same arrays in their common shape: as numpy's own, which stops at 32 axes.

    Each spread has an axis, and arrays may have 64 of them. Raises ValueError where they clash.
    """
    import numpy

    arrays = [numpy.asarray(value) for value in values]
    count = max((a.ndim for a in arrays), default=0)
    shapes = [(1,) * (count - a.ndim) + a.shape for a in arrays]
    shape = tuple(0 if 0 in lengths else max(lengths) for lengths in zip(*shapes, strict=True))
    return [numpy.broadcast_to(a, shape) for a in arrays]
