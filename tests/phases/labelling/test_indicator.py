"""The indicator: its proposal, its verdicts, its worst case, and what it makes of odd input."""

from __future__ import annotations

import pytest

from phases.kit import judge
from phases.kit.bounds import FAIL, MARGINAL, NOT_APPLICABLE, PASS
from phases.kit.refusals import Refusal
from phases.kit.remedies import remedies
from phases.labelling.indicator import Indicator
from tests.phases.sampling import escapes

# ---- What it proposes ----------------------------------------------------------------------


def test_the_default_set_runs_and_passes() -> None:
    judgement = judge(Indicator())
    assert judgement.verdict == PASS
    assert judgement.picks == {"R": "680 Ω ± 5 %"}


def test_the_first_three_inputs_in_order_are_supply_forward_voltage_and_current() -> None:
    assert list(Indicator.fields)[:3] == ["V", "V_F", "I"]


def test_the_pick_is_the_next_value_upward() -> None:
    assert judge(Indicator(V="3.3 V", V_F="2.1 V", I="2 mA")).picks["R"] == "620 Ω ± 5 %"


def test_where_the_next_value_breaks_a_limit_the_nearest_that_holds_is_picked() -> None:
    # 62 Ω 5 % low would let 20.4 mA through an LED for 20 mA.
    judgement = judge(Indicator(V="3.0 V", V_F="1.8 V", I="20 mA", I_Fmax="20 mA"))
    assert judgement.picks["R"] == "68 Ω ± 5 %"
    assert judgement.verdict == PASS


def test_a_resistor_from_the_drawer_is_judged_by_the_same_limits() -> None:
    judgement = judge(Indicator(V="5 V", V_F="2 V", R="100 Ω ± 5 %"))
    assert judgement.picks["R"] == "100 Ω ± 5 %"
    assert judgement.limit("led-current") == FAIL


def test_what_is_to_draw_is_a_resistor_and_an_led_for_each_indicator() -> None:
    lamp = Indicator(V="3.3 V", V_F="2.1 V", I="2 mA", n=3, names={"rail": "3v3"})
    assert [part.words for part in judge(lamp).parts] == [
        "3 x 620 Ω ± 5 % 0603, in series, indicator on 3v3",
        "3 x LED of 2.1 V forward, indicator on 3v3",
    ]


# ---- Its limits ----------------------------------------------------------------------------


@pytest.mark.parametrize(("R", "verdict"), [("110 Ω", PASS), ("103 Ω", MARGINAL), ("99 Ω", FAIL)])
def test_led_current_at_three_volts_over_the_resistor(R: str, verdict: str) -> None:
    assert judge(Indicator(V="5 V", V_F="2 V", R=R)).limit("led-current") == verdict


@pytest.mark.parametrize(("R", "verdict"), [("5 kΩ", PASS), ("5.9 kΩ", MARGINAL), ("6.1 kΩ", FAIL)])
def test_it_must_be_seen_at_its_dimmest(R: str, verdict: str) -> None:
    assert judge(Indicator(V="5 V", V_F="2 V", R=R)).limit("visible") == verdict


@pytest.mark.parametrize(
    ("V", "verdict"),
    [("2.4 V", PASS), ("2.31 V", MARGINAL), ("2.3 V", MARGINAL), ("2.29 V", FAIL)],
)
def test_the_resistor_keeps_0_3_v(V: str, verdict: str) -> None:
    assert judge(Indicator(V=V, V_F="2 V", R="100 Ω")).limit("headroom") == verdict


def test_headroom_is_taken_from_the_least_supply_and_the_greatest_forward_voltage() -> None:
    judgement = judge(Indicator(V="3.0 .. 3.6 V", V_F="1.8 / 2.0 / 2.4 V", R="330 Ω"))
    (headroom,) = (v for v in judgement.verdicts if v.limit == "headroom")
    assert headroom.value == pytest.approx(0.6)
    assert headroom.corner == {"V": 3.0, "V_F": 2.4}


@pytest.mark.parametrize(("n", "verdict"), [(1, PASS), (3, PASS), (4, MARGINAL), (5, FAIL)])
def test_a_pin_drives_all_its_indicators_together(n: int, verdict: str) -> None:
    lamp = Indicator(V="5 V", V_F="2 V", R="1.53 kΩ", n=n, driver="pin", I_pin="8 mA")
    assert judge(lamp).limit("pin-current") == verdict


def test_no_pin_is_asked_for_an_indicator_on_the_rail() -> None:
    lamp = Indicator(V="5 V", V_F="2 V", R="1 kΩ", n=100, driver="rail")
    (pin,) = (v for v in judge(lamp).verdicts if v.limit == "pin-current")
    assert pin.verdict == NOT_APPLICABLE
    assert pin.reason == "Fed from the rail, no pin drives it"


def test_the_drop_of_the_pin_comes_off_the_resistor() -> None:
    assert Indicator(V="3.3 V", V_F="2 V", V_sw="0.4 V").V_R.item() == pytest.approx(0.9)


