"""Debug wiring: what is missing, what floats, what fights, and how fast it may run."""

from __future__ import annotations

from typing import Any

import pytest

from phases.debug_access.debug_wiring import DebugWiring
from phases.kit import Finding, judge
from phases.kit.bounds import FAIL, MARGINAL, PASS
from phases.kit.inputs import Supply
from phases.kit.refusals import Refusal
from phases.kit.remedies import remedies
from phases.kit.spec_tables import spec_table
from tests.phases.sampling import escapes

FOUR = ("SWDIO", "SWCLK", "GND", "VTref")


def rows(**changed: dict[str, str] | None) -> list[dict[str, str]]:
    """The rows of an ordinary connection, some changed or left out."""
    all_rows = {signal: {"signal": signal} for signal in (*FOUR, "nRESET", "SWO")}
    for signal, change in changed.items():
        if change is None:
            del all_rows[signal]
        else:
            all_rows.setdefault(signal, {"signal": signal}).update(change)
    return list(all_rows.values())


def findings(limit: str, wiring: DebugWiring) -> list[Finding]:
    return [f for v in judge(wiring).verdicts if v.limit == limit for f in v.findings]


def test_the_default_set_runs_and_passes() -> None:
    assert judge(DebugWiring()).verdict == PASS


# ---- Complete ------------------------------------------------------------------------------


@pytest.mark.parametrize("signal", FOUR)
@pytest.mark.parametrize("how", [None, {"wired": "no"}], ids=["no row", "not wired"])
def test_each_of_the_four_that_is_missing_is_named(signal: str, how: dict[str, str] | None) -> None:
    found = findings("complete", DebugWiring(signals=rows(**{signal: how})))
    assert [f.where for f in found] == [signal]
    assert judge(DebugWiring(signals=rows(**{signal: how}))).limit("complete") == FAIL


def test_trace_output_may_be_left_out_and_is_only_said() -> None:
    judgement = judge(DebugWiring(signals=rows(SWO={"wired": "no"})))
    assert judgement.verdict == PASS
    assert "SWO" in [note.where for note in judgement.notes]


def test_a_signal_without_a_pin_on_this_connector_is_named() -> None:
    found = findings("complete", DebugWiring(connector="header", signals=rows(TDI={})))
    assert [f.where for f in found] == ["TDI"]


def test_the_pin_table_says_for_each_pin_whether_it_is_wired() -> None:
    pins = DebugWiring(connector="10-pin 1.27 mm", signals=rows(SWO={"wired": "no"})).pins
    wired = {row["signal"]: row["wired"] for row in pins}
    assert wired["SWDIO"] == "yes"
    assert wired["SWO"] == wired["TDI"] == "no"
    assert wired["key"] == "left free"


@pytest.mark.parametrize("connector", ["10-pin 1.27 mm", "20-pin 2.54 mm", "header", "pads"])
def test_every_connector_has_its_table_with_a_source_and_the_four_signals(connector: str) -> None:
    table = spec_table("debug-connectors")["connector"][connector]
    assert table["source"]
    assert set(FOUR) <= set(table["pins"])
    assert judge(DebugWiring(connector=connector)).verdict == PASS


# ---- Floating and pulled -------------------------------------------------------------------


def test_a_line_with_no_pull_at_all_floats() -> None:
    wiring = DebugWiring(signals=rows(SWCLK={"pull": "none", "internal": "none"}))
    (found,) = findings("nothing-floating", wiring)
    assert found.where == "SWCLK"
    assert judge(wiring).limit("nothing-floating") == FAIL


@pytest.mark.parametrize("pull", [{"pull": "up"}, {"internal": "down", "pull": "none"}])
def test_one_pull_of_either_kind_holds_it(pull: dict[str, str]) -> None:
    assert judge(DebugWiring(signals=rows(SWCLK=pull))).limit("nothing-floating") == PASS


def test_reset_floats_also_where_it_is_not_wired() -> None:
    wiring = DebugWiring(signals=rows(nRESET={"wired": "no", "pull": "none", "internal": "none"}))
    assert [f.where for f in findings("nothing-floating", wiring)] == ["nRESET"]


def test_an_output_of_the_part_needs_no_pull() -> None:
    wiring = DebugWiring(signals=rows(SWO={"pull": "none", "internal": "none"}))
    assert findings("nothing-floating", wiring) == []


