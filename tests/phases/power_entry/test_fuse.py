"""What the fuse says: rating, trip, pulse, resistance, and what happens to a pick."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from phases.kit import Judgement, judge
from phases.kit.bounds import FAIL, MARGINAL, NOT_APPLICABLE, PASS, VERDICTS
from phases.kit.curves import trace
from phases.kit.inputs import Supply
from phases.kit.record import record_of
from phases.kit.refusals import Refusal
from phases.kit.remedies import remedies
from phases.kit.spec_tables import spec_table
from phases.power_entry.fuse import Fuse
from tests.phases.sampling import escapes

ONE = {"kind": "one-shot"}


def fuse(**inputs: Any) -> Judgement:
    return judge(Fuse(**inputs))


# ---- The rating --------------------------------------------------------------------------


def test_the_least_rating_that_holds_with_its_margin_is_proposed() -> None:
    # 400 mA at 50 °C need 500 mA at 80 %: that holds with nothing to spare, so the next is taken.
    judged = fuse()
    assert judged.picks == {"I_N": "750 mA"}
    assert judged.verdict == PASS
    assert fuse(I_N="500 mA").limit("hold") == MARGINAL
    assert fuse(I_N="350 mA").limit("hold") == FAIL


def test_the_least_rating_one_can_buy_is_named_at_every_ambient() -> None:
    figure = fuse(T_A="-20 .. 60 °C").output("I_next")
    assert (figure.low, figure.high) == (0.35, 0.75)
    assert fuse(I_load="30 A").output("I_next").high == np.inf


def test_a_pick_by_hand_stays_and_is_judged_by_the_same_limits() -> None:
    assert fuse(I_N="1.1 A").picks == {"I_N": "1.1 A"}
    assert fuse(I_N="1.1 A", I_load="900 mA").limit("hold") == FAIL
    assert fuse(I_N="2 A").limit("trip") == FAIL  # 4 A open it, track and connector stand 3 A


def test_a_rating_is_offered_even_where_none_passes() -> None:
    judged = fuse(I_load="2.5 A")
    assert judged.picks["I_N"] == "3.5 A"
    assert (judged.limit("hold"), judged.limit("trip")) == (PASS, FAIL)


def test_a_one_shot_fuse_gets_a_rating_of_its_convention() -> None:
    ul, iec = fuse(**ONE, I_load="500 mA"), fuse(**ONE, I_load="500 mA", convention="IEC 60127")
    assert (ul.picks["I_N"], iec.picks["I_N"]) == ("750 mA", "630 mA")
    assert [part.what for part in ul.parts] == ["fuse, 750 mA, 63 V or more"]


def test_the_ratings_of_iec_60127_are_rounded_from_ten_a_decade() -> None:
    # R 10 of ISO 3: 10^(n/10), as rounded there within 2 %.
    for rating in spec_table("fuse-derating")["ratings"]["IEC 60127"]["amperes"]:
        steps = 10 * np.log10(rating)
        assert rating == pytest.approx(10 ** (round(steps) / 10), rel=0.02)


# ---- Temperature -------------------------------------------------------------------------


def test_what_it_carries_counts_at_the_hottest_what_opens_it_at_the_coldest() -> None:
    judged = fuse(I_N="1.1 A", T_A="-20 .. 60 °C")
    corner = {v.limit: v.corner["T_A"] for v in judged.verdicts if v.limit in ("hold", "trip")}
    assert corner == {"hold": 60.0, "trip": -20.0}
    assert judged.output("I_hold").low == pytest.approx(1.1 * 0.71)
    assert judged.output("I_trip").high == pytest.approx(1.1 * 2 * 1.30)


def test_beyond_the_table_nothing_is_known_and_the_limit_fails() -> None:
    judged = fuse(T_A="25 .. 90 °C", I_N="1.1 A")
    assert np.isnan(judged.output("I_hold").low)
    assert judged.limit("hold") == judged.limit("trip") == FAIL


def test_a_factor_given_by_hand_stands_instead_of_the_table() -> None:
    judged = fuse(k_T="0.7 .. 0.9", I_N="1 A", T_A="25 .. 200 °C")
    assert (judged.output("I_hold").low, judged.output("I_hold").high) == (0.7, 0.9)


@pytest.mark.parametrize(
    "rows",
    [
        [{"T": "25 °C", "k": "100 %"}, {"T": "20 °C", "k": "90 %"}],
        [{"T": "25 °C", "k": "100 %"}, {"T": "60 °C", "k": "110 %"}],
        [{"T": "25 °C", "k": "100 %"}, {"T": "25 °C", "k": "90 %"}],
    ],
)
def test_a_table_that_no_fuse_has_is_refused(rows: list[dict[str, str]]) -> None:
    with pytest.raises(Refusal, match="Temperatures must rise and factors must fall"):
        fuse(derating=rows)


def test_an_empty_table_says_nothing_and_passes_nothing() -> None:
    assert fuse(derating=[], I_N="1 A").limit("hold") == FAIL


def test_the_table_follows_the_kind_of_part() -> None:
    assert Fuse(T_A="60 °C").k.item() == pytest.approx(0.71)
    assert Fuse(T_A="60 °C", **ONE).k.item() == pytest.approx(0.92)


# ---- Resistance, voltage, fault, pulse ---------------------------------------------------


def test_the_greatest_resistance_is_published_for_the_drop() -> None:
    calculation = Fuse({"R_1max": "0.2 Ω", "I_load": "500 mA"}, names={"rail": "vbus"})
    judged = judge(calculation)
    assert record_of(judged).published["rail.vbus.fuse_resistance"].high == 0.2
    assert judged.output("V_f").high == pytest.approx(0.1)
    assert judged.output("P").high == pytest.approx(0.05)


@pytest.mark.parametrize(
    ("rating", "trip", "ohms"),
    [
        # Bourns MF-MSMF010, 014, 020, 030, 050 and MF-NSMF005: trip over hold, R1max.
        ("100 mA", 3.0, 15.0),
        ("140 mA", 2.43, 6.5),
        ("200 mA", 2.0, 6.0),
        ("300 mA", 2.0, 3.0),
        ("500 mA", 2.0, 1.0),
        ("50 mA", 3.0, 20.0),
    ],
)
def test_a_small_resettable_part_trips_later_and_drops_more(
    rating: str, trip: float, ohms: float
) -> None:
    judged = fuse(I_N=rating, T_A="23 °C")
    hold = judged.output("I_hold").typ
    assert trip <= judged.output("I_trip").typ / hold <= trip * 1.05
    assert ohms <= judged.output("R_f").typ <= ohms * 1.51
    assert {"k_trip", "R_1max"} & set(next(v for v in judged.verdicts if v.limit == "trip").assumed)


def test_a_known_pulse_and_the_maker_s_own_factor_stand_before_the_usual_ones() -> None:
    typed = fuse(kind="one-shot", I2t_p="0.01 A²s", f_p="20 %", I2t_melt="0.04 A²s")
    assert typed.output("I2t_need").typ == pytest.approx(0.05)
    assert typed.limit("pulse") == FAIL


def test_without_a_resistance_a_usual_one_stands_in_and_is_said() -> None:
    assert fuse(I_N="500 mA").output("R_f").typ == pytest.approx(1.0)
    assert fuse(I_N="2 A").output("R_f").typ == pytest.approx(0.25)
    assert any("typical parts" in note.what for note in fuse().notes)
    assert not any("typical parts" in note.what for note in fuse(R_1max="1 Ω").notes)


@pytest.mark.parametrize(("supply", "verdict"), [("15 V", PASS), ("10 .. 16 V", FAIL)])
def test_the_highest_supply_counts_against_the_part_s_voltage(supply: str, verdict: str) -> None:
    assert fuse(V=supply).limit("voltage") == verdict


def test_the_fault_current_counts_against_what_the_part_may_interrupt() -> None:
    assert fuse(I_fault="41 A").limit("fault-current") == FAIL


@pytest.mark.parametrize(("melt", "verdict"), [("10 A²s", PASS), ("1 mA²s", FAIL)])
def test_pulses_wear_a_one_shot_fuse(melt: str, verdict: str) -> None:
    pulse = {"I_p": "10 A", "t_p": "1 ms", "I2t_melt": melt}
    assert fuse(**ONE, **pulse).limit("pulse") == verdict
    assert fuse(**pulse).limit("pulse") == NOT_APPLICABLE


def test_a_source_that_gives_less_than_opens_it_is_named() -> None:
    said = [note.what for note in fuse(I_fault="1 A").notes]
    assert "The source's fault current is below the trip current: the fuse may never open" in said


def test_the_heat_of_a_tripped_part_is_cautioned_about() -> None:
    assert any("100 °C" in note.what for note in fuse().notes)
    assert not any("100 °C" in note.what for note in fuse(**ONE).notes)


# ---- The ledger, what is refused, and what holds in general ------------------------------


def test_load_supply_and_ambient_come_from_the_ledger() -> None:
    given = {
        "rail.vin.peak": "1.2 A",
        "rail.vin.window": "10 .. 28 V",
        "board.ambient": "-10 .. 60 °C",
    }
    calculation = Fuse(
        lookup=lambda name: Supply(given[name], "ledger", "it") if name in given else None,
        names={"rail": "vin"},
    )
    judged = judge(calculation)
    assert judged.limit("voltage") == FAIL  # 28 V on a part for 15 V
    assert judged.output("I_need").high == pytest.approx(1.2 / 0.71)
    assert "vin" in judged.parts[0].where


@pytest.mark.parametrize(
    "inputs",
    [
        {"V": "61 V"},
        {"V": "230 V AC"},
        {"I_load": "-1 A"},
        {"k_N": "120 %"},
        {"kind": "wire"},
        {"convention": "none"},
        {"k_T": "0"},
        {"I_N": "1 V"},
        {"shape": "round"},
    ],
)
def test_what_cannot_be_meant_is_refused(inputs: dict[str, str]) -> None:
    with pytest.raises(Refusal):
        fuse(**inputs)


def test_nothing_flows_and_everything_holds() -> None:
    judged = fuse(I_load="0 A")
    assert judged.limit("hold") == PASS
    assert judged.output("P").high == 0.0


def test_every_verdict_is_reached() -> None:
    runs = (fuse(), fuse(I_N="500 mA"), fuse(I_N="350 mA"))
    assert {v.verdict for judged in runs for v in judged.verdicts} == set(VERDICTS)


def test_what_it_carries_falls_with_the_ambient_and_rises_with_the_rating() -> None:
    carried = [fuse(T_A=f"{T} °C", I_N="1 A").output("I_hold").typ for T in range(-40, 86, 5)]
    assert all(a > b for a, b in pairwise(carried))
    assert fuse(I_N="2 A").output("I_hold").low > fuse(I_N="1 A").output("I_hold").low


def test_a_remedy_for_a_load_that_is_too_high_is_a_lower_load_or_a_higher_rating() -> None:
    cures = {r.field: r.intervals for r in remedies(fuse(I_N="500 mA", I_load="600 mA"))}
    assert cures["I_load"][0][1] == pytest.approx(0.380, abs=0.002)
    assert cures["I_N"][0][0] == pytest.approx(0.788, abs=0.003)


def test_the_curve_falls_and_shows_the_load_as_its_limit() -> None:
    traced = trace(judge(Fuse()).calculation, Fuse.curves[0])
    assert traced is not None and traced.bound is not None
    assert traced.typ[0] > traced.typ[-1]
    assert set(traced.bound) == {0.4}


@pytest.mark.deeper
@pytest.mark.parametrize(
    "inputs",
    [
        {
            "I_load": "200 .. 400 mA",
            "T_A": "-30 / 20 / 70 °C",
            "I_N": "750 mA",
            "k_trip": "1.7 .. 2.2",
            "R_1max": "0.2 .. 0.4 Ω",
            "V": "5 V ± 5 %",
        },
        {
            **ONE,
            "I_load": "0.5 .. 1 A",
            "k_N": "70 .. 75 %",
            "I_N": "2 A",
            "T_A": "-30 .. 80 °C",
            "I_p": "2 .. 5 A",
            "t_p": "10 .. 60 µs",
            "I2t_melt": "0.05 A²s ± 20 %",
            "I_wire": "4 .. 5 A",
        },
        {**ONE, "convention": "IEC 60127", "I_N": "1 A ± 5 %", "k_T": "0.8 .. 0.95"},
    ],
)
def test_no_random_point_gets_out_of_what_is_reported(inputs: dict[str, Any]) -> None:
    assert escapes(fuse(**inputs)) == []


@pytest.mark.deeper
def test_a_table_with_spreads_of_its_own_keeps_to_what_is_reported() -> None:
    rows = [
        {"T": "20 °C", "k": "95 .. 105 %"},
        {"T": "50 °C", "k": "75 .. 85 %"},
        {"T": "80 °C", "k": "50 .. 60 %"},
    ]
    judged = fuse(derating=rows, T_A="20 .. 80 °C", I_N="1 A")
    assert escapes(judged) == []


def test_each_figure_of_the_table_stands_with_its_source() -> None:
    table = spec_table("fuse-derating")
    groups = [table["pulses"], table["shape"]]
    named = ("derating", "convention", "ratings", "usual")
    groups += [group for name in named for group in table[name].values()]
    assert len(groups) == 11
    assert all(group["source"].strip() for group in groups)
