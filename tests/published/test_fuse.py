"""Fuses against data sheets and selection guides."""

from __future__ import annotations

import pytest

from phases.kit import judge
from phases.kit.bounds import FAIL, PASS
from phases.power_entry.fuse import Fuse
from tests.published.printed import prints_as


def fuse(**inputs: str) -> Fuse:
    return Fuse(**inputs)


@pytest.mark.parametrize(
    ("rating", "at_40", "at_50", "at_60"),
    [
        ("5 A", "4.15", "3.85", "3.40"),
        ("6 A", "4.98", "4.62", "4.08"),
        ("7 A", "5.81", "5.39", "4.76"),
        ("8 A", "6.64", "6.16", "5.44"),
    ],
)
def test_hold_currents_of_the_mf_r_series(rating: str, at_40: str, at_50: str, at_60: str) -> None:
    # Bourns MF-R derating table as quoted, whole rating at 23 °C. One set of ratios (ours) gives
    # all twelve printed values: 0.83, 0.77, 0.68.
    rows = [
        {"T": "23 °C", "k": "100 %"},
        {"T": "40 °C", "k": "83 %"},
        {"T": "50 °C", "k": "77 %"},
        {"T": "60 °C", "k": "68 %"},
    ]
    for ambient, printed in (("40 °C", at_40), ("50 °C", at_50), ("60 °C", at_60)):
        part = Fuse(I_N=rating, derating=rows, T_A=ambient)
        assert prints_as(part.I_hold.item(), printed)


@pytest.mark.parametrize(
    ("rating", "factor", "ambient", "printed"),
    [
        # Bourns MF-RG500, MF-RG700, MF-PSMF010X: rating and hold current when hot.
        ("5 A", "0.88", "40 °C", "4.4"),
        ("5 A", "0.8", "50 °C", "4.0"),
        ("5 A", "0.72", "60 °C", "3.6"),
        ("5 A", "0.62", "70 °C", "3.1"),
        ("100 mA", "0.7", "60 °C", "0.07"),
    ],
)
def test_hold_currents_by_a_factor(rating: str, factor: str, ambient: str, printed: str) -> None:
    assert prints_as(fuse(I_N=rating, k_T=factor, T_A=ambient).I_hold.item(), printed)


def test_a_part_of_half_an_ampere_trips_at_one() -> None:
    # Bourns MF-MSMF050 and Littelfuse 1812L050: 0.5 A hold, 1.0 A trip, 1.0 Ω after a trip, 15 V.
    part = fuse(I_N="0.5 A", k_T="1")
    assert (part.I_hold.item(), part.I_trip.item()) == (0.5, 1.0)
    assert part.R_f.item() == pytest.approx(1.0)
    assert judge(fuse(V="15 V")).limit("voltage") == PASS
    assert judge(fuse(V="15.1 V")).limit("voltage") == FAIL


@pytest.mark.parametrize(
    ("load", "share", "factor", "printed"),
    [
        # TA-I CP04 data sheet: 1.5 A, 70 %, 0.95.
        ("1.5 A", "70 %", "0.95", "2.255"),
        # Littelfuse, Fuseology (75 % read, the example from memory): 25 °C, and with 0.80.
        ("1.5 A", "75 %", "1", "2"),
        ("1.5 A", "75 %", "0.8", "2.5"),
        # Derived from Daito's rule: 1 A at 60 °C, 70 %, 0.92.
        ("1 A", "70 %", "0.92", "1.5528"),
    ],
)
def test_rating_needed_of_a_one_shot_fuse(load: str, share: str, factor: str, printed: str) -> None:
    part = fuse(kind="one-shot", I_load=load, k_N=share, k_T=factor)
    assert prints_as(part.I_need.item(), printed)


def test_the_table_for_one_shot_fuses_has_the_published_points() -> None:
    # Daito: 0.96 at 40 °C, 0.92 at 60 °C.
    for ambient, factor in (("25 °C", 1.0), ("40 °C", 0.96), ("60 °C", 0.92)):
        assert fuse(kind="one-shot", T_A=ambient).k.item() == pytest.approx(factor, rel=1e-12)


def test_the_table_for_resettable_fuses_has_the_published_points() -> None:
    # One vendor's generic table for surface-mount parts.
    printed = {
        "-40 °C": 1.45,
        "-20 °C": 1.30,
        "0 °C": 1.20,
        "40 °C": 0.88,
        "50 °C": 0.80,
        "60 °C": 0.71,
        "70 °C": 0.66,
        "85 °C": 0.56,
    }
    for ambient, factor in printed.items():
        assert fuse(T_A=ambient).k.item() == pytest.approx(factor, rel=1e-12)


def test_a_rating_means_less_by_one_convention_than_by_the_other() -> None:
    # UL 248-14 (Littelfuse, fuseology selection guide): opens at 200 % within 2 min; 75 % in use.
    # IEC 60127 (from memory): 210 %, and the rating itself may be carried.
    ul = fuse(kind="one-shot", I_N="2 A", k_T="1")
    iec = fuse(kind="one-shot", I_N="2 A", k_T="1", convention="IEC 60127")
    assert (ul.I_hold.item(), ul.I_trip.item()) == (1.5, 4.0)
    assert (iec.I_hold.item(), iec.I_trip.item()) == (2.0, 4.2)


@pytest.mark.parametrize(
    ("pulses", "share"), [("100", 0.48), ("1000", 0.38), ("10000", 0.29), ("100000", 0.22)]
)
def test_shares_of_the_melting_integral_for_so_many_pulses(pulses: str, share: float) -> None:
    # Littelfuse, fuse selection.
    part = fuse(I_p="10 A", t_p="1 ms", shape="square", pulses=pulses)
    assert part.I2t_need.item() == pytest.approx(0.1 / share, rel=1e-12)


@pytest.mark.parametrize(
    ("shape", "factor"), [("square", 1.0), ("half sine", 0.5), ("triangle", 1 / 3), ("decay", 0.5)]
)
def test_melting_integrals_of_pulse_shapes(shape: str, factor: float) -> None:
    # Littelfuse, fuse selection: half sine 1/2, triangle 1/3. Decay with its time constant, and
    # square: own integrals.
    part = fuse(I_p="10 A", t_p="1 ms", shape=shape)
    assert part.I2t.item() == pytest.approx(0.1 * factor, rel=1e-12)