def test_a_blue_led_on_a_low_rail_is_told_from_which_supply_it_works() -> None:
    judgement = judge(Indicator(V="3.3 V ± 5 %", V_F="2.8 / 3.0 / 3.4 V"))
    assert judgement.limit("headroom") == FAIL
    cure = next(r for r in remedies(judgement) if r.field == "V")
    assert cure.intervals[0][0] == pytest.approx(3.7 / 0.95, rel=0.02)


# ---- Cautions ------------------------------------------------------------------------------


def test_a_resistor_hotter_than_its_case_may_be_fails() -> None:
    # 30 V less 1.8 V at 3.7 kΩ (3.9 kΩ - 5 %): 215 mW. IEC 60115-8: 0603 carries 0.1 W,
    # 1206 0.25 W.
    wide = {"V": "9 / 21 / 30 V", "R": "3.9 kΩ ± 5 %"}
    judgement = judge(Indicator(wide))
    assert judgement.limit("resistor-power") == FAIL
    assert judgement.output("P_R").high == pytest.approx(0.2146, rel=1e-3)
    assert judge(Indicator(wide, case="1206")).limit("resistor-power") == PASS
    assert judge(Indicator(wide, case="0805")).limit("resistor-power") == FAIL


def test_what_is_proposed_does_not_burn_its_case() -> None:
    judgement = judge(Indicator(V="9 / 21 / 30 V"))
    assert judgement.verdict == PASS
    assert judgement.output("P_R").high <= 0.1


def test_the_case_that_was_judged_is_the_one_to_draw() -> None:
    judgement = judge(Indicator(V="5 V", R="1 kΩ ± 5 %", case="0805"))
    assert judgement.parts[0].what == "1 kΩ ± 5 % 0805"


def test_a_default_indicator_needs_no_caution() -> None:
    assert not judge(Indicator()).notes


def test_a_thirsty_indicator_on_the_rail_is_said() -> None:
    notes = judge(Indicator(V="4.4 / 4.8 / 5 V", V_F="2 V", R="200 Ω")).notes
    assert [note.what for note in notes] == ["It loads the rail with 15 mA all the time"]


# ---- The worst case ------------------------------------------------------------------------


@pytest.mark.deeper
@pytest.mark.parametrize(
    "inputs",
    [
        {},
        {"V": "4.4 .. 5.5 V", "V_sw": "0.1 / 0.2 / 0.4 V", "driver": "pin", "n": 2},
        {"V": "2 .. 4 V", "V_F": "1.8 / 2 / 3 V", "R": "220 Ω ± 20 %"},
    ],
    ids=["default", "pin", "dark at one end"],
)
def test_nothing_inside_the_spreads_is_worse_than_reported(inputs: dict[str, object]) -> None:
    assert escapes(judge(Indicator(inputs))) == []


def test_the_ends_reported_are_those_of_the_formula() -> None:
    figure = judge(Indicator(V="3.0 .. 3.6 V", V_F="1.8 .. 2.2 V", R="500 Ω ± 10 %")).output("I_F")
    assert figure.low == pytest.approx((3.0 - 2.2) / 550)
    assert figure.high == pytest.approx((3.6 - 1.8) / 450)


# ---- Odd input -----------------------------------------------------------------------------


def test_an_led_that_cannot_light_draws_nothing_and_fails() -> None:
    judgement = judge(Indicator(V="1.5 V", V_F="2 V", R="100 Ω"))
    assert judgement.output("I_F").high == 0
    assert judgement.limit("visible") == judgement.limit("headroom") == FAIL


def test_without_supply_no_resistor_is_proposed_and_nothing_is_to_draw() -> None:
    judgement = judge(Indicator(V="0 V"))
    assert judgement.verdict == FAIL
    assert judgement.picks == {}
    assert judgement.parts == ()
    assert judgement.limit("led-current") == FAIL  # what cannot be evaluated fails


def test_units_may_be_mixed() -> None:
    same = judge(Indicator(V="3300 mV", V_F="2.1", I="0.002 A"))
    assert same.picks == judge(Indicator(V="3.3 V", V_F="2.1 V", I="2 mA")).picks


@pytest.mark.parametrize(
    ("field", "text"),
    [
        ("V", "3.6 .. 3.0 V"),
        ("V", "inf V"),
        ("V", "1e99 V"),
        ("V", "3.3 A"),
        ("V_F", "-2 V"),
        ("V_F", "nan"),
        ("I", "0 A"),
        ("R", "0 Ω"),
        ("R", "100 nF"),
        ("n", "0"),
        ("driver", "magic"),
    ],
)
def test_what_cannot_be_meant_is_refused_by_the_name_of_its_field(field: str, text: str) -> None:
    with pytest.raises(Refusal) as refused:
        judge(Indicator({field: text}))
    assert refused.value.where.startswith(field)
