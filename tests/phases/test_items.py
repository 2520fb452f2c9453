"""The items themselves: whole, short, asked of the right boards, and proved by limits there are."""

from __future__ import annotations

import itertools
import tomllib
import unicodedata
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from phases.kit.catalogue import calculators
from phases.kit.facts import FactValue, Knowledge, default_values, find_fact, load_facts
from phases.kit.items import (
    PHASE_IDS,
    Evidence,
    Item,
    Phase,
    Severity,
    Stage,
    all_items,
    load_changes,
    load_closing,
    load_phases,
)

BRIEFS = sorted((Path(__file__).parents[2] / "shared" / "briefs").glob("*.toml"))

CITABLE = {name: (kind.per, set(kind.limits)) for name, kind in calculators().items()}
"""Calculators an item may cite: what they belong to, and their limits."""

PROVES_NOTHING = {
    "charger:time",  # a wish
    "drop-chain:back-feed",  # that a blocking part is there is looked for
    "drop-chain:dissipation",
    "inrush:switch",
    "source-runtime:cut-off",  # a cell's own data sheet decides about a cell
    "source-runtime:runtime",  # a wish
    "trace:fusing",
    "indicator:pin-current",
}
"""Limits that no item waits for: they are judged where they are calculated."""

LEDGER = {
    "rail.{rail}.voltage",
    "rail.{rail}.window",
    "rail.{rail}.load",
    "rail.{rail}.peak",
    "board.load",
    "board.mcu",
    "board.capability",
    "source.current",
}
"""Ledger names an item may hang on."""

KIND_FACT = {
    "rail": "regulator",
    "bus": "bus_kind",
    "connector": "connector_kind",
    "clock": "clock_kind",
    "load": "load_kind",
}
"""The fact that tells what a subject is."""

ITEMS = {item.id: item for item in all_items()}


@dataclass(frozen=True)
class Board:
    """A board for these tests: what is known, and its subjects by kind."""

    known: Knowledge
    subjects: dict[str, list[str]]

    def answers(self, item: Item) -> list[bool | None]:
        """Whether the item is needed at each of its subjects."""
        places = [""] if item.per == "board" else self.subjects.get(item.per, [])
        return [item.applies(self.known, place) for place in places]

    def shows(self, item: Item) -> bool:
        """Whether it has a row: needed somewhere, or not known yet."""
        return any(answer is not False for answer in self.answers(item))


def every_subject() -> tuple[list[tuple[str, str, FactValue]], dict[str, list[str]]]:
    """A subject of every sort there is, with the fact that says so."""
    entries: list[tuple[str, str, FactValue]] = []
    subjects: dict[str, list[str]] = {}
    for kind, name in KIND_FACT.items():
        for choice in find_fact(name).choices:
            subjects.setdefault(kind, []).append(f"{kind}-{choice}")
            entries.append((f"{kind}-{choice}", name, choice))
    return entries, subjects


def boards() -> Iterator[Board]:
    """Boards of all supplies, cells and connections, with all other facts yes, no or unknown."""
    entries, subjects = every_subject()
    chosen = ("supply", "battery_kind", "debug_kind", "usb_data", "second_supply")
    rest = [
        fact
        for fact in load_facts().values()
        if fact.kind == "yes/no" and fact.id not in chosen and fact.id != "cc_in_part"
    ]
    combinations = itertools.product(*(find_fact(name).values for name in chosen))
    for values, other in itertools.product(combinations, (True, False, None)):
        told = [("", name, value) for name, value in zip(chosen, values, strict=True)]
        told += [("", fact.id, other) for fact in rest if other is not None]
        yield Board(Knowledge.of([*default_values(), *entries, *told]), subjects)


def bundled(path: Path) -> Board:
    brief = tomllib.loads(path.read_text())
    entries = [*default_values(), *(("", name, value) for name, value in brief["facts"].items())]
    entries.append(("", "layers", float(brief["board"]["layers"])))
    subjects: dict[str, list[str]] = {}
    for kind in KIND_FACT:
        for row in brief.get(kind, []):
            subjects.setdefault(kind, []).append(row["id"])
            entries += [(row["id"], name, value) for name, value in row.get("facts", {}).items()]
    return Board(Knowledge.of(entries), subjects)


# ---- texts -------------------------------------------------------------------------------


def is_one_plain_line(text: str) -> bool:
    return (
        (text[0].isupper() or text[0].isdigit())
        and not text.endswith((".", "!", "?", ":"))
        and not any(unicodedata.category(c) in ("Cc", "Cf") for c in text)
        and "  " not in text
    )


