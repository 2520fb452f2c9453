"""Battery runtime against published estimates, cell texts and Peukert's law."""

from __future__ import annotations

from typing import Any

import pytest

from phases.kit import judge
from phases.kit.spec_tables import spec_table
from phases.power_entry.source_runtime import SourceRuntime
from tests.published.printed import prints_as

HOUR = 3600.0
PLAIN = {"s": "0 %", "usable": "100 %"}


def cell(**inputs: Any) -> SourceRuntime:
    return SourceRuntime({**PLAIN, **inputs})


SENSOR = [
    {"state": "asleep", "I": "1.5 µA", "t": "59.988 s"},
    {"state": "start", "I": "5 mA", "t": "0.5 ms"},
    {"state": "idle", "I": "1.8 mA", "t": "3 ms"},
    {"state": "radio", "I": "8.5 mA", "t": "3.6 ms"},
    {"state": "compute", "I": "4.2 mA", "t": "1.5 ms"},
    {"state": "stop", "I": "2 mA", "t": "0.4 ms"},
]


def test_a_duty_cycle_of_60_s() -> None:
    # applied-ee, battery-life estimation. It goes on with 0.03747 µAh and 2.25 µA; its own rows
    # sum to 0.03766 µAh and 2.26 µA.
    part = cell(states=SENSOR, T="60 s")
    assert part.Q_cycle.item() / HOUR * 1e6 == pytest.approx(0.0376617, rel=1e-5)
    assert part.I_avg.item() * 1e6 == pytest.approx(2.2597, rel=1e-4)
    assert part.I_p.item() == pytest.approx(8.5e-3)


def test_230_mah_at_2_25_ua() -> None:
    # The same page: 102222 h, 11.7 years.
    part = cell(Q="230 mAh", I_load="2.25 µA")
    assert prints_as(part.t_run.item() / HOUR, "102222")
    assert prints_as(part.t_run.item() / HOUR / 8760, "11.7")


def test_peukert_has_two_forms() -> None:
    # electrotechnik.net: 100, exponent 1.2, 5 A: 14.5 h by C / I^k. By the rated-hour form (from
    # memory) 100 Ah at 20 h last 8.7 h at 10 A, and 20 h at 5 A: not the 14.5 h of the other.
    inputs = {"Q": "100 Ah", "k": "1.2", "H": "20 h", "cell": "other"}
    plain = cell(law="Peukert, C / I^k", I_load="5 A", **inputs)
    assert prints_as(plain.t_run.item() / HOUR, "14.5")
    rated = cell(law="Peukert, rated hours", I_load="10 A", **inputs)
    assert prints_as(rated.t_run.item() / HOUR, "8.7")
    slower = cell(law="Peukert, rated hours", I_load="5 A", **inputs)
    assert slower.t_run.item() / HOUR == pytest.approx(20.0)


def test_exponent_from_two_tests() -> None:
    # Xantrex Link 20 manual, page 26 (inputs; result derived): 100 Ah at 5 A, 60 Ah at 20 A.
    part = cell(I_1="5 A", Q_1="100 Ah", I_2="20 A", Q_2="60 Ah")
    assert part.n.item() == pytest.approx(1.36848, rel=1e-5)


def test_a_fresh_coin_cell_gives_60_ma_for_a_sag_of_1_2_v() -> None:
    # interactive-matter, pulses of a coin cell: 1.2 V across 20 Ω.
    part = cell(V_OC="3.2 V", V_need="2 V", R_int="20 Ω")
    assert prints_as(part.I_most.item() * 1e3, "60")


def test_10_ua_take_88_mah_in_a_year() -> None:
    # ideambox note: 10 µA for 8760 h.
    assert prints_as(cell(I_load="10 µA").Q_year.item() / 3.6, "88")


def test_the_usual_coin_cell_has_the_printed_figures() -> None:
    # Cell texts: 225 to 235 mAh to 2.0 V, steady 3 mA, pulses 15 mA, 18 to 20 Ω fresh, then 30 Ω.
    table = spec_table("battery-kinds")["coin-cell"]
    assert (table["Q"], table["V_cut"]) == ("225 .. 235 mAh", "2 V")
    assert (table["I_cont"], table["I_pulse"]) == ("3 mA", "15 mA")
    judged = judge(SourceRuntime())
    assert (judged.output("R").low, judged.output("R").high) == (18.0, 30.0)


def test_self_discharge_shortens_a_long_life_by_what_it_takes_meanwhile() -> None:
    # dQ/dt = -I - s Q, integrated in small steps (own check): 230 mAh, 2.25 µA, 1 % a year.
    part = cell(Q="230 mAh", I_load="2.25 µA", s="1 %")
    charge, hours, step = 230e-3, 0.0, 10.0
    while charge > 0:
        charge -= (2.25e-6 + 0.01 / 8760 * charge) * step
        hours += step
    assert part.t_run.item() / HOUR == pytest.approx(hours, rel=1e-3)
