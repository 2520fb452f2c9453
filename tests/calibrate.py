"""How good the forecasts are, over many rehearsed sprints: `make calibrate`.

    python -m tests.calibrate [SPRINTS] [SEED]

Prints what was found, and ends with 1 where the 80 % bands hold less than 75 % or more than 85 %
of the finishes, or the chances are no better than always saying how often it happens.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable

from coach.sprint.brief.loading import load_brief
from coach.sprint.pace.forecast import BAND
from coach.sprint.pace.scoring import Calibration
from coach.sprint.rehearsal.many import Sprint, calibration, in_words, rehearse_many
from phases.kit.shared_data import list_shared

SPRINTS = 1000
TOLERANCE = 0.05


def sprints_of(count: int, seed: int) -> Iterable[Sprint]:
    """Sprints on the bundled briefs in turn, with a word now and then."""
    briefs = [load_brief(name) for name in list_shared("briefs")]
    for number, sprint in enumerate(rehearse_many(briefs, count, seed=seed), start=1):
        if number % 100 == 0:
            print(f"{number} of {count} sprints", file=sys.stderr)
        yield sprint


def faults(in_all: Calibration) -> list[str]:
    """What is wrong with the forecasts taken together; nothing where they are good."""
    found = []
    if abs(in_all.share - BAND) > TOLERANCE:
        found.append(f"The 80 % bands held {in_all.share:.1%} of the finishes.")
    if in_all.brier >= in_all.base:
        found.append("The chances are no better than the base rate.")
    return found


def main(arguments: list[str]) -> int:
    count = int(arguments[0]) if arguments else SPRINTS
    seed = int(arguments[1]) if len(arguments) > 1 else 1
    sprints = list(sprints_of(count, seed))
    in_time = sum(sprint.in_time for sprint in sprints)
    print(f"{in_time} of {len(sprints)} sprints had all essentials by the cut-off.")
    judged = calibration(sprints)
    for one in judged:
        print(in_words(one))
    found = faults(judged[-1])
    print("\n".join(found) or "Forecasts are calibrated.")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
