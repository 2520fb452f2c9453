"""Keys by which state, journal and screens name an item and a calculation at a subject.

Both are texts, "item@subject" and "calculator@subject.label", that know their parts.
"""

from __future__ import annotations

from collections.abc import Iterable


class Key(str):
    """An item at a subject; without one it is the board's: "boot-level", "enough-left@3v3"."""

    __slots__ = ()

    @classmethod
    def of(cls, item: str, subject: str = "") -> Key:
        return cls(f"{item}@{subject}" if subject else item)

    @property
    def item(self) -> str:
        return self.partition("@")[0]

    @property
    def subject(self) -> str:
        return self.partition("@")[2]


class CalculationKey(str):
    """A saved calculation: "strap", "linear-regulator@3v3", "strap.boot1", "trace@3v3.wide"."""

    __slots__ = ()

    @classmethod
    def of(cls, calculator: str, subject: str = "", label: str = "") -> CalculationKey:
        return cls(Key.of(calculator, subject) + (f".{label}" if label else ""))

    @property
    def calculator(self) -> str:
        return self.partition("@")[0].partition(".")[0]

    @property
    def subject(self) -> str:
        return self.partition("@")[2].partition(".")[0]

    @property
    def label(self) -> str:
        return self.partition(".")[2]


def of_calculation(calculation_id: str, assumed: Iterable[str]) -> tuple[str, ...]:
    """Assumed figures as they are called outside their calculation: "calculation field"."""
    return tuple(one if " " in one else f"{calculation_id} {one}" for one in assumed)
