"""Each supply of the board: what to set on the bench supply, and what it should then give."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from coach.debrief.bringup.figures import outward, value_words
from coach.debrief.bringup.loads import Demand, demand_of, factors_of
from coach.debrief.bringup.recorded import Recorded, named, output, row, taken
from coach.debrief.bringup.sheet import (
    BRIEF,
    CALCULATED,
    MEMORY,
    NOTHING,
    PRACTICE,
    Expected,
    Step,
)
from coach.sprint.brief.document import Subject
from phases.kit.spread import Spread

MARGIN = 0.05
"""Above the worst case: the limit is set 50 to 100 mA above it (common practice)."""

_STEPS = ((0.01, 0.001), (1.0, 0.01), (1e9, 0.1))
"""Up to which current a bench supply is set in which steps (common practice)."""

_NARROW = 0.12
"""Share of the middle up to which a window is one nominal voltage and not a range."""

_LEADS = 0.05
"""Of the voltage set: display of the supply and drop of its leads (common practice)."""


@dataclass(frozen=True)
class Feed:
    """One supply. set_at: volts to set; at_low: because the window is a range, of which the low
    end comes first. window: declared. limit: amperes to set, cap: what the limit may not exceed
    and cap_why whose rating that is."""

    rail: Subject
    window: Spread | None
    set_at: float | None
    at_low: bool
    demand: Demand
    limit: float
    cap: float | None
    cap_why: str

    @property
    def tight(self) -> bool:
        """Whether what is needed is more than may be set."""
        return self.cap is not None and self.demand.most > self.cap


def feeds_of(known: Recorded) -> list[Feed]:
    return [_feed(known, rail) for rail in known.entries]


def _feed(known: Recorded, rail: Subject) -> Feed:
    window = known.window(rail.id)
    set_at, at_low = _set_at(window)
    demand = demand_of(known, rail.id, at_low=at_low)
    cap, cap_why = _cap(known, rail)
    limit = settable(demand.most + MARGIN)
    if cap is not None and limit > cap:
        limit = settable(cap, down=True)
    return Feed(rail, window, set_at, at_low, demand, limit, cap, cap_why)


def _set_at(window: Spread | None) -> tuple[float | None, bool]:
    """What to set first: the nominal voltage; of a wide range without one its low end."""
    if window is None:
        return None, False
    middle = (window.low + window.high) / 2
    narrow = window.high - window.low <= 2 * _NARROW * middle
    has_nominal = abs(window.typ - middle) > 1e-9 * middle
    if narrow or has_nominal:
        return window.typ, False
    return window.low, True


def settable(current: float, *, down: bool = False) -> float:
    """A current as a bench supply can be set: upwards, or downwards where it is a limit."""
    step = next(step for most, step in _STEPS if current <= most)
    way = ROUND_FLOOR if down else ROUND_CEILING
    steps = (Decimal(f"{current:.12g}") / Decimal(str(step))).to_integral_value(way)
    found = float(steps * Decimal(str(step)))
    return found if found > 0 else current


def _cap(known: Recorded, rail: Subject) -> tuple[float | None, str]:
    """The least of what source and fuse stand, and whose it is."""
    found: list[tuple[float, str]] = []
    first = known.entries and known.entries[0].id == rail.id
    allowed = known.published.get("source.allowed")
    if first and allowed is not None:
        found.append((allowed.value.low, f"the source allows, {allowed.owner}"))
    rating = known.given(f"rail.{rail.id}.rating", "A")
    if rating is None and first:
        rating = known.given("source.current", "A")
    if rating is not None:
        found.append((rating.low, "the source is rated at, brief"))
    for fuse in known.of("fuse", rail.id):
        hold = output(fuse, "I_hold")
        if hold is not None:
            found.append((hold.low, f"the fuse holds, {fuse.id}"))
    found = [(most, why) for most, why in found if most > 0]
    return min(found) if found else (None, "")


# ---- the steps -------------------------------------------------------------------------------


def limit_steps(known: Recorded, feeds: list[Feed]) -> Iterator[Step]:
    for feed in feeds:
        yield _limit(known, feed)


def _limit(known: Recorded, feed: Feed) -> Step:
    rail, demand = feed.rail, feed.demand
    volts = "the voltage of the brief" if feed.set_at is None else value_words(feed.set_at, "V", 3)
    amps = value_words(feed.limit, "A", 3)
    low = min(demand.most, feed.limit)
    cap = feed.cap if feed.cap is not None and feed.cap >= feed.limit else None
    low_end, high_end = outward(low, cap)
    worst = value_words(demand.most, "A")
    why = f"Worst case {worst} ({demand.why})"
    if feed.tight:
        why += f", held to what {feed.cap_why}: it may stay in limit at full load"
    elif feed.limit < settable(demand.most + MARGIN):
        why += f", held to what {feed.cap_why}"
    else:
        why += " and 50 mA, rounded up to what can be set"
    return Step(
        f"supply.{rail.id}.limit", "limit", f"Current limit for {named(rail)}",
        f"Set {volts}, short the leads and set {amps}; then output off, connect"
        + (f", without {_listed(demand.left_off)}" if demand.left_off else ""),
        Expected(low_end, feed.limit, high_end, "A"),
        where=_where(known, rail), tool="bench supply",
        basis=demand.basis, why=f"{why}. {_inrush(known, feed)}",
        caution=_limit_caution(known, feed),
    )  # fmt: skip


def _where(known: Recorded, rail: Subject) -> str:
    kind = known.fact("battery_kind")
    if kind not in (None, "none") and known.entries[0].id == rail.id:
        return "in place of the cell"
    ways = [
        one.id
        for one in known.subjects("connector")
        if one.parent == rail.id and known.fact("carries_supply", one.id) is True
    ]
    return ", ".join(ways) or "at the supply's way in"


def _inrush(known: Recorded, feed: Feed) -> str:
    """How long the capacitors keep the supply in its limit."""
    found = _capacitance(known, feed.rail.id)
    if found is None or feed.set_at is None or not feed.limit > 0:
        return "It limits for an instant while the capacitors charge; off again if it stays so."
    farads, owner = found
    lasts = value_words(farads * feed.set_at / feed.limit, "s", 2)
    return (
        f"It limits for about {lasts} while {value_words(farads, 'F', 2)} charge ({owner}); "
        "off again if it stays so."
    )


def _capacitance(known: Recorded, rail: str) -> tuple[float, str] | None:
    for schedule in known.of("capacitor-schedule"):
        figure = row(schedule, "C_rail", rail)
        if figure is not None and figure.high > 0:
            return figure.high, schedule.id
    return None


def _limit_caution(known: Recorded, feed: Feed) -> str:
    kind = known.fact("battery_kind")
    if kind == "coin-cell" and feed.set_at and known.entries[0].id == feed.rail.id:
        ohms = value_words(feed.set_at / feed.limit, "Ω", 2)
        return (
            f"No bench supply: a fresh cell through {ohms}, which holds a short at the limit. "
            "It dips under load; take it out once the current is known."
        )
    if feed.at_low and feed.window is not None:
        return (
            f"A range of {value_words(feed.window.low, 'V', 3)} .. "
            f"{value_words(feed.window.high, 'V', 3)}: its low end first, its high end last."
        )
    if known.fact("supply") == "usb-c":
        return "A computer's port comes only after this supply has shown no fault."
    return ""


def _listed(words: tuple[str, ...]) -> str:
    return ", ".join(words)


def resistance_steps(known: Recorded, feeds: list[Feed]) -> Iterator[Step]:
    """Each rail to ground: below its greatest voltage over what the limit leaves it, the supply
    would limit. A converter takes another current than it gives."""
    for feed in feeds:
        factors = factors_of(known, feed.rail.id)
        for rail in known.below(feed.rail.id):
            yield _resistance(known, feed, rail, factors.get(rail.id, 1.0))


def _resistance(known: Recorded, feed: Feed, rail: Subject, factor: float) -> Step:
    volts = feed.set_at if rail.id == feed.rail.id else None
    if volts is None:
        window = known.voltage(rail.id)
        volts = window.high if window else None
    title = f"{named(rail)} to ground"
    step = f"rail.{rail.id}.resistance"
    do, where, tool = (
        "Ohmmeter, red on the rail, then the other way round",
        _point(rail),
        "ohmmeter",
    )
    if volts is None or not feed.limit > 0:
        return Step(
            step, "resistance", title, do, Expected(unit="Ω", words="no short"), where, tool,
            NOTHING, missing=f"The brief gives no voltage of {rail.id}",
        )  # fmt: skip
    low, _ = outward(volts * factor / feed.limit, None)
    behind = (
        ""
        if factor == 1.0
        else f" ({value_words(feed.limit / factor, 'A', 3)} behind the converter)"
    )
    return Step(
        step, "resistance", title, do, Expected(low, None, None, "Ω"), where, tool,
        feed.demand.basis,
        why=f"{value_words(volts, 'V', 3)} over the limit of {value_words(feed.limit, 'A', 3)}"
        f"{behind}: below it the supply would only limit. No upper end",
        first=f"Solder bridges, turned parts and capacitors on {rail.id}, before any power",
    )  # fmt: skip


def _point(rail: Subject) -> str:
    return f"a test point or capacitor of {rail.id}"


def entry_expected(known: Recorded, feed: Feed) -> tuple[Expected, str, str]:
    """(expected, basis, why) of the supply's own rail once it is on."""
    computed = known.published.get(f"rail.{feed.rail.id}.voltage")
    if feed.at_low and feed.set_at is not None:
        drop, owner = _greatest_drop(known, feed.rail.id, feed.demand.share)
        low, high = outward(feed.set_at * (1 - _LEADS) - drop, feed.set_at * (1 + _LEADS))
        lost = f" less {value_words(drop, 'V', 3)} on the way ({owner})" if owner else ""
        why = f"What was set, within 5 % for display and leads{lost}"
        return Expected(low, feed.set_at, high, "V"), CALCULATED if owner else PRACTICE, why
    if computed is not None:
        return ends_of(computed.value), CALCULATED, computed.owner
    if feed.window is not None:
        return ends_of(feed.window), BRIEF, "the window of the brief"
    return Expected(unit="V"), NOTHING, ""