def test_statement_and_reason_are_one_plain_line_each() -> None:
    texts = [text for item in ITEMS.values() for text in (item.statement, item.why)]
    assert [text for text in texts if not is_one_plain_line(text)] == []
    assert len(texts) > 200
    assert not is_one_plain_line("Two  blanks")


def test_no_two_items_say_the_same() -> None:
    assert len({item.statement for item in all_items()}) == len(ITEMS)


def test_ids_are_unique_over_all_phases_and_the_closing_list() -> None:
    twice = [name for name, count in Counter(item.id for item in all_items()).items() if count > 1]
    assert twice == []


def test_an_id_is_a_readable_name_and_no_number() -> None:
    assert all(name.replace("-", "").isalpha() and len(name) <= 32 for name in ITEMS)


# ---- phases ------------------------------------------------------------------------------


def test_the_seven_phases_come_in_order_each_with_names_of_its_own() -> None:
    phases = load_phases()
    assert tuple(phase.id for phase in phases) == PHASE_IDS
    for names in zip(*((p.title, p.short, p.name) for p in phases), strict=True):
        assert len(set(names)) == 7


def test_a_phase_has_at_least_twelve_items_that_can_be_needed() -> None:
    never = [item for phase in load_phases() for item in phase.items]
    for board in boards():
        never = [item for item in never if True not in board.answers(item)]
    for phase in load_phases():
        assert len(phase.items) - sum(item.phase == phase.id for item in never) >= 12, phase.id


@pytest.mark.parametrize("phase", load_phases(), ids=lambda phase: phase.id)
def test_the_essentials_stand_before_the_more_checks(phase: Phase) -> None:
    assert phase.items[: len(phase.gate)] == phase.gate


def test_drawing_work_is_spread_as_the_shares_say() -> None:
    # common practice: our own estimate of the minutes of drawing work, at 0.55 of them
    shares = (11, 11, 6, 14, 8, 38, 7)
    for phase, share in zip(load_phases(), shares, strict=True):
        drawing = phase.drawing
        assert drawing.likely == pytest.approx(0.55 * share, abs=0.06)
        assert drawing.optimistic == pytest.approx(0.7 * drawing.likely, abs=0.06)
        assert drawing.pessimistic == pytest.approx(1.9 * drawing.likely, abs=0.06)


# ---- gates -------------------------------------------------------------------------------


def test_a_gate_is_short_and_never_empty() -> None:
    # common practice: what one person confirms at a pause. A row that unfolds over subjects is
    # one row; one not known yet is a row too.
    for board in boards():
        for phase in load_phases():
            rows = sum(board.shows(item) for item in phase.gate)
            assert 1 <= rows <= 14, (phase.id, board.known)


@pytest.mark.parametrize("path", BRIEFS, ids=lambda path: path.stem)
def test_the_gates_of_the_bundled_briefs_are_short(path: Path) -> None:
    board = bundled(path)
    rows = [sum(board.shows(item) for item in phase.gate) for phase in load_phases()]
    assert all(1 <= count <= 12 for count in rows), rows
    assert sum(rows) < sum(len(phase.gate) for phase in load_phases())


def test_every_item_has_a_short_title_of_its_own() -> None:
    titles = [item.short_title for item in all_items()]
    assert all(3 <= len(title) <= 38 for title in titles)
    assert len(set(titles)) == len(titles)


def test_every_phase_holds_something_at_its_gate_whatever_the_board() -> None:
    for phase in load_phases():
        assert any(not item.when for item in phase.gate), phase.id


def test_whatever_can_hurt_someone_is_marked_as_a_hazard() -> None:
    hazards = {item.id for item in all_items() if item.severity is Severity.HAZARD}
    assert hazards == {
        "no-back-feed",
        "over-current",
        "cell-limits",
        "charger-set",
        "lithium-cell-protected",
        "primary-cell-not-charged",
        "outputs-safe-in-reset",
        "polarised-capacitors",
        "cell-kind-printed",
        "fuse-printed",
    }


