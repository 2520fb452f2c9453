"""The supply track: its proposal, its verdicts, its worst case, and what it makes of odd input."""

from __future__ import annotations

from pathlib import Path

import pytest

from phases.kit import judge
from phases.kit.bounds import FAIL, MARGINAL, PASS
from phases.kit.inputs import Supply
from phases.kit.refusals import Refusal
from phases.kit.shared_data import find_shared
from phases.layout.trace import WIDTHS, Trace
from tests.phases.sampling import escapes

# ---- What it proposes ----------------------------------------------------------------------


def test_the_default_set_runs_and_passes() -> None:
    assert judge(Trace()).verdict == PASS


def test_a_width_people_draw_is_proposed_the_narrowest_that_holds() -> None:
    judgement = judge(Trace(I="2 A", L="10 mm"))
    picked = judgement.output("w_min").high
    width = judgement.calculation.inputs.reading("w").value.typ
    assert width in WIDTHS
    assert picked < width
    narrower = max(w for w in WIDTHS if w < width)
    assert judge(Trace(I="2 A", L="10 mm", w=narrower * 1e3)).verdict != PASS


def test_nothing_narrower_than_the_fabricator_can_make_is_proposed() -> None:
    assert judge(Trace(I="10 mA")).picks == {"w": "0.15 mm"}
    assert judge(Trace(I="10 mA", capability="hand-etched")).picks == {"w": "0.4 mm"}
    assert judge(Trace(I="10 mA", capability="four-layer-standard")).picks == {"w": "0.13 mm"}


def test_a_long_track_is_widened_for_its_drop() -> None:
    short = judge(Trace(I="1 A", L="10 mm")).calculation.inputs.reading("w").value.typ
    long = judge(Trace(I="1 A", L="200 mm")).calculation.inputs.reading("w").value.typ
    assert long > 2 * short


def test_where_nothing_passes_the_width_at_least_stays_cool() -> None:
    judgement = judge(Trace(I="1 A", L="900 mm", V_max="1 mV"))
    assert judgement.limit("drop") == FAIL
    assert judgement.limit("rise") == PASS


def test_what_processing_leaves_of_the_copper_decides_the_rise() -> None:
    # IPC-6012, read at ncabgroup.com: half-ounce foil at least 11.4 µm inside, 33.4 µm plated
    # outside. 1 A in 0.5 mm inside: 17.5 µm exact rise by half as much as the copper left.
    said = {"I": "1 A", "w": "0.5 mm", "layer": "inner", "layers": 4}
    left, foil = judge(Trace(said)), judge(Trace(said, t_inner="17.5 µm"))
    ratio = (17.5 / 11.4) ** (0.725 / 0.44)
    assert left.output("dT").high == pytest.approx(foil.output("dT").high * ratio)
    assert judge(Trace(said, layer="outer")).output("dT").high == pytest.approx(
        judge(Trace(said, layer="outer", t_outer="33.4 µm")).output("dT").high
    )


def test_inner_copper_counted_as_exact_is_said() -> None:
    said = {"I": "1 A", "layer": "inner", "layers": 4}
    assert "11.4 µm may be left" in cautions(**said, t_inner="0.5 oz")
    assert "24.9 µm may be left" in cautions(**said, t_inner="1 oz")
    assert "may be left" not in cautions(**said, t_inner="24.9 .. 35 µm")
    assert "may be left" not in cautions(**said)


def test_inner_copper_is_half_an_ounce_unless_given() -> None:
    inner = Trace(layer="inner")
    assert inner.t.item() == pytest.approx(17.1e-6)
    assert Trace(layer="outer").t.item() == pytest.approx(35e-6)
    assert Trace(layer="inner", t_inner="1 oz").t.item() == pytest.approx(35e-6)


def test_what_is_to_draw_is_a_track_of_that_width() -> None:
    judgement = judge(Trace(I="1 A", w="0.8 mm", names={"rail": "3v3"}))
    assert [p.words for p in judgement.parts] == [
        "track 0.8 mm wide or wider, for 3v3, outer layer"
    ]


