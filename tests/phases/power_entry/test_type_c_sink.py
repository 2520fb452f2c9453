"""What the Type-C sink says of a connector: windows, both ways up, load, tolerance."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from phases.kit import Judgement, judge
from phases.kit.bounds import VERDICTS
from phases.kit.inputs import Supply
from phases.kit.record import record_of
from phases.kit.refusals import Refusal
from phases.kit.spec_tables import spec_table
from phases.power_entry.type_c_sink import TypeCSink
from tests.phases.sampling import POINTS, escapes


def sink(**inputs: Any) -> Judgement:
    return judge(TypeCSink(**inputs))


def verdicts(judged: Judgement, limit: str) -> dict[str | None, str]:
    return {v.scenario: v.verdict for v in judged.verdicts if v.limit == limit}


def words(judged: Judgement) -> list[str]:
    return [part.words for part in judged.parts]


# ---- The ordinary board ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("load", "verdict"), [("2 mA", "pass"), ("2.45 mA", "marginal"), ("2.6 mA", "fail")]
)
def test_a_suspended_device_has_2_5_ma(load: str, verdict: str) -> None:
    # USB 2.0 engineering change notice, suspend current limit changes.
    assert judge(TypeCSink(I_suspend=load)).limit("suspend") == verdict
    assert judge(TypeCSink()).limit("suspend") == "not applicable"
    assert judge(TypeCSink(I_suspend=load, use="power only")).limit("suspend") == "not applicable"


def test_a_board_that_never_configures_is_owed_one_unit_load() -> None:
    # USB 2.0: 100 mA before configuration, up to 500 mA after.
    def said(**inputs: Any) -> bool:
        notes = judge(TypeCSink(use="power only", **inputs)).notes
        return any("not configured" in note.what for note in notes)

    assert said(I_load="450 mA") and not said(I_load="90 mA")
    assert not said(I_load="450 mA", reads="yes")


def test_two_resistors_of_5_1_k_pass_with_every_source() -> None:
    judged = sink()
    assert judged.verdict == "pass"
    assert set(verdicts(judged, "cc-window").values()) == {"pass"}
    assert words(judged) == ["5.1 kΩ ± 10 %, CC1 to GND", "5.1 kΩ ± 10 %, CC2 to GND"]


@pytest.mark.parametrize(("typed", "drawn"), [("5k1", "5.1 kΩ"), ("5k1 ± 1 %", "5.1 kΩ ± 1 %")])
def test_a_part_is_drawn_with_its_unit_whatever_was_typed(typed: str, drawn: str) -> None:
    assert words(sink(R_d=typed))[0] == f"{drawn}, CC1 to GND"


def test_the_planned_load_is_the_peak_of_the_entry_rail() -> None:
    asked: list[str] = []

    def ledger(name: str) -> Supply | None:
        asked.append(name)
        return Supply("620 mA", "ledger", "load-budget") if name == "rail.vbus.peak" else None

    calculation = TypeCSink(lookup=ledger, names={"entry": "vbus", "connector": "j1"})
    assert judge(calculation).limit("load-allowed") == "fail"
    assert "rail.vbus.peak" in asked


# ---- Both ways up ------------------------------------------------------------------------


@pytest.mark.parametrize("value", ["5.1 kΩ ± 1 %", "5.1 kΩ ± 10 %", "2.2 kΩ", "10 kΩ", "1 MΩ"])
def test_a_shared_resistor_fails_whatever_its_value(value: str) -> None:
    assert sink(R_d=value, pulls="shared").limit("both-ways-up") == "fail"


def test_a_shared_resistor_is_lost_with_an_e_marked_cable_and_found_with_a_plain_one() -> None:
    judged = verdicts(sink(pulls="shared"), "cc-window")
    assert judged["USB default, e-marked cable"] == "fail"
    assert judged["USB default, current"] == "pass"


def test_separate_resistors_do_not_see_the_cable_s_termination() -> None:
    figures = sink().rows("V_CC")
    assert figures["USB default, e-marked cable"].spread == figures["USB default, current"].spread


def test_one_contact_alone_works_one_way_up_only() -> None:
    judged = sink(pulls="one pin only")
    assert judged.limit("both-ways-up") == "fail"
    assert words(judged) == ["5.1 kΩ ± 10 %, CC1 to GND"]


# ---- Windows and tolerance ---------------------------------------------------------------


@pytest.mark.parametrize(("reads", "verdict"), [("no", "pass"), ("yes", "fail")])
def test_20_percent_parts_do_only_where_no_advertisement_is_read(reads: str, verdict: str) -> None:
    judged = sink(R_d="5.1 kΩ ± 20 %", reads=reads)
    assert judged.limit("tolerance") == verdict
    assert judged.limit("cc-window") == verdict


def test_the_editions_differ_and_the_note_names_the_one_that_counts() -> None:
    source = [{"name": "low", "advertised": "default", "I": "51 µA"}]
    for edition, verdict in (("2.4", "fail"), ("2.0", "pass")):
        judged = sink(sources=source, reads="yes", edition=edition, R_d="5.1 kΩ")
        assert judged.limit("cc-window") == verdict
        assert f"release {edition}" in judged.notes[0].what


def test_half_of_the_last_printed_digit_is_granted_and_no_more() -> None:
    for volts, verdict in (("0.6124 V", "pass"), ("0.6126 V", "fail")):
        source = [{"name": "source", "advertised": "default", "V": volts}]
        assert sink(sources=source, reads="yes").limit("cc-window") == verdict


@pytest.mark.parametrize("value", ["1 Ω", "1.1 kΩ", "56 kΩ", "1 GΩ"])
def test_a_wrong_resistor_is_out_of_both_window_and_tolerance(value: str) -> None:
    judged = sink(R_d=value)
    assert judged.limit("cc-window") == judged.limit("tolerance") == "fail"


def test_a_source_that_gives_nothing_is_not_found() -> None:
    judged = sink(sources=[{"name": "dead", "advertised": "default"}])
    assert judged.limit("cc-window") == "fail"
    assert judged.rows("I_allowed")["dead"].high == 0.0


# ---- Load --------------------------------------------------------------------------------


def test_a_sink_that_does_not_read_gets_the_usb_default_from_any_source() -> None:
    assert {f.high for f in sink().rows("I_allowed").values()} == {0.5}


def test_a_sink_that_reads_gets_what_is_advertised() -> None:
    allowed = sink(reads="yes").rows("I_allowed")
    assert allowed["1.5 A, current"].low == 1.5
    assert allowed["3 A, resistor"].low == 3.0
    assert allowed["USB default, resistor"].high == 0.5


def test_what_is_misread_upwards_gives_no_more_than_was_advertised() -> None:
    source = [{"name": "source", "advertised": "default", "I": "200 µA"}]
    figures = sink(sources=source, reads="yes")
    assert figures.rows("I_recognised")["source"].typ == 1.5
    assert figures.rows("I_allowed")["source"].typ == 0.5


@pytest.mark.parametrize(
    ("use", "start", "load", "verdict"),
    [
        ("data device", "60 mA", "400 mA", "pass"),
        ("data device", "98 mA", "400 mA", "marginal"),
        ("data device", "120 mA", "400 mA", "fail"),
        ("power only", "120 mA", "400 mA", "pass"),
        ("power only", "120 mA", "490 mA", "marginal"),
        ("power only", "0 A", "501 mA", "fail"),
        ("data device", "0 A", "0 A", "pass"),
        ("data device", "60 mA", "400 .. 600 mA", "fail"),
    ],
)
def test_a_data_device_waits_for_its_configuration_a_charger_does_not(
    use: str, start: str, load: str, verdict: str
) -> None:
    assert sink(use=use, I_start=start, I_load=load).limit("load-allowed") == verdict


def test_the_load_need_fit_only_the_sources_that_must_carry_it() -> None:
    judged = verdicts(sink(I_load="2 A", reads="yes", use="power only"), "load-allowed")
    assert judged["USB default, current"] == "fail"
    assert judged["3 A, current"] == "not applicable"
    rows = [
        {**row["cells"], "must": "3 A" in row["cells"]["name"]}
        for row in spec_table("usb-type-c")["scenario"]
    ]
    judged = verdicts(sink(I_load="2 A", reads="yes", sources=rows), "load-allowed")
    assert judged["USB default, current"] == "not applicable"
    assert judged["3 A, current"] == judged["3 A, resistor"] == "pass"


def test_a_source_of_3_a_lets_a_data_device_start_above_100_ma() -> None:
    row = {"name": "charger", "advertised": "3 A", "I": "330 µA ± 8 %"}
    assert sink(sources=[row], reads="yes", I_start="300 mA").limit("load-allowed") == "pass"
    assert sink(sources=[row], reads="no", I_start="300 mA").limit("load-allowed") == "fail"


def test_what_may_be_taken_is_published_for_the_load_budget() -> None:
    given = record_of(sink()).published
    assert given["source.allowed"].high == 0.5
    rows = [
        {**row["cells"], "must": "3 A" in row["cells"]["name"]}
        for row in spec_table("usb-type-c")["scenario"]
    ]
    assert record_of(sink(reads="yes", sources=rows)).published["source.allowed"].low == 3.0
    assert record_of(sink(reads="no", sources=rows)).published["source.allowed"].low == 0.5


def test_the_least_of_the_sources_that_must_carry_the_load_is_what_may_be_taken() -> None:
    dead = {"name": "dead", "advertised": "default", "must": "no"}
    charger = {"name": "charger", "advertised": "1.5 A", "I": "180 µA"}
    assert sink(sources=[charger, dead], reads="yes").output("I_may_take").low == 1.5
    assert sink(sources=[charger, {**dead, "must": "yes"}]).output("I_may_take").low == 0.0


def test_where_no_source_must_carry_the_load_nothing_is_published() -> None:
    rows = [{"name": "charger", "advertised": "3 A", "I": "330 µA", "must": "no"}]
    for sources in (rows, []):
        assert "source.allowed" not in record_of(sink(sources=sources)).published


# ---- What is refused, and what holds in general ------------------------------------------


@pytest.mark.parametrize(
    "inputs",
    [
        {"R_d": "0 Ω"},
        {"R_d": "5.1 kF"},
        {"R_d": "5.6 .. 4.6 kΩ"},
        {"R_d": "inf Ω"},
        {"I_load": "500 mV"},
        {"edition": "3.1"},
        {"pulls": "none"},
        {"sources": [{"name": "source", "advertised": "5 A", "I": "1 A"}]},
        {"sources": [{"name": "source", "advertised": "default", "I": "80 µV"}]},
    ],
)
def test_what_cannot_be_meant_is_refused_in_one_sentence(inputs: dict[str, Any]) -> None:
    with pytest.raises(Refusal):
        sink(**inputs)


def test_mixed_units_and_notations_mean_the_same() -> None:
    written = [
        sink(R_d=text, I_load=load).rows("V_CC")
        for text, load in (("5k1", "0.15 A"), ("5.1 kΩ", "150 mA"), ("5100", "150000 µA"))
    ]
    assert written[0] == written[1] == written[2]


def test_every_verdict_is_reached() -> None:
    reached = {
        v.verdict
        for judged in (sink(), sink(pulls="shared"), sink(I_load="490 mA"))
        for v in judged.verdicts
    }
    assert reached == set(VERDICTS)


@pytest.mark.deeper
@pytest.mark.parametrize(
    "inputs",
    [
        {"I_load": "100 .. 480 mA", "I_start": "50 .. 90 mA"},
        {"R_d": "5.1 kΩ ± 20 %", "pulls": "shared"},
        {"R_d": "4 .. 9 kΩ", "reads": "yes", "edition": "2.0", "use": "power only"},
    ],
)
def test_no_random_point_gets_out_of_what_is_reported(inputs: dict[str, Any]) -> None:
    assert escapes(sink(**inputs)) == []


def test_a_hundred_thousand_sources_and_cables_stay_within_the_reported_voltages() -> None:
    # The helper draws the cells of a table once a chunk; here each point has its own source.
    dice = np.random.default_rng(7)
    figures = sink(pulls="shared", R_d="5.1 kΩ ± 20 %").rows("V_CC")
    R_d = dice.uniform(4080, 6120, POINTS)
    R_a = dice.uniform(800, 1200, POINTS)
    drawn = {
        "USB default, e-marked cable": dice.uniform(64e-6, 96e-6, POINTS) / (1 / R_d + 1 / R_a),
        "3 A, current": dice.uniform(303.6e-6, 356.4e-6, POINTS) * R_d,
        "3 A, resistor": dice.uniform(4.75, 5.5, POINTS)
        * R_d
        / (R_d + dice.uniform(9.5e3, 10.5e3, POINTS)),
    }
    for row, volts in drawn.items():
        assert figures[row].low <= volts.min() < figures[row].low * 1.05
        assert figures[row].high >= volts.max() > figures[row].high * 0.95


def test_each_figure_of_the_table_stands_with_its_source() -> None:
    table = spec_table("usb-type-c")
    groups = [*table["edition"].values(), *table["scenario"]]
    groups += [
        group for name, group in table.items() if isinstance(group, dict) and name != "edition"
    ]
    assert len(groups) > 10
    assert all(group["source"].strip() for group in groups)
