"""The simulated engineer: draws, calculates, ticks in bursts, walks, forgets, closes, ends.

Gives commands to a session and moves its clock; sees what a person sees (the state) and
nothing else.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from coach.sprint import commands as command
from coach.sprint.clock import ManualClock
from coach.sprint.gates.gates import doubts, gate_rows
from coach.sprint.gates.walks import further_of_phase, walk_of_phase, walk_of_stage
from coach.sprint.pace.plan import sizes
from coach.sprint.rehearsal.acting import Actor, GivesUpError
from coach.sprint.rehearsal.calculating import CALCULATING, calculate
from coach.sprint.rehearsal.ground_truth import GroundTruth
from coach.sprint.session import Session
from coach.sprint.state import REOPENED, Row
from phases.kit.facts import find_fact
from phases.kit.items import CLOSING_ID, Evidence, Phase, Stage
from phases.kit.refusals import Refusal

PATIENCE = 120.0
"""Seconds after the cut-off when the engineer gives up."""

_PLACING = 0.45
"""The share of layout that goes into placing."""

_TOO_LATE_TO_BEGIN_LAYOUT = 0.62
"""The share of the time before the reserve after which something is dropped before layout."""

_NOTES = (
    "Is there room for a second mounting hole on the left?",
    "Ask which cable the bench has for the first power-on.",
    "A smaller inductor would free the corner.",
    "Write down the supply current at the first power-on.",
    "Name of the board on the back as well?",
)


class Engineer(Actor):
    """One simulated engineer at one session. forgotten: keys not thought of, in their order."""

    def __init__(
        self, session: Session, clock: ManualClock, truth: GroundTruth, patience: float = PATIENCE
    ) -> None:
        super().__init__(session, clock, truth, patience)
        self.forgotten: list[str] = []
        self._passed_over: set[str] = set()

    def work(self) -> None:
        """The whole sprint, from choosing parts to its end."""
        try:
            self.spend(self.truth.choosing_seconds(sizes(self.state)))
            for phase in self.state.setup.phases:
                self._phase(phase)
            self._closing()
        except GivesUpError:
            self.do(command.End(accepted=False))

    # ---- phases --------------------------------------------------------------------------------

    def _phase(self, phase: Phase) -> None:
        if phase.id == "layout":
            self._before_layout()
        elif phase.id == "labelling":
            self._walk_stage(Stage.ROUTING)
            self.do(command.ReachStage(Stage.FILES))
        self.do(command.EnterPhase(phase.id))
        seconds = self.truth.drawing_seconds(phase.id, phase.drawing, sizes(self.state))
        # Sizing is part of a phase's work, not on top of it.
        calculated = sum(bool(row.item.cites) for row in walk_of_phase(self.state, phase.id))
        seconds -= min(calculated * CALCULATING, seconds / 2)
        if phase.id == "layout":
            self._draw(phase.id, seconds * _PLACING)
            self._before_routing()
            self._draw(phase.id, seconds * (1 - _PLACING))
        else:
            self._draw(phase.id, seconds)
        self._sign_off(phase.id)
        self._pause(phase)

    def _draw(self, phase: str, seconds: float) -> None:
        """Drawing in stretches; after each, a burst of ticks from the head."""
        rows = [row for gate in gate_rows(self.state, phase) for row in gate.cells]
        keys = [row.key for row in rows if not row.closed and self.state.reached(row)]
        from_head = keys[: round(len(keys) * self.truth.dice.uniform(0.3, 0.8))]
        shares = self.truth.shares(max(1, round(len(from_head) / self.truth.burst)))
        for number, share in enumerate(shares):
            self.spend(seconds * share)
            burst = from_head[number :: len(shares)]
            self._each(burst, passes_over=True)
            if self.truth.happens(0.12):
                self.do(command.Park(self.truth.dice.choice(_NOTES)))

    def _sign_off(self, phase: str) -> None:
        """The walk of the gate, a look at more checks, and the signature where it is allowed."""
        self._walk(phase, walk_of_phase(self.state, phase), passes_over=True)
        further = [row.key for row in further_of_phase(self.state, phase)]
        self.left_open |= {key for key in further if not self.truth.looks_at(key)}
        self._each(key for key in further if self.truth.looks_at(key))
        if not walk_of_phase(self.state, phase):
            self.do(command.SignOff(phase))

    def _pause(self, phase: Phase) -> None:
        """Between two phases: a slip taken back, an interruption, a jump back."""
        if self.truth.happens(0.08):
            self._slip()
        if self.truth.happens(0.07):
            self.spend(self.truth.short(240.0))
            self._interrupted()
        if self.truth.happens(0.15):
            self._jump_back(phase)

    def _slip(self) -> None:
        row = next((r for r in self.state.rows if r.applies and not r.closed), None)
        if row is not None:
            self.session.do(command.Waive(row.key, "the wrong row"))
            self.spend(self.truth.short(4.0))
            self.session.do(command.Undo())

    def _interrupted(self) -> None:
        try:
            self.do(command.Interrupt())
        except Refusal:  # too short to be taken out
            return

    def _jump_back(self, phase: Phase) -> None:
        ids = self.state.setup.phase_ids
        earlier = ids[: ids.index(phase.id)]
        if not earlier:
            return
        back = self.truth.dice.choice(earlier)
        self.do(command.EnterPhase(back))
        self.spend(self.truth.short(80.0) * self.truth.pace)
        self._walk(back, walk_of_phase(self.state, back))
        self.do(command.EnterPhase(phase.id))

    def _before_layout(self) -> None:
        for note in self.state.notes:
            if not note.settled:
                self.spend(self.truth.short(10.0))
                self.do(command.Settle(note.number))
        self._walk_stage(Stage.SCHEMATIC)
        time_for_work = self.state.deadline - self.state.setup.reserve
        if self.session.t > _TOO_LATE_TO_BEGIN_LAYOUT * time_for_work:
            self._drop_something()
        self.do(command.ReachStage(Stage.PLACEMENT))

    def _drop_something(self) -> None:
        """The optional feature with the fewest points goes."""
        optional = [f for f in self.state.setup.brief.features if not f.required]
        if optional:
            self.do(command.DropFeature(min(optional, key=lambda f: f.points).id))

    def _before_routing(self) -> None:
        self._walk_stage(Stage.PLACEMENT)
        self.do(command.ReachStage(Stage.ROUTING))
        if self.truth.happens(0.4):
            self.do(command.NoteChange("placement"))

    def _closing(self) -> None:
        self._walk_stage(Stage.FILES)
        self.do(command.EnterPhase(CLOSING_ID))
        minutes = {item.id: item.minutes for item in self.state.setup.closing.items}
        rows = walk_of_phase(self.state, CLOSING_ID)
        closed = 0
        for row in rows:
            last = row is rows[-1]
            if self.truth.forgets(row.key) and not last:
                self._forget(row.key)
                continue
            self.spend(minutes[row.item.id] * 60 * self.truth.dice.uniform(0.85, 1.1))
            if last and self.session.t > self.state.deadline + self.patience - PATIENCE:
                raise GivesUpError
            self.do(command.Meet(row.key))
            closed += 1
        self.do(command.FinishWalk(CLOSING_ID, len(rows), closed))
        self.do(command.End(accepted=True))

    # ---- walks and items -----------------------------------------------------------------------

    def _walk_stage(self, stage: Stage) -> None:
        rows = [*walk_of_stage(self.state, stage)]
        seen = {row.key for row in rows}
        rows += [r for r in doubts(self.state) if r.key not in seen and r.item.stage <= stage]
        self._walk(stage, rows)

    def _walk(self, of: str, rows: Sequence[Row], *, passes_over: bool = False) -> None:
        if not rows:
            return
        keys = [row.key for row in rows]
        self._each(keys, passes_over=passes_over)
        # What one answer settles may open another question: once more over what is left.
        self._each((k for k in keys if self._open(k) is not None), passes_over=passes_over)
        closed = sum(self._open(key) is None for key in keys)
        self.do(command.FinishWalk(of, len(keys), closed))

    def _each(self, keys: Iterable[str], *, passes_over: bool = False) -> None:
        """Closes one after the other what is thought of; with its own phase some are passed over,
        and a later walk finds them."""
        for key in list(keys):
            row = self._open(key)
            if row is None:
                continue
            if self.truth.forgets(key):
                self._forget(key)
                self.left_open.add(key)
            elif passes_over and self.truth.overlooks(key):
                self._passed_over.add(key)
                self.left_open.add(key)
            else:
                if key in self._passed_over:
                    self.spend(self.truth.made_good_seconds(row.item, key))
                self._close(key)

    def _open(self, key: str) -> Row | None:
        row = self.state.by_key.get(key)
        return None if row is None or row.closed else row

    def _forget(self, key: str) -> None:
        if key not in self.forgotten:
            self.forgotten.append(key)

    def _close(self, key: str) -> None:
        """Answers what is asked, then calculates or looks; waives what cannot be met."""
        row = self._open(key)
        while row is not None and row.applies is None:
            self._answer(row)
            row = self._open(key)
        if row is None:
            return
        if row.status == REOPENED and row.state is not None and row.state.doubt:
            self.spend(self.truth.short(row.item.confirm_s))
            self.do(command.Meet(key))
        elif self.truth.waives(row.item, key):
            self.waive(key)
        elif Evidence.CALCULATED in row.item.met_by:
            calculate(self, row)
        else:
            self._look(row)

    def _answer(self, row: Row) -> None:
        assert row.question is not None
        fact = find_fact(row.question)
        subject = row.subject if fact.per != "board" else ""
        value = self.truth.answer(fact, subject)
        self.spend(self.truth.short(5.0))
        if row.item.taken_off_by(self.state.knowledge, row.subject) == (subject, fact.id, value):
            self.do(command.Dismiss(row.key))
        else:
            self.do(command.Affirm(row.key, value))

    def _look(self, row: Row) -> None:
        self.spend(self.truth.short(row.item.confirm_s))
        by_sheet = Evidence.DATA_SHEET in row.item.met_by and (
            len(row.item.met_by) == 1 or self.truth.prefers_data_sheet(row.key)
        )
        if by_sheet:
            self.read_data_sheet(row)
        else:
            self.do(command.Meet(row.key))
