"""A spread: least, typical and greatest value of one quantity, in SI (°C for temperatures)."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Spread:
    """low <= typ <= high; all three equal for an exact value."""

    low: float
    typ: float
    high: float

    @classmethod
    def exact(cls, value: float) -> Spread:
        return cls(value, value, value)

    @classmethod
    def of(cls, typ: float, tolerance: float) -> Spread:
        """`typ` within plus or minus `tolerance`, a ratio (0.05 for 5 %)."""
        reach = abs(typ) * tolerance
        return cls(typ - reach, typ, typ + reach)

    @property
    def is_exact(self) -> bool:
        return self.low == self.high

    def about(self, typ: float) -> Spread:
        """The same relative spread about another typical value.

        About zero there is no relative spread to keep: the same distances are kept instead.
        """
        if self.is_exact:
            return Spread.exact(typ)
        if self.typ == 0:
            return self.shifted(typ)
        scale = typ / self.typ
        low, high = sorted((self.low * scale, self.high * scale))
        return Spread(min(low, typ), typ, max(high, typ))  # rounding may not part them

    def shifted(self, typ: float) -> Spread:
        """The same distances about another typical value (temperatures)."""
        return Spread(typ + (self.low - self.typ), typ, typ + (self.high - self.typ))