def test_current_and_card_come_from_the_ledger() -> None:
    ledger = {
        "rail.3v3.peak": Supply("800 mA", "ledger", "load-budget"),
        "board.capability": Supply("hand-etched", "brief", "brief"),
        "board.ambient": Supply("0 .. 60 °C", "brief", "brief"),
    }
    track = Trace(lookup=ledger.get, names={"rail": "3v3"})
    assert track.I.item() == pytest.approx(0.8)
    assert track.w_least.item() == pytest.approx(0.4e-3)
    assert judge(track).output("T").high > 60


# ---- Its limits ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("w", "verdict"), [("0.32 mm", PASS), ("0.302 mm", MARGINAL), ("0.29 mm", FAIL)]
)
def test_one_ampere_at_10_k_holds_from_0_3_mm(w: str, verdict: str) -> None:
    assert judge(Trace(I="1 A", dT_max="10 K", w=w, t_outer="35 µm")).limit("rise") == verdict


@pytest.mark.parametrize(("L", "verdict"), [("40 mm", PASS), ("48 mm", MARGINAL), ("51 mm", FAIL)])
def test_drop_is_judged_with_hot_plated_copper(L: str, verdict: str) -> None:
    track = Trace(I="1 A", w="0.6 mm", L=L, T_A="50 °C", k_Cu="1.1", V_max="50 mV", t_outer="35 µm")
    assert judge(track).limit("drop") == verdict


@pytest.mark.parametrize(("w", "verdict"), [("0.14 mm", FAIL), ("0.15 mm", PASS), ("0.2 mm", PASS)])
def test_the_narrowest_track_of_the_card_may_be_used_as_it_is(w: str, verdict: str) -> None:
    assert judge(Trace(I="10 mA", w=w)).limit("makeable") == verdict


def test_a_two_layer_board_has_no_inner_layer() -> None:
    judgement = judge(Trace(layer="inner", w="1 mm", layers=2))
    assert judgement.limit("makeable") == FAIL
    assert judge(Trace(layer="inner", w="1 mm", layers=4)).limit("makeable") == PASS


@pytest.mark.parametrize(("pulse", "verdict"), [("10 A", PASS), ("25 A", MARGINAL), ("45 A", FAIL)])
def test_a_pulse_stays_below_half_the_melting_current(pulse: str, verdict: str) -> None:
    track = Trace(I="0.5 A", w="0.4 mm", I_p=pulse, t_p="10 ms", t_outer="35 µm")
    assert judge(track).output("I_fuse").low == pytest.approx(39, rel=0.02)
    assert judge(track).limit("fusing") == verdict


def test_a_hot_track_melts_sooner() -> None:
    cold = Trace(w="0.4 mm", I="10 mA", T_A="25 °C").I_fuse.item()
    hot = Trace(w="0.4 mm", I="5 A", T_A="25 °C").I_fuse.item()
    assert hot < 0.9 * cold


def test_a_track_already_melting_withstands_no_pulse() -> None:
    judgement = judge(Trace(w="0.1 mm", I="20 A"))
    assert judgement.output("I_fuse").high == 0
    assert judgement.limit("fusing") == FAIL


# ---- Cautions ------------------------------------------------------------------------------


def cautions(**inputs: object) -> str:
    return " ".join(note.what for note in judge(Trace(inputs)).notes)


def test_below_half_an_ampere_the_drop_and_the_fabricator_decide() -> None:
    assert "the drop and the fabricator decide" in cautions(I="100 mA")
    assert "the drop and the fabricator decide" not in cautions(I="1 A")


@pytest.mark.parametrize(
    "inputs",
    [
        {"I": "36 A", "w": "50 mm"},
        {"I": "18 A", "w": "50 mm", "layer": "inner", "layers": 4},
        {"I": "1 A", "dT_max": "101 K"},
        {"I": "20 A", "w": "20 mm", "dT_max": "10 K"},
    ],
    ids=["outer current", "inner current", "rise", "width"],
)
def test_beyond_the_range_of_the_charts_it_says_so(inputs: dict[str, object]) -> None:
    assert "The charts behind the width end at" in cautions(**inputs)


