"""Drops and losses on the way in against data sheets, notes and cable limits."""

from __future__ import annotations

import pytest

from phases.power_entry.drop_chain import DropChain
from tests.published.printed import prints_as

# Nothing on the way but what a case names.
BARE = {
    "R_wire": "0 Ω",
    "R_return": "0 Ω",
    "R_contact": "0 Ω",
    "R_fuse": "0 Ω",
    "R_trace": "0 Ω",
    "k_hot": "1",
}


def chain(**inputs: str) -> DropChain:
    return DropChain({**BARE, **inputs})


@pytest.mark.parametrize(("forward", "printed"), [("1 V", "3"), ("0.45 V", "1.35")])
def test_diodes_at_3_a(forward: str, printed: str) -> None:
    # Elektor, ideal diode controller: 1N5404 3 W, 1N5822 1.35 W at 3 A.
    part = chain(blocking="Schottky diode", V_F=forward, I="3 A")
    assert prints_as(part.P_block.item(), printed)
    assert part.P_diode.item() == part.P_block.item()


def test_a_switch_of_60_m_and_a_diode_of_360_mv_at_1_a() -> None:
    # onsemi, low-VCE(sat) training, slide 6: 420 mW.
    part = chain(blocking="Schottky diode", V_F="360 mV", R_fuse="60 mΩ", I="1 A", V_src="5 V")
    assert prints_as(part.P_loss.item() * 1e3, "420")
    assert (part.P_fuse + part.P_block).item() == pytest.approx(part.P_loss.item())


def test_a_regulated_ideal_diode_and_a_rectifier_at_1_a() -> None:
    # Nexperia, ideal diodes: 30 mV regulated, 30 mW; 1N4007 0.7 V, 700 mW.
    part = chain(V_reg="30 mV", R_sw="20 mΩ", V_F="0.7 V", I="1 A")
    assert prints_as(part.P_switch.item() * 1e3, "30")
    assert prints_as(part.P_diode.item() * 1e3, "700")


def test_a_port_s_budget_from_5_v_less_3_percent_to_4_75_v() -> None:
    # Philips ISP1122, page 23: 4.85 V, 100 mV, and 75 mV without the board's 25 mV.
    part = chain(V_src="4.85 V", V_need="4.75 V", I="100 mA")
    assert prints_as(part.V_spare.item() * 1e3, "100")
    less_board = chain(V_src="4.85 V", V_need="4.75 V", I="100 mA", V_other="25 mV")
    assert prints_as(less_board.V_spare.item() * 1e3, "75")


@pytest.mark.parametrize(("load", "printed"), [("100 mA", "1"), ("400 mA", "0.25")])
def test_resistance_a_port_switch_may_have(load: str, printed: str) -> None:
    # Micrel MIC2529: 100 mV at 100 mA, alone and with four ports ganged.
    part = chain(V_src="4.85 V", V_need="4.75 V", I=load)
    assert prints_as(part.R_most.item(), printed)


def test_a_usb_2_conductor_may_drop_125_mv_at_500_ma() -> None:
    # Cable measurement, Šolc: 250 mΩ a conductor, 500 mΩ there and back.
    part = chain(R_wire="250 mΩ", R_return="250 mΩ", I="500 mA")
    assert part.R_cable.item() == pytest.approx(0.5)
    assert (part.V_src - part.V_conn).item() == pytest.approx(2 * 0.125)


def test_a_type_c_cable_at_its_limits_leaves_4_v_of_4_75_v() -> None:
    # Derived from USB Type-C 4.4.1 as quoted by Leung: 500 mV and 250 mV at 3 A.
    part = chain(V_src="4.75 V", I="3 A", R_wire=str(0.5 / 3), R_return=str(0.25 / 3))
    assert part.V_in.item() == pytest.approx(4.0, rel=1e-12)


def test_the_resistance_at_which_a_mosfet_is_no_better_than_the_diode() -> None:
    # Break-even I* = V_F / R_DS(on): with 0.36 V and 60 mΩ at 6 A both lose 2.16 W (derived).
    part = chain(V_F="360 mV", R_DS="60 mΩ", I="6 A")
    assert part.I_even.item() == pytest.approx(6.0)
    assert part.P_diode.item() == pytest.approx(part.P_MOSFET.item())
