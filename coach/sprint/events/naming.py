"""What items, calculations, phases, subjects and features are called where events are told."""

from __future__ import annotations

from collections.abc import Iterable

from coach.sprint.events.board import SubjectAdded
from coach.sprint.events.event import Stamped
from coach.sprint.keys import CalculationKey, Key
from coach.sprint.setup import Setup
from phases.kit.items import CLOSING_ID


class Naming:
    """Names as the journal's header has them, and those of subjects that were added since."""

    def __init__(self, setup: Setup, history: Iterable[Stamped] = ()) -> None:
        self.setup = setup
        self._subjects = {subject.id: subject.title for subject in setup.brief.subjects()}
        for one in history:
            if isinstance(one.event, SubjectAdded):
                self._subjects[one.event.id] = one.event.title or one.event.id

    def item(self, key: str) -> str:
        """The statement of an item, with the title of its subject."""
        named = Key(key)
        item = self.setup.items.get(named.item)
        words = item.statement if item else named.item.replace("-", " ")
        return self._at(words, named.subject)

    def calculation(self, key: str) -> str:
        """A saved calculation by its name, label and subject."""
        named = CalculationKey(key)
        words = named.calculator.replace("-", " ") + (f", {named.label}" if named.label else "")
        return self._at(words, named.subject)

    def phase(self, phase_id: str) -> str:
        if phase_id == CLOSING_ID:
            return self.setup.closing.title.lower()
        found = next((p for p in self.setup.phases if p.id == phase_id), None)
        return found.name if found else phase_id

    def feature(self, feature_id: str) -> str:
        found = next((f for f in self.setup.brief.features if f.id == feature_id), None)
        return (found.title if found else "") or feature_id

    def subject(self, subject: str) -> str:
        return self._subjects.get(subject, subject)

    def _at(self, words: str, subject: str) -> str:
        return f"{words} ({self.subject(subject)})" if subject else words
