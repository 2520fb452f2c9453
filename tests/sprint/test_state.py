"""A state is never changed: another one takes its place."""

from __future__ import annotations

from dataclasses import FrozenInstanceError, fields, replace

import pytest

from coach.sprint.state import State
from tests.sprint.conftest import Bench


def test_a_state_with_other_values_is_what_its_constructor_makes(bench: Bench) -> None:
    state = bench.state
    changed = state.with_(t=99.0, deferred=frozenset({"entrance-clamp"}))
    assert changed == replace(state, t=99.0, deferred=frozenset({"entrance-clamp"}))
    assert vars(changed).keys() == {field.name for field in fields(State)}
    assert type(changed) is State


def test_nothing_derived_is_left_over(bench: Bench) -> None:
    state = bench.state
    assert state.rows
    changed = state.with_(deferred=frozenset({"entrance-clamp"}))
    assert [row.key for row in changed.rows if row.deferred] == ["entrance-clamp"]
    assert not any(row.deferred for row in state.rows)


def test_a_state_has_no_other_fields_and_no_other_values(bench: Bench) -> None:
    with pytest.raises(TypeError, match="calls"):
        bench.state.with_(calls=())
    with pytest.raises(FrozenInstanceError):
        bench.state.t = 5.0  # type: ignore[misc]
