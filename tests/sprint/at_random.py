"""Commands at random: most of them sensible where the sprint stands, some of them rubbish."""

from __future__ import annotations

from collections.abc import Callable
from random import Random
from typing import Any

from coach.sprint import commands as asked
from coach.sprint.commands import Command
from coach.sprint.ledger.brief_values import board_values
from coach.sprint.ledger.to_draw import to_draw
from coach.sprint.state import State
from phases.kit.catalogue import calculators
from phases.kit.facts import load_facts
from phases.kit.fields import Quantity
from phases.kit.items import CLOSING_ID, PHASE_IDS, Stage, load_changes

RUBBISH = ("", "[/]", "\x1b[2J", "nothing-of-the-kind", "ü" * 500, "a.b@c", "-1", "nan", "None")
VALUES = ("1 V", "5 V", "3.3 V ± 5 %", "20 mA", "0.1 .. 1 A", "47 kΩ", "0", "1e9 V", "2", "10 %")


def any_command(chance: Random, state: State) -> Command:
    """The next thing a person, or a cat, might ask for."""
    return chance.choice(_MAKERS)(chance, state)


def _one_of(chance: Random, known: Any) -> str:
    """A name that is there, or now and then rubbish."""
    names = list(known)
    if not names or chance.random() < 0.1:
        return chance.choice(RUBBISH)
    return str(chance.choice(names))


def _phase(chance: Random) -> str:
    return _one_of(chance, (*PHASE_IDS, CLOSING_ID))


def _words(chance: Random) -> str:
    return chance.choice((*RUBBISH, "no time", "seen on paper", "page 3"))


def _meet(chance: Random, state: State) -> Command:
    kind = chance.choice(("", "", "inspected", "data sheet", "measured", "calculated"))
    page = "page 3" if kind == "data sheet" else ""
    return asked.Meet(_one_of(chance, state.by_key), kind, page, chance.choice(("", "1.8 mm")))


def _fact(chance: Random, state: State) -> Command:
    name = _one_of(chance, load_facts())
    fact = load_facts().get(name)
    if fact is None:
        return asked.SetFact(name, True)
    value: Any = chance.choice(fact.values) if fact.values else chance.choice((2, 4.0))
    at = [s.id for s in state.subjects.values() if s.kind == fact.per]
    subject = "" if fact.per == "board" else _one_of(chance, at)
    return asked.SetFact(name, value if chance.random() < 0.9 else "perhaps", subject)


def _value(chance: Random, state: State) -> Command:
    known = board_values(state)
    name = _one_of(chance, known)
    return asked.DeclareValue(name, chance.choice((*VALUES, known.get(name, "1 V"))))


def _add(chance: Random, state: State) -> Command:
    kind = chance.choice(("rail", "bus", "connector", "clock", "load"))
    values = {
        "rail": {"voltage": "5 V", "current": "1 A"},
        "load": {"typical": "10 mA", "peak": "20 mA"},
        "clock": {"frequency": "8 MHz"},
    }.get(kind, {})
    parent = chance.choice(("", "3v3", *state.subjects))
    name = f"{kind[0]}{chance.randrange(5)}"
    return asked.AddSubject(name, kind, parent, values=values if chance.random() < 0.5 else {})


def _save(chance: Random, state: State) -> Command:
    kind = chance.choice(list(calculators().values()))
    at = [s.id for s in state.subjects.values() if s.kind == kind.per]
    subject = "" if kind.per == "board" else _one_of(chance, at)
    quantities = [f.name for f in kind.fields.values() if isinstance(f, Quantity)]
    given = {name: chance.choice(VALUES) for name in quantities if chance.random() < 0.15}
    return asked.SaveCalculation(kind.name, subject, chance.choice(("", "", "b")), given)


def _draw(chance: Random, state: State) -> Command:
    parts = [(part.calculation, part.role) for part in to_draw(state)]
    return asked.Draw(tuple(chance.sample(parts, chance.randint(0, len(parts)))))


def _feature(chance: Random, state: State) -> str:
    return _one_of(chance, [feature.id for feature in state.setup.brief.features])


_MAKERS: tuple[Callable[[Random, State], Command], ...] = (
    _meet,
    _meet,
    _meet,
    _fact,
    _value,
    _add,
    _save,
    _save,
    _draw,
    _draw,
    lambda r, s: asked.EnterPhase(_phase(r)),
    lambda r, s: asked.SignOff(_phase(r)),
    lambda r, s: asked.JoinLate(_phase(r)),
    lambda r, s: asked.ReachStage(_one_of(r, Stage)),
    lambda r, s: asked.FinishWalk(_one_of(r, (*Stage, *PHASE_IDS)), r.randint(0, 4), 2),
    lambda r, s: asked.SetStepByStep(_phase(r), r.random() < 0.5),
    lambda r, s: asked.Waive(_one_of(r, s.by_key), _words(r)),
    lambda r, s: asked.Reopen(_one_of(r, s.items or s.by_key), _words(r)),
    lambda r, s: asked.Defer((_one_of(r, s.by_key), _one_of(r, s.by_key))),
    lambda r, s: asked.TakeUp((_one_of(r, s.deferred or s.by_key),)),
    lambda r, s: asked.Dismiss(_one_of(r, s.by_key)),
    lambda r, s: asked.Affirm(_one_of(r, s.by_key), r.choice((True, True, "linear", "uart"))),
    lambda r, s: asked.NoteChange(_one_of(r, load_changes())),
    lambda r, s: asked.DropSubject(_one_of(r, s.subjects)),
    lambda r, s: asked.DropFeature(_feature(r, s)),
    lambda r, s: asked.RestoreFeature(_feature(r, s)),
    lambda r, s: asked.RemoveCalculation(_one_of(r, s.calculations)),
    lambda r, s: asked.Park(_words(r)),
    lambda r, s: asked.Settle(r.randint(0, 3)),
    lambda r, s: asked.MoveCutOff(r.choice(("+20", "-10 min", "10:45", "90 min", *RUBBISH))),
    lambda r, s: asked.SetQuiet(r.random() < 0.5),
    lambda r, s: asked.Interrupt(),
    lambda r, s: asked.Undo(),
)
