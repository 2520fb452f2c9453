"""A new kind of event is one class and the rule that makes it; nothing else lists it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar, NamedTuple

import pytest

from coach.sprint.commands import Undo
from coach.sprint.events.event import Event, kinds
from coach.sprint.events.naming import Naming
from coach.sprint.rules.rule import CommandContext, Outcome, rule
from coach.sprint.state import State
from phases.kit.text import Line
from tests.sprint.conftest import Bench, kept, told_again


@pytest.fixture
def bench(begin: object) -> Iterator[Bench]:
    """A bench on which coffee is fetched; the kind is gone again afterwards."""

    class CoffeeFetched(Event):
        """Somebody fetched coffee."""

        who: Line

        kept: ClassVar[bool] = True

        def applied(self, state: State, t: float) -> State:
            return state.with_(interrupted=state.interrupted + 300.0)

        def told(self, names: Naming) -> str:
            return f"{self.who} fetched coffee."

    class FetchCoffee(NamedTuple):
        who: str

    @rule(FetchCoffee)
    def _fetch(state: State, command: FetchCoffee, asked: CommandContext) -> Outcome:
        return [CoffeeFetched(who=command.who)], "Coffee is here"

    kinds.cache_clear()
    made = begin()  # type: ignore[operator]
    made.fetch, made.kind = FetchCoffee, CoffeeFetched
    yield made
    kinds.cache_clear()


def test_it_is_journalled_read_again_folded_told_and_taken_back(bench: Bench) -> None:
    kind, fetch = bench.kind, bench.fetch  # type: ignore[attr-defined]
    assert bench.do(fetch("The bench")) == "Coffee is here"
    assert bench.state.interrupted == 300.0
    again = told_again(bench.path)
    assert again.interrupted == 300.0
    assert kept(again, kind) == [kind(who="The bench")]
    last = bench.session.history[-1]
    assert last.to_plain()["what"] == "coffee-fetched"
    assert last.event.told(Naming(bench.session.setup)) == "The bench fetched coffee."
    assert bench.do(Undo()) == "Undone: The bench fetched coffee."
    assert bench.state.interrupted == 0.0
    assert bench.state.of(kind) == ()


def test_every_kind_says_what_it_is_called_in_a_journal() -> None:
    names = kinds()
    assert names["item-met"].__name__ == "ItemMet"
    assert all(kind.what == name for name, kind in names.items())
    assert len(names) > 40


def test_every_kind_can_be_told() -> None:
    untold = [kind for kind in kinds().values() if kind.told is Event.told]
    assert untold == []


def test_no_field_takes_a_key_of_the_journal_itself() -> None:
    with pytest.raises(TypeError, match="by is a key of the journal itself"):

        class Sung(Event):
            by: Line
