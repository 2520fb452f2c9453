"""The choice of what to drop against knapsacks with a known optimum.

Keeping what is worth most within a capacity is dropping what is worth least: the sum of the
profits less the cheapest drop is the optimum. Instances P01, P04 and P06: J. Burkardt,
KNAPSACK_01, data sets for the 0/1 knapsack problem.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations

import numpy as np
import pytest

from coach.sprint.pace.descope import cheapest
from phases.kit.arrays import Array

INSTANCES = {
    "P01": (
        165,
        (23, 31, 29, 44, 53, 38, 63, 85, 89, 82),
        (92, 57, 49, 68, 60, 43, 67, 84, 87, 72),
        309,
        (1, 2, 3, 4, 6),
    ),
    "P04": (190, (56, 59, 80, 64, 75, 17), (50, 50, 64, 46, 50, 5), 150, (1, 2, 5)),
    "P06": (
        170,
        (41, 50, 49, 59, 55, 57, 60),
        (442, 525, 511, 593, 546, 564, 617),
        1735,
        (2, 4, 7),
    ),
}
"""capacity, weights, profits, optimum, the items kept (from 1)."""


def kept(dropped: Iterable[int], count: int) -> tuple[int, ...]:
    return tuple(i + 1 for i in range(count) if i not in set(dropped))


@pytest.mark.parametrize("name", INSTANCES)
def test_a_published_knapsack_is_packed_as_printed(name: str) -> None:
    capacity, weights, profits, optimum, items = INSTANCES[name]
    one_draw = [np.array([float(w)]) for w in weights]
    dropped = cheapest(
        np.array([float(sum(weights))]), one_draw, [(float(p),) for p in profits], capacity, 1.0
    )
    assert dropped is not None
    assert kept(dropped, len(weights)) == items
    assert sum(profits) - sum(profits[i] for i in dropped) == optimum


def test_taking_the_best_ratio_first_would_lose() -> None:
    """P04: 146 instead of 150, P06: 1478 instead of 1735; so the choice searches."""
    for name, greedy in (("P04", 146), ("P06", 1478)):
        capacity, weights, profits, optimum, _ = INSTANCES[name]
        order = sorted(range(len(weights)), key=lambda i: -profits[i] / weights[i])
        room, value = capacity, 0
        for i in order:
            if weights[i] <= room:
                room, value = room - weights[i], value + profits[i]
        assert value == greedy < optimum


# ---- by chance -------------------------------------------------------------------------------


def normal_weights(draws: int) -> list[Array]:
    """Weights of P01, each normal with a fifth of itself as its standard deviation."""
    chance = np.random.default_rng(17)
    return [chance.normal(w, 0.2 * w, draws) for w in INSTANCES["P01"][1]]


def test_a_chance_constrained_knapsack_is_packed_as_its_normal_form_says() -> None:
    """Keep while µ + z σ fits (static stochastic knapsack with normal sizes, Y. Merzifonluoğlu, J.
    Geunes, H. E. Romeijn; the form from memory, the figures recomputed): at 90 % items 1, 2, 3, 4,
    value 266, µ 127, σ 13.06; the items of the sure optimum fit only half of the time."""
    capacity, weights, profits, _, sure = INSTANCES["P01"]
    drawn = normal_weights(20_000)
    total = np.sum(drawn, axis=0)
    dropped = cheapest(total, drawn, [(float(p),) for p in profits], capacity, 0.9)
    assert dropped is not None
    assert kept(dropped, 10) == (1, 2, 3, 4)
    assert sum(profits[i - 1] for i in (1, 2, 3, 4)) == 266
    spread = sum((0.2 * weights[i]) ** 2 for i in range(4)) ** 0.5
    assert (sum(weights[:4]), spread) == (127, pytest.approx(13.06, abs=0.01))
    fits = np.sum([drawn[i - 1] for i in sure], axis=0) <= capacity
    assert fits.mean() == pytest.approx(0.5, abs=0.02)


def by_brute_force(
    finish: Array, saved: list[Array], costs: list[tuple[float, ...]], left: float, wanted: float
) -> tuple[float, ...] | None:
    """The least cost of all sets that do, each looked at."""
    best: tuple[float, ...] | None = None
    for size in range(len(saved) + 1):
        for chosen in combinations(range(len(saved)), size):
            rest = finish - sum((saved[i] for i in chosen), np.zeros_like(finish))
            cost = tuple(sum(column) for column in zip(*(costs[i] for i in chosen), strict=True))
            cost = cost or tuple(0.0 for _ in costs[0])
            if (rest <= left + 1e-9).mean() >= wanted and (best is None or cost < best):
                best = cost
    return best


@pytest.mark.parametrize("seed", range(25))
def test_the_choice_costs_as_little_as_brute_force_finds(seed: int) -> None:
    chance = np.random.default_rng(seed)
    count, draws = int(chance.integers(1, 10)), 300
    pace = chance.lognormal(0, 0.3, draws)
    saved = [chance.uniform(10, 400) * pace * chance.uniform(0.7, 1.3, draws) for _ in range(count)]
    costs: list[tuple[float, ...]] = [
        (float(chance.integers(0, 3) * 5), float(chance.integers(0, 4))) for _ in range(count)
    ]
    finish = 2000 * pace + np.sum(saved, axis=0)
    left = float(np.quantile(finish, chance.uniform(0.1, 0.9)))
    wanted = float(chance.uniform(0.3, 0.95))
    found = cheapest(finish, saved, costs, left, wanted)
    least = by_brute_force(finish, saved, costs, left, wanted)
    if least is None:
        assert found is None
        return
    assert found is not None
    chosen = [costs[i] for i in found]
    total = tuple(sum(column) for column in zip(*chosen, strict=True)) or (0.0, 0.0)
    assert total == pytest.approx(least)
    rest = finish - sum((saved[i] for i in found), np.zeros(draws))
    assert (rest <= left + 1e-9).mean() >= wanted


def test_where_nothing_is_to_be_dropped_nothing_is() -> None:
    assert cheapest(np.array([5.0, 6.0]), [np.array([1.0, 1.0])], [(1.0,)], 7.0, 1.0) == ()
    assert cheapest(np.array([5.0]), [], [], 4.0, 1.0) is None
