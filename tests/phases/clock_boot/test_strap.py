"""What the strap says of a boot pin: its level in each state, the override, the pull."""

from __future__ import annotations

from typing import Any

import pytest

from phases.clock_boot.strap import Strap
from phases.kit import Judgement, judge
from phases.kit.bounds import VERDICTS
from phases.kit.inputs import Supply
from phases.kit.refusals import Refusal
from tests.phases.sampling import escapes

ALONE = {"state": "alone"}
BUTTON = {"state": "button", "expect": "override", "path": "other"}


def strap(*states: dict[str, str], **inputs: Any) -> Judgement:
    return judge(Strap(**({"states": states} if states else {}), **inputs))


def verdicts(judged: Judgement, limit: str) -> dict[str | None, str]:
    return {v.scenario: v.verdict for v in judged.verdicts if v.limit == limit}


def words(judged: Judgement) -> list[str]:
    return [part.words for part in judged.parts]


# ---- The ordinary board ------------------------------------------------------------------


@pytest.mark.parametrize(("level", "rail"), [("low", "GND"), ("high", "the supply")])
def test_10_k_is_proposed_and_holds_in_every_state(level: str, rail: str) -> None:
    judged = strap(level=level, pin="BOOT0 of the bus side")
    assert judged.picks == {"R_pull": "10 kΩ ± 5 %"}
    assert judged.verdict == "pass"
    assert words(judged)[0] == f"10 kΩ ± 5 %, BOOT0 of the bus side to {rail}"


def test_low_and_high_mirror_each_other() -> None:
    low, high = strap(level="low", V="3.3 V"), strap(level="high", V="3.3 V")
    for row, figure in low.rows("V_pin").items():
        mirrored = high.rows("V_pin")[row]
        assert 3.3 - mirrored.high == pytest.approx(figure.low, abs=1e-12)
        assert 3.3 - mirrored.low == pytest.approx(figure.high, abs=1e-12)


def test_the_supply_is_that_of_the_microcontroller() -> None:
    def ledger(name: str) -> Supply | None:
        return Supply("1.8 V", "ledger", "1v8") if name == "rail.core.voltage" else None

    judged = judge(Strap(lookup=ledger, names={"mcu_rail": "core"}))
    assert judged.rows("V_pin")["button or jumper"].high < 1.8


# ---- What holds it -----------------------------------------------------------------------


def test_a_direct_tie_holds_and_cannot_be_overridden() -> None:
    judged = strap(ALONE, BUTTON, pull="direct tie")
    assert judged.limit("level") == "pass"
    assert judged.limit("override") == "fail"
    assert words(judged)[0] == "Tie, BOOT to GND"
    assert judged.picks == {}


@pytest.mark.parametrize(
    ("internal", "verdict"), [("down", "pass"), ("up", "fail"), ("none", "fail")]
)
def test_an_internal_pull_holds_only_the_way_it_pulls(internal: str, verdict: str) -> None:
    judged = strap(ALONE, pull="internal pull", internal=internal)
    assert judged.limit("level") == verdict
    assert "data sheet" in judged.notes[0].what
    assert words(judged) == []


def test_nothing_at_all_on_a_pin_without_leakage_fails_for_it_cannot_be_evaluated() -> None:
    judged = strap(ALONE, pull="internal pull", internal="none", I_leak="0 A")
    assert judged.limit("level") == "fail"


def test_a_smaller_resistor_is_proposed_against_an_internal_pull() -> None:
    against = strap(ALONE, internal="up", R_int="10 kΩ")
    assert against.limit("level") == "pass"
    assert float(against.picks["R_pull"].split()[0]) < 5.0


def test_an_internal_pull_the_same_way_helps() -> None:
    module = {"state": "module", "path": "other", "R": "30 kΩ"}
    helping = {"internal": "down", "R_int": "10 kΩ"}
    assert strap(module, R_pull="15 kΩ").limit("level") == "fail"
    assert strap(module, R_pull="15 kΩ", **helping).limit("level") == "pass"


def test_a_very_large_pull_holds_against_leakage_but_is_said_to_pick_up_noise() -> None:
    judged = strap(ALONE, R_pull="470 kΩ", I_leak="-100 .. 100 nA")
    assert judged.limit("level") == "pass"
    assert "noise" in judged.notes[0].what
    assert not judged.notes[0].serious


