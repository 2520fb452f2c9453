"""How deep the tests look: `make test` takes few examples, `make test-all` many more of the same.

Neither is random: the examples of a property are the same at every run.
"""

from __future__ import annotations

import pytest
from hypothesis import settings

LONG = "long"
"""The profile of make test-all: pytest --hypothesis-profile=long."""

_TIMES_LONG = 10


def register() -> None:
    """Both profiles; the short one is taken unless pytest is asked for the other."""
    for name, examples in (("short", 100), (LONG, 100 * _TIMES_LONG)):
        settings.register_profile(
            name, derandomize=True, deadline=None, database=None, max_examples=examples
        )
    settings.load_profile("short")


def is_long() -> bool:
    return settings.get_current_profile_name() == LONG


def deep(count: int) -> int:
    """So many examples in a short run, and ten times as many in a long one."""
    return count * _TIMES_LONG if is_long() else count


def seeds(count: int) -> list[object]:
    """So many for a test of random things, and ten times as many that are long."""
    more = range(count, count * _TIMES_LONG)
    return [*range(count), *(pytest.param(seed, marks=pytest.mark.long) for seed in more)]
