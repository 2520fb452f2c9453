"""What a source prints, against what is computed: right if it rounds or truncates to it."""

from __future__ import annotations

from decimal import Decimal


def prints_as(value: float, printed: str) -> bool:
    """Whether `value` rounds or truncates to the number `printed`, to its last printed digit.

    "7.0" is good to a tenth, "710" to one; give "0.71" for a 710 mW printed with two digits.
    """
    shown = Decimal(printed)
    step = float(Decimal(1).scaleb(int(shown.as_tuple().exponent)))
    beyond = value - float(shown) if shown >= 0 else float(shown) - value
    return -step / 2 * (1 + 1e-9) <= beyond < step