# ---- The states --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("resistance", "verdict"), [("100 kΩ", "pass"), ("25 kΩ", "marginal"), ("20 kΩ", "fail")]
)
def test_a_module_on_the_pin_may_pull_it_over(resistance: str, verdict: str) -> None:
    # Own arithmetic: 10 kΩ against R puts 10 / (10 + R) of the supply on the pin; 0.3 is the end.
    module = {"state": "module", "path": "other", "R": resistance}
    assert strap(module, R_pull="10 kΩ", I_leak="0 A").limit("level") == verdict


def test_a_path_to_the_wanted_level_helps() -> None:
    module = {"state": "module", "path": "wanted", "R": "1 kΩ", "I": "50 µA"}
    figure = strap(module, R_pull="100 kΩ", I_leak="0 A").rows("V_pin")["module"]
    assert figure.typ == pytest.approx(50e-6 / (1 / 1e3 + 1 / 100e3))


@pytest.mark.parametrize(("current", "verdict"), [("50 µA", "pass"), ("150 µA", "fail")])
def test_current_from_an_adapter_lifts_the_pin(current: str, verdict: str) -> None:
    adapter = {"state": "adapter", "I": current}
    for level in ("low", "high"):
        assert strap(adapter, R_pull="10 kΩ", level=level).limit("level") == verdict


def test_leakage_counts_in_the_direction_that_hurts() -> None:
    for level in ("low", "high"):
        for leak in ("-200 .. 0 µA", "0 .. 200 µA"):
            hurts = (level == "low") == leak.startswith("0")
            judged = strap(ALONE, R_pull="10 kΩ", level=level, I_leak=leak)
            assert (judged.limit("level") == "fail") == hurts


@pytest.mark.parametrize(
    ("capacitance", "verdict"), [("0 F", "pass"), ("100 nF", "pass"), ("1 µF", "fail")]
)
def test_a_capacitor_must_have_settled_before_the_pin_is_read(
    capacitance: str, verdict: str
) -> None:
    # Own arithmetic: 10.5 kΩ and 100 nF, read after 1.5 ms: exp(-1.43) = 0.24 of the supply.
    charging = {"state": "charging", "C": capacitance}
    assert strap(charging, R_pull="10 kΩ", t="1.5 ms").limit("level") == verdict


def test_a_capacitor_delays_the_override_from_the_wanted_level() -> None:
    pressed = {**BUTTON, "C": "1 µF"}
    assert strap(pressed, R_pull="10 kΩ", t="10 µs").limit("override") == "fail"
    assert strap(pressed, R_pull="10 kΩ", t="20 ms").limit("override") == "pass"


def test_a_pin_never_leaves_its_supply() -> None:
    adapter = {"state": "adapter", "I": "50 mA"}
    for level in ("low", "high"):
        figure = strap(adapter, R_pull="10 kΩ", level=level, V="3.3 V").rows("V_pin")["adapter"]
        assert 0.0 <= figure.low <= figure.high <= 3.3


# ---- The override ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("resistance", "verdict"),
    [("0 Ω", "pass"), ("1 kΩ", "pass"), ("4 kΩ", "marginal"), ("4.7 kΩ", "fail"), ("1 MΩ", "fail")],
)
def test_an_override_wins_only_with_a_small_enough_resistor(resistance: str, verdict: str) -> None:
    # Own arithmetic: 10 / (10 + R) of the supply must stay over 0.7: R below 4.29 kΩ.
    judged = strap(BUTTON, R_pull="10 kΩ", R_tol="0 %", R_over=resistance, I_leak="0 A")
    assert judged.limit("override") == verdict


def test_level_and_override_each_judge_their_own_states() -> None:
    judged = strap(ALONE, BUTTON)
    assert verdicts(judged, "level") == {"alone": "pass", "button": "not applicable"}
    assert verdicts(judged, "override") == {"alone": "not applicable", "button": "pass"}


def test_without_an_override_there_is_no_verdict_on_it() -> None:
    judged = strap(ALONE)
    assert judged.limit("override") == "not applicable"
    assert words(judged) == ["10 kΩ ± 5 %, BOOT to GND"]


def test_the_override_is_among_the_parts_with_its_resistor() -> None:
    assert words(strap(ALONE, BUTTON, level="high", R_over="470 Ω"))[1] == (
        "Button, in series with 470 Ω, BOOT to GND"
    )


