"""What must hold between the parts of a brief, beyond the form of each.

Each check yields its faults with the key they stand at; `faults_of` gathers them all.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from coach.sprint.cut_off import cut_off
from phases.kit.document_lines import Location
from phases.kit.facts import check_value, load_facts
from phases.kit.refusals import Refusal, unknown

if TYPE_CHECKING:
    from coach.sprint.brief.document import Brief, Feature, SubjectTable

Faults = Iterator[tuple[Location, Refusal]]

_LONG_AGO = datetime(2000, 1, 1, tzinfo=UTC)
"""A cut-off is only tried for its form here; whether it is still to come is known at the start."""


def faults_of(brief: Brief) -> Faults:
    """Every fault of a brief whose tables are in form by themselves."""
    yield from _deadline(brief)
    yield from _ids(brief)
    yield from _rails(brief)
    yield from _board(brief)
    yield from _facts(brief)
    yield from _features(brief)


def _deadline(brief: Brief) -> Faults:
    deadline = brief.deadline
    if deadline.minutes is None and deadline.cut_off is None:
        yield (
            ("deadline",),
            Refusal("There is no deadline", do='Give minutes = 120 or cut_off = "15:36"'),
        )
    if deadline.minutes is not None and deadline.cut_off is not None:
        yield (
            ("deadline", "cut_off"),
            Refusal("The deadline is given twice", do="Keep minutes or cut_off"),
        )
    if deadline.minutes is not None and deadline.reserve >= deadline.minutes:
        yield (
            ("deadline", "reserve"),
            Refusal(
                f"A reserve of {deadline.reserve} min leaves nothing of {deadline.minutes} min",
                do="Give a smaller reserve or more minutes",
            ),
        )
    if deadline.zone is not None and deadline.cut_off is None:
        yield ("deadline", "zone"), Refusal("A zone belongs to a cut_off", do="Leave it out")
    if deadline.cut_off is not None:
        try:
            cut_off(deadline.cut_off, _LONG_AGO, deadline.zone)
        except Refusal as refusal:
            yield ("deadline", "cut_off"), refusal


def _ids(brief: Brief) -> Faults:
    first: dict[str, str] = {}
    for kind, place, table in _placed(brief):
        if table.id in first:
            yield (
                (*place, "id"),
                Refusal(
                    f"The {first[table.id]} before it has the id {table.id!r} too",
                    do="Give each subject an id of its own",
                ),
            )
        first.setdefault(table.id, kind)


def _placed(brief: Brief) -> Iterator[tuple[str, Location, SubjectTable]]:
    """Each subject's kind, its place in the file, its table."""
    counts: dict[str, int] = {}
    for kind, table in brief.tables():
        number = counts.get(kind, 0)
        counts[kind] = number + 1
        yield kind, (kind, number), table


def _rails(brief: Brief) -> Faults:
    """Every subject hangs on a rail there is, and every rail, by its parents, on an entry."""
    parents = {rail.id: rail.parent for rail in brief.rails}
    told: set[str] = set()
    for kind, place, table in _placed(brief):
        rail = table.hangs_on
        if rail and rail not in parents:
            key = "parent" if kind == "rail" else "rail"
            yield (*place, key), unknown("rail", rail, parents)
        if kind == "rail" and table.id not in told and (loop := _loop(table.id, parents)):
            told.update(loop)
            chain = " -> ".join([*loop, loop[0]])
            what = f"The rails feed each other: {chain}" if loop[1:] else "It is its own parent"
            yield (*place, "parent"), Refusal(what, do="Give it another parent, or none")


def _loop(rail: str, parents: Mapping[str, str | None]) -> list[str]:
    """The rails from `rail` up to itself; empty where its parents end at an entry."""
    chain = [rail]
    while (parent := parents.get(chain[-1])) is not None:
        if parent == rail:
            return chain
        if parent in chain:  # a loop further up, told of at its own rails
            return []
        chain.append(parent)
    return []


def _board(brief: Brief) -> Faults:
    rails = [rail.id for rail in brief.rails]
    if brief.board.mcu_rail not in rails:
        yield ("board", "mcu_rail"), unknown("rail", brief.board.mcu_rail, rails)
    if brief.board.mcu and brief.board.pins:
        yield (
            ("board", "pins"),
            Refusal("The pins are known from the part card", do="Keep mcu or pins"),
        )
    said = brief.facts.get("layers", brief.board.layers)
    if said != brief.board.layers:
        yield (
            ("facts", "layers"),
            Refusal(f"The board has {brief.board.layers} layers", do="Leave this out"),
        )


def _facts(brief: Brief) -> Faults:
    yield from _facts_in(brief.facts, ("facts",), "board")
    for kind, place, table in _placed(brief):
        yield from _facts_in(table.facts, (*place, "facts"), kind)
    for number, feature in enumerate(brief.features):
        yield from _facts_in(feature.facts, ("feature", number, "facts"), "board")


def _facts_in(values: Mapping[str, bool | str | float], place: Location, kind: str) -> Faults:
    known = load_facts()
    fitting = [fact.id for fact in known.values() if fact.per == kind]
    for name, value in values.items():
        try:
            if name not in known:
                raise unknown("fact", name, fitting)
            if known[name].per != kind:
                raise Refusal(
                    f"{name!r} is a fact of a {known[name].per}, not of a {kind}", do="Move it"
                )
            check_value(known[name], value)
        except Refusal as refusal:
            yield (*place, name), refusal


def _features(brief: Brief) -> Faults:
    subjects = {subject.id: subject for subject in brief.subjects()}
    owners: dict[str, str] = {}
    ids: set[str] = set()
    for number, feature in enumerate(brief.features):
        place: Location = ("feature", number)
        if feature.id in ids:
            yield (*place, "id"), Refusal(f"There are two features {feature.id!r}")
        ids.add(feature.id)
        for name in feature.subjects:
            if name not in subjects:
                yield (*place, "subjects"), unknown("subject", name, subjects)
            elif name in owners:
                yield (
                    (*place, "subjects"),
                    Refusal(f"{name!r} belongs to the feature {owners[name]!r} already"),
                )
            owners.setdefault(name, feature.id)
        if not feature.required:
            yield from _left_hanging(brief, feature, (*place, "subjects"))


def _left_hanging(brief: Brief, feature: Feature, place: Location) -> Faults:
    """A feature that may be dropped takes along all that hangs on its rails."""
    dropped = set(feature.subjects)
    if brief.board.mcu_rail in dropped:
        yield (
            place,
            Refusal(
                f"The microcontroller hangs on {brief.board.mcu_rail}, which this feature drops",
                do="Leave the rail out of it",
            ),
        )
    for subject in brief.subjects():
        if subject.parent in dropped and subject.id not in dropped:
            yield (
                place,
                Refusal(
                    f"{subject.id!r} hangs on {subject.parent!r}, which this feature drops",
                    do=f"Add {subject.id!r} to its subjects",
                ),
            )
