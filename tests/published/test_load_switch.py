"""Switches for loads against data sheets; the energy of a coil against the textbook."""

from __future__ import annotations

import pytest

from phases.kit import judge
from phases.regulation.load_switch import LoadSwitch
from tests.published.printed import prints_as


def test_tps54540_conduction_and_switching_loss() -> None:
    # TI TPS54540 SLVSBX7 page 32, equations 49 and 50: 12 V, 5 A, 400 kHz, 92 mΩ, duty 3.3 / 12:
    # 633 mW; rise time 4.92 ns: 118 mW. Its equation takes one edge whole, ours two halves.
    conducting = {"V_S": "12 V", "I": "5 A", "R_on": "92 mΩ", "D": "27.5 %", "load": "resistive"}
    conducting["Q_G"] = "0 C"  # its edges are those of its own driver
    cold = LoadSwitch(conducting).P.item()
    assert cold * 1e3 == pytest.approx(633, rel=0.001)
    switching = LoadSwitch(conducting, f="400 kHz", t_sw="9.84 ns").P.item() - cold
    assert switching * 1e3 == pytest.approx(118, rel=0.004)


def test_a_switch_of_60_milliohm_at_1_a() -> None:
    # onsemi, Low-VCE(sat) training, slide 6: 60 mΩ and a Schottky diode of 360 mV at 1 A: 420 mW.
    loss = LoadSwitch(I="1 A", R_on="60 mΩ").P.item()
    assert prints_as((loss + 0.36) * 1e3, "420")


def test_the_energy_of_a_coil_and_what_its_clamp_takes() -> None:
    # Textbook, from memory: L I² / 2; into the clamp V_cl / (V_cl - V_S) times that.
    part = LoadSwitch(V_S="12 V", I="2 A", L="50 mH", flyback="clamp", V_cl="36 V")
    assert part.E_L.item() == pytest.approx(0.1)
    assert part.E_off.item() == pytest.approx(0.15)
    assert part.t_off.item() == pytest.approx(50e-3 * 2 / 24)


def test_an_ordinary_board_has_10_k_at_the_gate() -> None:
    # Common practice: straps and gates 10 kΩ to ground.
    assert judge(LoadSwitch()).picks["R_pd"] == "10 kΩ ± 5 %"