@pytest.mark.parametrize(
    ("change", "verdict"),
    [
        ({"SWDIO": {"pull": "up", "internal": "up"}}, PASS),
        ({"SWDIO": {"pull": "down", "internal": "up"}}, FAIL),
        ({"SWCLK": {"pull": "up", "internal": "down"}}, FAIL),
        ({"SWDIO": {"pull": "down", "internal": "none"}}, MARGINAL),
        ({"nRESET": {"pull": "down", "internal": "none"}}, FAIL),
        ({"SWCLK": {"pull": "up", "value": "330 Ω"}}, MARGINAL),
        ({"SWCLK": {"pull": "up", "value": "1 MΩ"}}, MARGINAL),
    ],
    ids=["same way", "data fights", "clock fights", "data down", "reset down", "hard", "soft"],
)
def test_an_own_pull_is_weighed_against_the_parts_and_the_sources(
    change: dict[str, dict[str, str]], verdict: str
) -> None:
    assert judge(DebugWiring(signals=rows(**change))).limit("pulls") == verdict


def test_a_fight_is_said_with_its_cure() -> None:
    wiring = DebugWiring(signals=rows(SWCLK={"pull": "up", "internal": "down"}))
    (found,) = findings("pulls", wiring)
    assert found.what == "Its pull-up opposes the internal pull-down"
    assert found.cure == "Leave it out, or pull down"


def test_that_the_sources_disagree_is_said_where_a_pull_is_fitted() -> None:
    assert "Vendor guidelines differ" in " ".join(note.what for note in judge(DebugWiring()).notes)


# ---- The part card -------------------------------------------------------------------------


def test_pulls_inside_the_part_come_from_its_card_and_spare_the_own_ones() -> None:
    lines = DebugWiring(part="brindle-48").lines()
    assert (lines["SWDIO"].internal, lines["SWDIO"].own) == ("up", "none")
    assert (lines["SWCLK"].internal, lines["SWCLK"].own) == ("down", "none")
    assert (lines["nRESET"].internal, lines["nRESET"].own) == ("up", "none")


def test_a_pull_by_hand_is_judged_against_the_card() -> None:
    wiring = DebugWiring(part="brindle-48", signals=rows(SWCLK={"pull": "up"}))
    assert [f.where for f in findings("pulls", wiring)] == ["SWCLK"]


def test_a_card_that_only_counts_pins_leaves_the_pulls_to_the_board_and_says_so() -> None:
    judgement = judge(DebugWiring(part="sedge-28"))
    assert judgement.verdict == PASS
    assert "R SWDIO" in [part.role for part in judgement.parts]
    assert "part card" in [note.where for note in judgement.notes]


def test_card_and_rail_come_from_the_brief() -> None:
    ledger = {
        "board.mcu": Supply("brindle-48", "brief", "brief"),
        "board.mcu_rail": Supply("cell", "brief", "brief"),
    }
    wiring = DebugWiring(lookup=ledger.get, signals=rows(SWDIO={"pull": "up"}))
    assert wiring.lines()["SWCLK"].internal == "down"
    assert "100 kΩ, SWDIO to cell" in [part.words for part in judge(wiring).parts]


# ---- Reset ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("wired", "button", "verdict"),
    [("yes", "yes", PASS), ("yes", "no", MARGINAL), ("no", "yes", MARGINAL), ("no", "no", FAIL)],
)
def test_reset_reaches_the_adapter_and_a_button(wired: str, button: str, verdict: str) -> None:
    wiring = DebugWiring(signals=rows(nRESET={"wired": wired}), button=button)
    assert judge(wiring).limit("reset-reachable") == verdict


def test_reset_that_is_not_in_the_table_is_not_reached() -> None:
    wiring = DebugWiring(signals=rows(nRESET=None), button="no")
    assert judge(wiring).limit("reset-reachable") == FAIL


# ---- The clock -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("f", "verdict"), [("10 MHz", PASS), ("20.5 MHz", MARGINAL), ("25 MHz", FAIL)]
)
def test_the_wanted_clock_stays_below_the_highest_safe_one(f: str, verdict: str) -> None:
    judgement = judge(DebugWiring(f=f))
    assert judgement.output("f_max").low == pytest.approx(21.3e6, rel=0.01)
    assert judgement.limit("clock") == verdict