MISTAKES = {
    "CC pull-downs missing, wrong or shared": {"cc-pull-downs", "cc-tolerance"},
    "D+ and D- exchanged, one row unconnected": {"usb-data-pairs"},
    "boot strap floating, reversed or loaded": {
        "boot-pin-level",
        "boot-source",
        "strap-not-disturbed",
    },
    "reset not reachable, or pulled to a dead rail": {"reset-reachable", "reset-defined"},
    "two functions on one pin": {"pin-map-frozen"},
    "regulator without headroom or current margin": {"linear-headroom", "rail-rating"},
    "regulator unstable through its output capacitor": {"output-capacitor-stable"},
    "USB port fed by a second supply": {"no-back-feed", "bus-sense"},
    "bus termination missing or doubled": {"bus-ends-terminated"},
    "pull-ups missing or doubled": {"bus-pull-ups"},
    "debug data and clock exchanged, wrong port": {"debug-pins"},
    "two crystals exchanged, oscillator on crystal pads": {"crystal-pads", "clock-on-its-pins"},
    "push-button turned by 90 degrees": {"button-contacts"},
    "inrush after decoupling was added": {"usb-capacitance"},
    "no ground via at a layer change": {"return-vias"},
    "plane split under a fast pair": {"plane-slots"},
    "decoupling far from its pin": {"capacitor-close"},
    "analogue supply forgotten, swapped or unfiltered": {"analogue-supply", "filtered-side"},
    "no test points, no ground post": {"signal-test-points", "ground-posts", "rail-test-point"},
    "no power indicator": {"rail-indicator"},
    "polarity or pin 1 not marked": {
        "pin-one-marks",
        "polarity-marks",
        "supply-terminals-marked",
    },
    "legend on pads": {"legend-off-pads"},
    "mirrored connector": {"connectors-not-mirrored"},
    "wrong footprint or package suffix": {
        "footprints-fit",
        "symbol-matches-pad",
        "package-pin-out",
    },
    "mounting holes or fiducials missing": {"mounting-holes", "fiducials"},
    "order cut-off, stock": {"cut-offs-known", "stock-covers"},
    "printed names contradict the nets": {"printed-names-true"},
    "fix merged after the files left": {"comments-closed"},
}
"""Mistakes seen again and again on boards that came back (common practice), and their items."""


def test_a_common_mistake_has_its_item() -> None:
    assert {mistake for mistake, items in MISTAKES.items() if not items <= set(ITEMS)} == set()


# ---- asked of the right boards -----------------------------------------------------------


def test_a_coin_cell_board_never_meets_a_cc_item() -> None:
    entries, subjects = every_subject()
    connectors = [name for name in subjects["connector"] if name != "connector-usb-c"]
    about_cc = [item for item in all_items() if "CC " in item.statement]
    assert {item.id for item in about_cc} == {"cc-pull-downs", "cc-tolerance"}
    told = [("", "supply", "battery"), ("", "battery_kind", "coin-cell")]
    bare = Board(Knowledge.of([*entries, *told]), {"connector": connectors})
    tag = bundled(next(path for path in BRIEFS if path.stem == "orchard-radio-tag"))
    for item in about_cc:
        assert not bare.shows(item)
        assert not tag.shows(item)


def test_a_cc_item_is_needed_at_a_receptacle_without_being_asked_for() -> None:
    entries, subjects = every_subject()
    board = Board(Knowledge.of([*default_values(), *entries]), subjects)
    assert ITEMS["cc-pull-downs"].applies(board.known, "connector-usb-c") is True
    assert sum(answer is True for answer in board.answers(ITEMS["cc-pull-downs"])) == 1


def test_the_entry_rail_is_asked_nothing_about_a_regulator() -> None:
    known = Knowledge.of([("vin", "regulator", "none")])
    for item in all_items():
        if item.per == "rail" and any("regulator" in table for table in item.when):
            assert item.applies(known, "vin") is False, item.id


def test_a_board_without_a_second_supply_is_not_asked_about_a_battery() -> None:
    known = Knowledge.of([("", "supply", "usb-c"), ("", "second_supply", False)])
    for item in all_items():
        if any("battery_kind" in table for table in item.when):
            assert item.applies(known) is False, item.id


@pytest.mark.parametrize("kind", ["coin-cell", "lithium-ion", "alkaline", "other"])
def test_a_battery_board_meets_the_limits_of_its_cell_at_the_gate(kind: str) -> None:
    known = Knowledge.of([("", "supply", "battery"), ("", "battery_kind", kind)])
    assert ITEMS["cell-limits"].applies(known) is True
    assert ITEMS["cell-limits"].essential
    lithium = ITEMS["lithium-cell-protected"].applies(known)
    assert (lithium is True) == (kind == "lithium-ion")


def test_every_item_that_can_be_open_asks_something_and_can_be_taken_off() -> None:
    entries, subjects = every_subject()
    for supply in find_fact("supply").choices:
        known = Knowledge.of([*default_values(), *entries, ("", "supply", supply)])
        for item in all_items():
            for place in [""] if item.per == "board" else subjects[item.per]:
                if item.applies(known, place) is not None:
                    continue
                question = item.question(known, place)
                assert question is not None and known.get(question, place) is None
                off = item.taken_off_by(known, place)
                if off is None:  # one of several choices, or a number, has to be named
                    assert find_fact(question).kind != "yes/no", item.id
                    continue
                where, fact, value = off
                assert item.applies(known.with_value(fact, value, where), place) is False


