"""What must hold between the parts of a brief, beyond the form of each.

Each check yields its faults with the key they are at; `faults_of` gathers them all.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, datetime

from coach.sprint.brief.document import Brief, Deadline, Feature, SubjectTable
from coach.sprint.cut_off import cut_off
from coach.sprint.durations import duration
from phases.kit.cards import ROLES
from phases.kit.document_lines import Location
from phases.kit.facts import check_value, load_facts
from phases.kit.notation import read_quantity
from phases.kit.refusals import Refusal, unknown

Faults = Iterator[tuple[Location, Refusal]]

_LONG_AGO = datetime(2000, 1, 1, tzinfo=UTC)
"""A cut-off is only tried for its form here; whether it is still to come is known at the start."""


def faults_of(brief: Brief) -> Faults:
    """Every fault of a brief whose tables are in form by themselves."""
    yield from _deadline(brief.deadline)
    yield from _board(brief)
    yield from _ids(brief)
    yield from _rails(brief)
    yield from _step_up(brief)
    yield from _facts(brief.facts, ("facts",), "board")
    for kind, place, table in _placed(brief):
        yield from _facts(table.facts, (*place, "facts"), kind)
        yield from _roles(table, place, kind)
    for number, feature in enumerate(brief.features):
        yield from _facts(feature.facts, ("feature", number, "facts"), "board")
        yield from _feature(brief, feature, ("feature", number, "subjects"))


def _deadline(given: Deadline) -> Faults:
    at: Location = ("deadline",)
    if given.minutes is None and given.cut_off is None:
        yield at, Refusal("There is no deadline", do='Give minutes = 120 or cut_off = "15:36"')
    if given.minutes is not None and given.cut_off is not None:
        yield (*at, "cut_off"), Refusal("The deadline appears twice", do="Keep minutes or cut_off")
    if given.minutes is not None and given.reserve >= given.minutes:
        what = (
            f"A reserve of {duration(60 * given.reserve)} leaves nothing of "
            f"{duration(60 * given.minutes)}"
        )
        yield (*at, "reserve"), Refusal(what, do="Give a smaller reserve or more minutes")
    if given.zone is not None and given.cut_off is None:
        yield (*at, "zone"), Refusal("A zone belongs to a cut_off", do="Leave it out")
    if given.cut_off is not None:
        try:
            cut_off(given.cut_off, _LONG_AGO, given.zone)
        except Refusal as refusal:
            yield (*at, "cut_off"), refusal


def _board(brief: Brief) -> Faults:
    board, rails = brief.board, [rail.id for rail in brief.rails]
    if board.mcu_rail not in rails:
        yield ("board", "mcu_rail"), unknown("rail", board.mcu_rail, rails)
    if board.mcu and board.pins:
        yield ("board", "pins"), Refusal("The part card has the pins", do="Keep mcu or pins")
    if brief.facts.get("layers", board.layers) != board.layers:
        yield (
            ("facts", "layers"),
            Refusal(f"The board has {board.layers} layers", do="Remove this"),
        )


def _placed(brief: Brief) -> Iterator[tuple[str, Location, SubjectTable]]:
    """Each subject's kind, its place in the file, its table."""
    return (
        (kind, (kind, number), table)
        for kind, tables in brief.tables().items()
        for number, table in enumerate(tables)
    )


def _ids(brief: Brief) -> Faults:
    """No id of a subject or of a feature appears twice, and no subject in two features."""
    subjects = [((*place, "id"), table.id) for _, place, table in _placed(brief)]
    for place, name, first in _repeated(subjects):
        what = f"The {first[0]} before it has the id {name!r} too"
        yield place, Refusal(what, do="Give each subject an id of its own")
    features = [(("feature", number), one) for number, one in enumerate(brief.features)]
    for place, name, _ in _repeated(((*place, "id"), one.id) for place, one in features):
        yield place, Refusal(f"There are two features {name!r}")
    owned = (((*place, "subjects"), name) for place, one in features for name in one.subjects)
    for place, name, first in _repeated(owned):
        owner = brief.features[int(first[1])].id
        yield place, Refusal(f"{name!r} belongs to the feature {owner!r} already")


def _repeated(
    named: Iterable[tuple[Location, str]],
) -> Iterator[tuple[Location, str, Location]]:
    """Names that appear again: where, the name, and where it appeared first."""
    first: dict[str, Location] = {}
    for place, name in named:
        if name in first:
            yield place, name, first[name]
        first.setdefault(name, place)


def _rails(brief: Brief) -> Faults:
    """Every subject is on a rail there is, and every rail, by its parents, on an entry."""
    parents = {rail.id: rail.parent for rail in brief.rails}
    told: set[str] = set()
    for kind, place, table in _placed(brief):
        rail = table.depends_on
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


def _step_up(brief: Brief) -> Faults:
    """A rail above all that feeds it is stepped up, and one below all of that is not."""
    windows = {rail.id: read_quantity(rail.voltage, "V") for rail in brief.rails}
    for number, rail in enumerate(brief.rails):
        made, feeds = rail.facts.get("regulator"), windows.get(rail.parent or "")
        at: Location = ("rail", number, "facts", "regulator")
        if feeds and made == "switching" and windows[rail.id].typ > feeds.high:
            what = f"{rail.id} is above {rail.parent}: a switching converter steps down"
            yield at, Refusal(what, do='Write "step-up"')
        if feeds and made == "step-up" and windows[rail.id].typ < feeds.low:
            what = f"{rail.id} is below {rail.parent}: nothing has to be stepped up"
            yield at, Refusal(what, do='Write "switching" or "linear"')


def _facts(values: Mapping[str, bool | str | float], place: Location, kind: str) -> Faults:
    known = load_facts()
    for name, value in values.items():
        try:
            if name not in known:
                raise unknown(
                    "fact", name, [fact.id for fact in known.values() if fact.per == kind]
                )
            if known[name].per != kind:
                what = f"{name!r} is a fact of a {known[name].per}, not of a {kind}"
                raise Refusal(what, do="Move it")
            check_value(known[name], value)
        except Refusal as refusal:
            yield (*place, name), refusal


def _roles(table: SubjectTable, place: Location, kind: str) -> Faults:
    for role in table.parts:
        if role not in ROLES[kind]:
            yield (*place, "parts", role), unknown(f"part of a {kind}", role, ROLES[kind])
    if table.part and ROLES[kind][0] in table.parts:
        yield (*place, "part"), Refusal("The part appears twice", do="Keep part or parts")


def _feature(brief: Brief, feature: Feature, place: Location) -> Faults:
    """A feature names subjects there are; one that may be dropped takes along all on its rails."""
    subjects = {subject.id: subject for subject in brief.subjects()}
    for name in feature.subjects:
        if name not in subjects:
            yield place, unknown("subject", name, subjects)
    dropped = set() if feature.required else set(feature.subjects)
    if (rail := brief.board.mcu_rail) in dropped:
        what = f"The microcontroller is on {rail}, which this feature drops"
        yield place, Refusal(what, do="Leave the rail out of it")
    for one in subjects.values():
        if one.parent in dropped and one.id not in dropped:
            what = f"{one.id!r} is on {one.parent!r}, which this feature drops"
            yield place, Refusal(what, do=f"Add {one.id!r} to its subjects")
