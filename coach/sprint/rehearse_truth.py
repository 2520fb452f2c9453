"""What is true of a simulated engineer: pace, forgetfulness, what the board really has.

Everything about one item or one fact is drawn from dice of its own, so that it does not depend
on the order of the work: who forgets more forgets the same items and some besides.
"""

from __future__ import annotations

import random
from collections.abc import Mapping

from phases.kit.facts import Fact, FactValue
from phases.kit.items import Drawing, Item, Severity, Size

_PACE_SPREAD = 0.12
_PHASE_SPREAD = 0.18
_SHORT_SPREAD = 0.35
_WAIVED = 0.04
_FURTHER_LOOKED_AT = 0.35


class Truth:
    """One engineer on one board. pace: of this run, about the one asked for."""

    def __init__(self, seed: int, pace: float, forget: float) -> None:
        self._seed = seed
        self._forget = forget
        self.dice = random.Random(f"{seed}:run")
        self.pace = pace * self._about("pace", _PACE_SPREAD)

    def _own(self, name: str) -> random.Random:
        return random.Random(f"{self._seed}:{name}")

    def _about(self, name: str, spread: float) -> float:
        """A factor with median 1, log-normal."""
        return self._own(name).lognormvariate(0.0, spread)

    # ---- time --------------------------------------------------------------------------------

    def drawing_seconds(self, phase: str, drawing: Drawing, sizes: Mapping[Size, float]) -> float:
        """What drawing a phase really takes: a beta-PERT draw, scaled to board and pace."""
        low, likely, high = drawing.optimistic, drawing.likely, drawing.pessimistic
        reach = high - low
        alpha, beta = 1 + 4 * (likely - low) / reach, 1 + 4 * (high - likely) / reach
        minutes = low + reach * self._own(f"drawing:{phase}").betavariate(alpha, beta)
        own = self._about(f"phase:{phase}", _PHASE_SPREAD)
        return minutes * 60 * drawing.factor(sizes) * self.pace * own

    def choosing_seconds(self, sizes: Mapping[Size, float]) -> float:
        """Choosing parts: some seconds a part."""
        return 6.5 * sizes["parts"] * self.pace * self._about("choosing", _PHASE_SPREAD)

    def short(self, seconds: float) -> float:
        """A short act that should take so many seconds."""
        return max(seconds * self.dice.lognormvariate(0.0, _SHORT_SPREAD), 0.5)

    def shares(self, count: int) -> list[float]:
        """How drawing is split into stretches between two bursts of ticks; they sum to 1."""
        weights = [self.dice.uniform(0.3, 1.7) for _ in range(count)]
        return [weight / sum(weights) for weight in weights]

    def happens(self, chance: float) -> bool:
        return self.dice.random() < chance

    # ---- items and facts ---------------------------------------------------------------------

    def forgets(self, key: str) -> bool:
        """Whether the item is simply not thought of, whoever asks."""
        return self._own(f"forgets:{key}").random() < self._forget

    def waives(self, item: Item, key: str) -> bool:
        """Whether it is left out knowingly; never what kills a board or hurts somebody."""
        return item.severity < Severity.DEAD_BOARD and self._own(f"waives:{key}").random() < _WAIVED

    def looks_at(self, key: str) -> bool:
        """Whether a further item gets a look."""
        return self._own(f"looks:{key}").random() < _FURTHER_LOOKED_AT

    def prefers_data_sheet(self, key: str) -> bool:
        return self._own(f"sheet:{key}").random() < 0.3

    def page(self, key: str) -> int:
        return self._own(f"page:{key}").randint(2, 48)

    def answer(self, fact: Fact, subject: str) -> FactValue:
        """What this board really is, where the brief does not say."""
        dice = self._own(f"fact:{fact.id}@{subject}")
        return dice.choice(fact.values) if fact.values else 1.0