# ---- how it is met and what reopens it ---------------------------------------------------


def test_an_item_cites_limits_that_exist_of_a_calculator_that_fits() -> None:
    for item, cited in ((one, cited) for one in ITEMS.values() for cited in one.cites):
        name, _, limit = cited.partition(":")
        per, limits = CITABLE[name]
        assert limit in limits, item.id
        assert item.per in (per, "board"), item.id
        assert item.stage is Stage.ROUTING or item.stage is Stage.SCHEMATIC, item.id


def test_every_limit_proves_an_item_but_those_that_are_known_not_to() -> None:
    cited = {cited for item in all_items() for cited in item.cites}
    all_limits = {f"{name}:{limit}" for name, (_, limits) in CITABLE.items() for limit in limits}
    assert all_limits - cited == PROVES_NOTHING


def test_what_reopens_an_item_exists() -> None:
    known = {"fact": load_facts(), "change": load_changes()}
    for item in ITEMS.values():
        for cause in item.reopened_by:
            kind, _, name = cause.partition(":")
            assert name in known[kind] if name else cause in LEDGER, (item.id, cause)
        assert len(set(item.reopened_by)) == len(item.reopened_by), item.id


def test_every_change_reopens_something() -> None:
    for change in load_changes():
        assert any(item.depends_on(f"change:{change}") for item in all_items()), change


REOPENED = {
    "load-list": {"source-load", "rail-rating", "linear-headroom", "linear-heat", "start-in-order"},
    "bus-capacitor": {"usb-capacitance"},
    "regulator-part": {
        "linear-headroom",
        "rail-rating",
        "linear-heat",
        "output-capacitor-stable",
        "capacitance-under-bias",
        "regulator-input-capacitor",
        "output-voltage",
        "enable-level",
        "package-pin-out",
        "footprints-fit",
        "symbol-matches-pad",
    },
    "mcu-part": {
        "boot-pin-level",
        "boot-source",
        "strap-not-disturbed",
        "pin-map-frozen",
        "debug-pins",
        "supply-pins-counted",
    },
    "crystal-part": {"crystal-starts", "crystal-capacitors", "crystal-pads"},
    "connector-part": {
        "footprints-fit",
        "symbol-matches-pad",
        "connectors-not-mirrored",
        "pin-one-marks",
        "headers-named",
    },
    "stack-up": {"usb-pair", "maker-limits-set", "order-form"},
    "fabricator": {"usb-pair", "maker-limits-set", "order-form"},
    "placement": {"capacitor-close"},
    "files": {"files-whole", "files-viewed", "comments-closed"},
    "netlist": {"sheet-check-clean", "layout-equals-sheet"},
}
"""What at least is in doubt after a change (common practice)."""


@pytest.mark.parametrize("change", REOPENED)
def test_a_change_puts_what_rested_on_it_in_doubt(change: str) -> None:
    assert set(REOPENED) == set(load_changes())
    assert all(ITEMS[name].depends_on(f"change:{change}") for name in REOPENED[change])


def test_a_change_of_the_files_leaves_the_phases_alone() -> None:
    hit = {item.phase for item in all_items() if item.depends_on("change:files")}
    assert hit == {"closing"}


# ---- the closing list --------------------------------------------------------------------


def test_the_closing_list_ends_with_accepted_and_paid() -> None:
    last = load_closing().items[-1]
    assert last.id == "accepted-and-paid"
    assert last.statement.endswith("accepted and paid")


def test_the_closing_list_is_short_in_the_order_of_ordering_and_takes_seventeen_minutes() -> None:
    closing = load_closing()
    assert 10 <= len(closing.items) <= 14
    assert [item.step for item in closing.items] == list(range(1, len(closing.items) + 1))
    assert closing.minutes == pytest.approx(17, abs=1)


def test_a_first_complete_upload_comes_before_the_last_one() -> None:
    order = [item.id for item in load_closing().items]
    assert order.index("files-whole") < order.index("first-upload")
    assert order.index("first-upload") < order.index("accepted-and-paid")


def test_closing_items_are_seen_in_the_files_and_looked_at() -> None:
    for item in load_closing().items:
        assert (item.phase, item.stage, item.per) == ("closing", Stage.FILES, "board")
        assert item.met_by == (Evidence.INSPECTED,)