def test_a_longer_cable_or_a_series_resistor_slows_it() -> None:
    plain, long, damped = (
        DebugWiring(given).f_max.item() for given in ({}, {"L": "1 m"}, {"R_s": "470 Ω"})
    )
    assert long < 0.8 * plain
    assert damped < 0.7 * plain


def test_a_clock_too_fast_is_told_what_would_do() -> None:
    wiring = DebugWiring(f="25 MHz")
    fields = {remedy.field: remedy for remedy in remedies(judge(wiring))}
    assert fields["f"].intervals[0][1] < 21.3e6


def test_a_cable_longer_than_the_edge_is_said_to_ring() -> None:
    assert "cable" in [note.where for note in judge(DebugWiring(L="1 m")).notes]
    assert "cable" not in [note.where for note in judge(DebugWiring()).notes]


# ---- To draw -------------------------------------------------------------------------------


def test_what_is_to_draw_is_the_connector_the_pulls_and_what_was_chosen() -> None:
    assert [part.words for part in judge(DebugWiring(R_s="22 Ω")).parts] == [
        "debug header, 2 x 5, 1.27 mm, with SWDIO, SWCLK, GND, VTref, nRESET, SWO",
        "100 nF, VTref to GND at the connector",
        "100 kΩ, SWDIO to 3v3",
        "100 kΩ, SWCLK to GND",
        "10 kΩ, nRESET to 3v3",
        "22 Ω, in series with SWDIO, beside the part",
    ]


# ---- The worst case ------------------------------------------------------------------------


@pytest.mark.deeper
@pytest.mark.parametrize(
    "inputs",
    [
        {},
        {
            "L": "10 .. 2000 mm",
            "C_l": "40 .. 100 pF/m",
            "Z_0": "75 .. 120 Ω",
            "R_s": "0 .. 100 Ω",
            "f": "1 .. 8 MHz",
            "t_out": "0 .. 30 ns",
        },
        {"L": "1 .. 20 mm", "C_in": "1 .. 5 pF", "t_out": "0 .. 10 ns"},
    ],
    ids=["default", "everything spread", "about the least clock phase"],
)
def test_nothing_inside_the_spreads_is_worse_than_reported(inputs: dict[str, Any]) -> None:
    assert escapes(judge(DebugWiring(inputs))) == []


def test_a_driver_is_matched_to_the_cable_it_drives() -> None:
    for Z_0 in ("100 Ω", "75 Ω"):
        notes = judge(DebugWiring(L="5 m", Z_0=Z_0)).notes
        (cure,) = (note.cure for note in notes if note.where == "cable")
        assert f"together about {Z_0}" in cure


# ---- Odd input -----------------------------------------------------------------------------


def test_no_cable_at_all_still_has_the_pins_and_the_part() -> None:
    judgement = judge(DebugWiring(L="0 mm"))
    assert judgement.output("t_d").high == 0
    assert judgement.verdict == PASS


def test_units_may_be_mixed() -> None:
    mixed = judge(DebugWiring(L="0.15 m", C_l="0.05 nF/m", f="4000 kHz", t_out="0.01 .. 0.015 µs"))
    assert mixed.output("f_max").low == pytest.approx(judge(DebugWiring()).output("f_max").low)


@pytest.mark.parametrize(
    ("field", "given"),
    [
        ("L", "200 .. 100 mm"),
        ("f", "inf Hz"),
        ("R_s", "-1 Ω"),
        ("C_in", "20 pV"),
        ("connector", "9-pin"),
        ("button", "perhaps"),
        ("part", "brindle-49"),
        ("signals", [{"signal": "SWDI"}]),
        ("signals", [{"signal": "SWDIO", "pull": "sideways"}]),
        ("signals", [{"signal": "SWDIO", "value": "0 Ω"}]),
        ("signals", [{"signal": "SWDIO"}, {"signal": "SWDIO"}]),
        ("signals", [{"signal": "SWDIO", "colour": "red"}]),
    ],
)
def test_what_cannot_be_meant_is_refused_by_the_name_of_its_field(field: str, given: Any) -> None:
    with pytest.raises(Refusal) as refused:
        judge(DebugWiring({field: given}))
    assert refused.value.where.startswith(field)


def test_no_signals_at_all_lack_everything_but_float_nothing() -> None:
    judgement = judge(DebugWiring(signals=[], button="no"))
    assert judgement.limit("complete") == judgement.limit("reset-reachable") == FAIL
    assert judgement.limit("nothing-floating") == PASS