def ends_of(spread: Spread, unit: str = "V", digits: int = 3) -> Expected:
    low, high = outward(spread.low, spread.high, digits)
    return Expected(low, spread.typ, high, unit, digits=digits)


def _greatest_drop(known: Recorded, rail: str, share: float) -> tuple[float, str]:
    """What the way in loses at most, and who says so.

    share: of the full current. What wires, fuse and tracks lose follows it; the blocking part's
    drop is counted whole.
    """
    for chain in known.of("drop-chain", rail):
        source, left = taken(chain, "V_src"), output(chain, "V_in")
        if source is not None and left is not None:
            whole = _most_lost(source, left)
            before, behind = output(chain, "V_fuse"), output(chain, "V_block")
            block = _most_lost(before, behind) if before and behind else whole
            return block + (whole - block) * min(share, 1.0), chain.id
    return 0.0, ""


def _most_lost(before: Spread, behind: Spread) -> float:
    ends = ((before.low, behind.low), (before.typ, behind.typ), (before.high, behind.high))
    return max(0.0, *(first - second for first, second in ends))


def backfeed_steps(known: Recorded, feeds: list[Feed]) -> Iterator[Step]:
    """With one supply on, nothing may come out of the others."""
    if len(feeds) > 1:
        for feed in feeds:
            others = _listed(tuple(one.rail.id for one in feeds if one is not feed))
            yield _backfeed(
                f"rail.{feed.rail.id}.backfeed", f"{named(feed.rail)} with only {others} on",
                f"terminals of {feed.rail.id}, its own supply disconnected",
            )  # fmt: skip
    elif known.fact("second_supply") is True:
        yield _backfeed(
            "supply.second.backfeed", "The second supply's contacts, with the first one on",
            "contacts of the supply that is not connected",
        )  # fmt: skip


def _backfeed(step: str, title: str, where: str) -> Step:
    return Step(
        step, "voltage", title, "Voltage to ground, through 10 kΩ to ground",
        Expected(None, 0.0, 0.3, "V"), where, "voltmeter", MEMORY,
        "Leakage of a blocking diode makes some millivolts across 10 kΩ; more feeds back",
        caution="Never connect a cell that must not be charged before this is right.",
        first="The blocking part: its kind, its way round, a bridge across it",
    )  # fmt: skip
