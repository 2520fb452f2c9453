"""The values of this sprint for looking at: what the brief gives, and what calculations published.

Read from what is written down; nothing is computed that is written there.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from coach.sprint.brief.document import BRIEF_NAMES
from coach.sprint.ledger.brief_values import board_values
from coach.sprint.ledger.ledger import Ledger
from coach.sprint.state import State
from phases.kit.facts import BOARD, FactValue
from phases.kit.record import ledger_name
from phases.kit.say import show_spread

BRIEF, CHANGED, NOT_GIVEN = "brief", "changed", "not given"

CONSUMERS, PINS = "board.consumers", "board.pins"
CHANGEABLE = {CONSUMERS: ("typical", "peak", "duty", "count", "rail"), PINS: ("count",)}
"""The tables a brief gives, and what can be changed in a row of each."""

# They follow the rails, a fact and the table of consumers, and are changed there.
_FOLLOWS = (
    "board.rails",
    "board.layers",
    "load.{load}.typical",
    "load.{load}.peak",
    "rail.{rail}.withstands",
    "rail.{rail}.needs",
)


@dataclass(frozen=True, slots=True)
class KnownValue:
    """One value. value: its text, or its rows. origin: BRIEF, CHANGED (of the brief, in this
    sprint), NOT_GIVEN, or the id of the calculation that published it. meaning: in words."""

    name: str
    value: str | tuple[Mapping[str, str], ...]
    origin: str
    meaning: str

    @property
    def calculated(self) -> bool:
        return self.origin not in (BRIEF, CHANGED, NOT_GIVEN)

    @property
    def subject(self) -> str:
        """The subject in its name: "3v3" of rail.3v3.window; "" for the board's own."""
        parts = self.name.split(".")
        return parts[1] if len(parts) > 2 else ""


def known_values(state: State) -> list[KnownValue]:
    """Every value the brief gives or could give, then every one a calculation published, in the
    order in which the calculations were saved."""
    given = board_values(state)
    found = []
    for name, meaning in _names(state).items():
        value = given.get(name)
        origin = NOT_GIVEN if value is None else CHANGED if name in state.declared else BRIEF
        if value is None and ".card." in name:
            continue  # many roles, few of them on a board
        if name not in CHANGEABLE:
            found.append(KnownValue(name, value or "", origin, meaning))
        elif value:
            found.append(KnownValue(name, tuple(value), origin, meaning))
    published = [
        KnownValue(name, show_spread(value, out.unit), calculation_id, out.title)
        for name, calculation_id, out, value in Ledger(state).published()
    ]
    saved = list(state.calculations)
    return [*found, *sorted(published, key=lambda known: saved.index(known.origin))]


def load_of(state: State, row: Mapping[str, str]) -> str:
    """The load whose current a row of the table of consumers is; "" where it is no load's."""
    named = row.get("consumer", "")
    loads = (s for s in state.subjects.values() if s.kind == "load")
    return next((load.id for load in loads if named in (load.title, load.id)), "")


def origin_of_fact(state: State, fact: str, subject: str, value: FactValue) -> str:
    """Where the value of a fact is from: the brief, a safe default, or an answer in this sprint."""
    for origin, given in (
        ("brief", state.setup.brief.knowledge_values()),
        ("assumed", state.setup.defaults),
    ):
        if any(f == fact and s in (subject, BOARD) and v == value for s, f, v in given):
            return origin
    return "answered"


def _names(state: State) -> dict[str, str]:
    """The names a brief gives, for the subjects that are on the board, with their meanings."""
    fills = [state.names_of(subject) for subject in ("", *state.subjects)]
    return {
        name: meaning
        for template, meaning in BRIEF_NAMES.items()
        for names in fills
        if template not in _FOLLOWS and (name := ledger_name(template, names, None))
    }