def test_within_the_range_of_the_charts_it_does_not() -> None:
    assert cautions(I="1 A") == ""


def test_other_copper_than_the_fabricators_is_said() -> None:
    assert "has other copper" in cautions(I="1 A", t_outer="2 oz")


def test_inner_tracks_are_said_to_run_cooler() -> None:
    assert "run cooler" in cautions(I="1 A", layer="inner", layers=4)


# ---- The worst case ------------------------------------------------------------------------


@pytest.mark.deeper
@pytest.mark.parametrize(
    "inputs",
    [
        {},
        {"I": "0.8 / 1 / 1.4 A", "w": "0.5 mm ± 20 %", "L": "40 .. 60 mm", "T_A": "-20 .. 85 °C"},
        {"I": "1 .. 30 A", "w": "0.4 .. 0.8 mm", "I_p": "5 .. 50 A", "t_p": "1 .. 20 ms"},
    ],
    ids=["default", "everything spread", "melting at one end"],
)
def test_nothing_inside_the_spreads_is_worse_than_reported(inputs: dict[str, object]) -> None:
    assert escapes(judge(Trace(inputs))) == []


def test_the_width_needed_carries_just_the_rise_allowed() -> None:
    track = Trace(I="3 A", dT_max="25 K")
    carried = Trace(I="3 A", dT_max="25 K", w=track.w_min.item() * 1e3)
    assert carried.dT.item() == pytest.approx(25)
    assert carried.I_max.item() == pytest.approx(3)


# ---- Odd input -----------------------------------------------------------------------------


def test_no_current_warms_nothing_and_drops_nothing() -> None:
    judgement = judge(Trace(I="0 A", w="0.2 mm"))
    assert judgement.output("dT").high == judgement.output("V_drop").high == 0
    assert judgement.verdict == PASS


def test_units_may_be_mixed() -> None:
    mixed = judge(Trace(I="500 mA", L="0.05 m", w="20 mil", t_outer="35 µm", dT_max="10 °C"))
    same = judge(Trace(I="0.5 A", L="50 mm", w="0.508 mm", t_outer="1 oz", dT_max="10 K"))
    assert mixed.output("R") == same.output("R")


@pytest.mark.parametrize(
    ("field", "text"),
    [
        ("I", "2 .. 1 A"),
        ("I", "1e99 A"),
        ("I", "inf A"),
        ("L", "-5 mm"),
        ("w", "0 mm"),
        ("t_outer", "0 µm"),
        ("dT_max", "0 K"),
        ("t_p", "11 s"),
        ("layers", "0"),
        ("layer", "middle"),
    ],
)
def test_what_cannot_be_meant_is_refused_by_the_name_of_its_field(field: str, text: str) -> None:
    with pytest.raises(Refusal) as refused:
        judge(Trace({field: text}))
    assert refused.value.where.startswith(field)


def test_an_unknown_capability_card_is_refused_with_the_nearest() -> None:
    for name in ("two-layer-quik", "foo", "x" * 300):
        with pytest.raises(Refusal) as refused:
            judge(Trace(capability=name))
        assert refused.value.where.startswith("capability")
    with pytest.raises(Refusal, match="two-layer-quick"):
        judge(Trace(capability="two-layer-quik"))


def test_a_card_that_the_brief_misspells_is_refused_with_where_it_came_from() -> None:
    ledger = {"board.capability": Supply("two-layer-quik", "brief", "brief")}
    with pytest.raises(Refusal, match=r"^board\.capability from brief, capability: "):
        judge(Trace(lookup=ledger.get))


def test_a_capability_card_of_ones_own_is_read_by_its_path(tmp_path: Path) -> None:
    card = find_shared("capability", "two-layer-quick").read_text(encoding="utf-8")
    own = tmp_path / "own.toml"
    own.write_text(card.replace('track = "0.15 mm"', 'track = "0.35 mm"'), encoding="utf-8")
    assert judge(Trace(I="10 mA", capability=str(own))).picks == {"w": "0.35 mm"}