# ---- The greatest pull -------------------------------------------------------------------


@pytest.mark.parametrize("internal", ["none", "down", "up"])
@pytest.mark.parametrize("level", ["low", "high"])
def test_the_greatest_pull_is_where_the_level_just_holds(internal: str, level: str) -> None:
    states = [{"state": "module", "path": "other", "R": "40 kΩ", "I": "5 µA"}, ALONE, BUTTON]
    most = strap(*states, internal=internal, level=level).output("R_most").low
    for factor, verdict in ((0.999, "marginal"), (1.001, "fail")):
        pull = f"{most * factor:.6f} Ω"
        judged = strap(*states, internal=internal, level=level, R_pull=pull)
        assert judged.limit("level") == verdict


def test_no_pull_is_too_great_where_nothing_opposes_it() -> None:
    assert strap(ALONE, I_leak="0 A").output("R_most").typ == float("inf")


# ---- What is refused, and what holds in general ------------------------------------------


@pytest.mark.parametrize(
    "inputs",
    [
        {"R_pull": "10 kV"},
        {"R_pull": "-10 kΩ"},
        {"V": "3.6 .. 3.0 V"},
        {"k_IL": "1.5"},
        {"I_leak": "-1 A"},
        {"level": "middle"},
        {"states": [{"state": "x", "expect": "luck"}]},
        {"states": [{"state": "x", "C": "10 nH"}]},
        {"states": [{"path": "other"}]},
    ],
)
def test_what_cannot_be_meant_is_refused_in_one_sentence(inputs: dict[str, Any]) -> None:
    with pytest.raises(Refusal):
        strap(**inputs)


@pytest.mark.parametrize("supply", ["0 V", "1 µV", "5 V", "60 V"])
def test_extreme_supplies_are_judged_and_never_break(supply: str) -> None:
    judged = strap(V=supply)
    assert judged.limit("level") in VERDICTS
    if supply == "0 V":
        assert judged.limit("level") != "pass"


@pytest.mark.parametrize("resistance", ["0 Ω", "1 µΩ", "1000 GΩ"])
def test_extreme_resistances_are_judged_and_never_break(resistance: str) -> None:
    judged = strap(R_pull=resistance, R_over=resistance, R_int=resistance, internal="up")
    assert all(v.verdict in VERDICTS for v in judged.verdicts)


def test_mixed_notations_mean_the_same() -> None:
    one = strap(R_pull="4k7", V="3300 mV").rows("V_pin")
    other = strap(R_pull="4.7 kΩ", V="3.3 V").rows("V_pin")
    for row, figure in one.items():
        assert (figure.low, figure.typ, figure.high) == pytest.approx(
            (other[row].low, other[row].typ, other[row].high), rel=1e-12
        )


def test_every_verdict_is_reached() -> None:
    reached = {
        v.verdict for R in ("1 kΩ", "22 kΩ", "40 kΩ", "47 kΩ") for v in strap(R_pull=R).verdicts
    }
    assert reached == set(VERDICTS)


@pytest.mark.deeper
@pytest.mark.parametrize(
    "inputs",
    [
        {"R_pull": "10 kΩ ± 5 %", "t": "0.2 .. 1 ms"},
        {"level": "high", "internal": "down", "R_pull": "4.7 kΩ ± 10 %", "I_leak": "-9 .. 4 µA"},
        {"level": "low", "internal": "down", "pull": "internal pull", "k_IL": "0.25 .. 0.35"},
        {"pull": "direct tie", "internal": "up"},
    ],
)
def test_no_random_point_gets_out_of_what_is_reported(inputs: dict[str, Any]) -> None:
    assert escapes(strap(**inputs)) == []


@pytest.mark.deeper
def test_nor_with_spreads_in_the_states() -> None:
    states = [
        {
            "state": "all at once",
            "path": "other",
            "R": "50 .. 200 kΩ",
            "I": "0 .. 10 µA",
            "C": "10 nF ± 20 %",
        },
        {**BUTTON, "R": "0 .. 100 Ω", "C": "80 .. 120 nF"},
    ]
    for level in ("low", "high"):
        assert escapes(strap(*states, level=level, R_pull="10 kΩ ± 5 %")) == []
