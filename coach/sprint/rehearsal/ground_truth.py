"""What is true of a simulated engineer: pace, forgetfulness, what the board really has.

Everything about one item or one fact is drawn from dice of its own, so that it does not depend
on the order of the work: who forgets more forgets the same items and some besides.

How long drawing takes is no beta-PERT and knows no log-normal phase: a gamma variate about the
likely time, more as the person tires, and now and then a piece that has to be drawn again. The
forecast is judged against this, so the two must not share a model.
"""

from __future__ import annotations

import random
from collections.abc import Mapping

from phases.kit.facts import Fact, FactValue
from phases.kit.items import PHASE_IDS, Drawing, Item, Severity, Size

_PACE_SPREAD = 0.12
_PHASE_SHAPE = 16.0  # of the gamma variate: a quarter of the mean as its standard deviation
_MEAN_OF_LIKELY = 1.08
_TIRED_MOST = 0.2
_REDRAWN = 0.1
_CHOOSING_SPREAD = 0.18
_SHORT_SPREAD = 0.35
_REALLY_MISSING = 0.8
_WAIVED = 0.04
_FURTHER_LOOKED_AT = 0.35


class GroundTruth:
    """One engineer on one board. pace: of this run, about the one asked for.

    overlook: the chance that an item is passed over with its phase and met by a later walk.
    burst: about how many items are ticked at a time.
    """

    def __init__(
        self, seed: int, pace: float, forget: float, *, overlook: float = 0.0, burst: float = 3.0
    ) -> None:
        self._seed = seed
        self._forget = forget
        self._overlook = overlook
        self.burst = burst
        self.dice = random.Random(f"{seed}:run")
        self.pace = pace * self._about("pace", _PACE_SPREAD)
        self._tired = self._own("tired").uniform(-0.05, _TIRED_MOST)

    def _own(self, name: str) -> random.Random:
        return random.Random(f"{self._seed}:{name}")

    def _about(self, name: str, spread: float) -> float:
        """A factor with median 1, log-normal."""
        return self._own(name).lognormvariate(0.0, spread)

    # ---- time --------------------------------------------------------------------------------

    def drawing_seconds(self, phase: str, drawing: Drawing, sizes: Mapping[Size, float]) -> float:
        """What drawing a phase really takes, scaled to board and pace."""
        dice = self._own(f"drawing:{phase}")
        minutes = drawing.likely * _MEAN_OF_LIKELY
        minutes *= dice.gammavariate(_PHASE_SHAPE, 1 / _PHASE_SHAPE)
        if dice.random() < _REDRAWN:
            minutes *= dice.uniform(1.15, 1.5)
        tired = 1 + self._tired * PHASE_IDS.index(phase) / (len(PHASE_IDS) - 1)
        return minutes * 60 * drawing.factor(sizes) * self.pace * tired

    def choosing_seconds(self, sizes: Mapping[Size, float]) -> float:
        """Choosing parts: some seconds a part."""
        return 6.5 * sizes["parts"] * self.pace * self._about("choosing", _CHOOSING_SPREAD)

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

    def overlooks(self, key: str) -> bool:
        """Whether the item is passed over with its phase."""
        return self._own(f"overlooks:{key}").random() < self._overlook

    def made_good_seconds(self, item: Item, key: str) -> float:
        """What an item that was passed over takes: it may be there all the same."""
        dice = self._own(f"made good:{key}")
        missing = dice.random() < _REALLY_MISSING
        return item.left_out_min * 60 * dice.uniform(0.6, 1.5) if missing else 0.0

    def seen_wrongly(self, key: str, chance: float) -> bool:
        """Whether the item was met by looking and was wrong all the same."""
        return self._own(f"seen wrongly:{key}").random() < chance

    def waives(self, item: Item, key: str) -> bool:
        """Whether it is left out knowingly; never what kills a board or hurts somebody."""
        return item.severity < Severity.DEAD_BOARD and self._own(f"waives:{key}").random() < _WAIVED

    def looks_at(self, key: str) -> bool:
        """Whether one of the more checks gets a look."""
        return self._own(f"looks:{key}").random() < _FURTHER_LOOKED_AT

    def prefers_data_sheet(self, key: str) -> bool:
        return self._own(f"sheet:{key}").random() < 0.3

    def page(self, key: str) -> int:
        return self._own(f"page:{key}").randint(2, 48)

    def answer(self, fact: Fact, subject: str) -> FactValue:
        """What this board really is, where the brief does not say."""
        dice = self._own(f"fact:{fact.id}@{subject}")
        return dice.choice(fact.values) if fact.values else 1.0
