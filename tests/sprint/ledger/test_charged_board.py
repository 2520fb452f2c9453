"""A board with a cell: charged from its port, stepped up, its current read. Who feeds whom, what is
proved, and what the bench is to measure."""

from __future__ import annotations

import pytest

from coach.bringup.planning import sheet_of
from coach.history.read_sprint import read_sprint
from coach.sprint.brief.loading import parse_brief
from coach.sprint.commands import Meet, SetFact
from coach.sprint.ledger.ledger import Ledger
from tests.sprint.conftest import Begin, Bench

LANTERN = """\
title = "Lantern with a cell"

[deadline]
minutes = 90

[board]
parts = 40
layers = 2
mcu_rail = "5v"

[facts]
supply = "usb-c"
battery_kind = "lithium-ion"
second_supply = true
charger = true

[[rail]]
id = "vbus"
voltage = "4.75 .. 5.25 V"
current = "500 mA"
facts = { regulator = "none" }

[[rail]]
id = "cell"
voltage = "3.0 / 3.7 / 4.2 V"
current = "1.5 A"
facts = { regulator = "none" }

[[rail]]
id = "5v"
parent = "cell"
voltage = "5 V ± 4 %"
current = "500 mA"
facts = { regulator = "step-up", sensed = true }

[[load]]
id = "lamp"
rail = "5v"
typical = "100 mA"
peak = "200 mA"
"""


@pytest.fixture
def lantern(begin: Begin) -> Bench:
    bench = begin(parse_brief(LANTERN, "lantern.toml"))
    bench.save("load-budget")
    bench.save("step-up", "5v")
    bench.save("charger", "vbus")
    bench.save("current-sense", "5v", V_REF="3.3 V ± 1 %")  # the rail's own 4 % are too much
    return bench


def owner(bench: Bench, name: str) -> str:
    found = Ledger(bench.state).lookup(name)
    assert found is not None
    return found.owner


def test_one_converter_gives_the_rail_its_voltage_and_a_fact_says_which(lantern: Bench) -> None:
    assert owner(lantern, "rail.5v.voltage") == "step-up@5v"
    lantern.save("step-down", "5v")
    assert owner(lantern, "rail.5v.voltage") == "step-up@5v"
    lantern.do(SetFact("regulator", "switching", "5v"))
    assert owner(lantern, "rail.5v.voltage") == "step-down@5v"


def test_the_cell_feeds_more_current_than_the_rail_takes(lantern: Bench) -> None:
    budget = lantern.state.calculations["load-budget"].record
    rows = {row.row: row for row in budget.outputs["peak"].rows}
    assert rows["5v"].typ == pytest.approx(0.2)
    assert rows["cell"].max == pytest.approx(0.2 * 5.2 / 0.85 / 3.0)
    fed = lantern.state.calculations["step-up@5v"].record.inputs
    assert (fed["V_in"].text, fed["I_out"].owner) == ("3.0 / 3.7 / 4.2 V", "load-budget")


def test_what_charges_counts_at_the_port_it_charges_from(lantern: Bench) -> None:
    assert owner(lantern, "rail.vbus.charge_current") == "charger@vbus"
    budget = lantern.state.calculations["load-budget"].record
    assert budget.inputs["I_charge"].owner == "charger@vbus"
    taken = lantern.state.calculations["charger@vbus"].record.published["rail.vbus.charge_current"]
    (source,) = (one for one in budget.limits if one.name == "source")
    assert source.value == pytest.approx(taken.high)
    # A charger set to more: the budget follows.
    lantern.save("charger", "vbus", how="part", I_want="600 mA", load="source")
    again = lantern.state.calculations["load-budget"].record
    assert [one.verdict for one in again.limits if one.name == "source"] == ["fail"]


PROVED = ("step-up-parts@5v", "step-up-ripple@5v", "current-reading@5v", "charger-set")


def test_each_proves_its_items_once_its_parts_are_drawn_and_its_figures_confirmed(
    lantern: Bench,
) -> None:
    lantern.draw_all()
    for key in PROVED:
        assert lantern.status(key) == "assumed", key
        while lantern.status(key) == "assumed":  # one key for each part
            lantern.session.do(Meet(key))
        assert lantern.status(key) == "met", key


def test_the_bench_measures_what_they_say(lantern: Bench) -> None:
    lantern.session.close()
    points = set(sheet_of(read_sprint(lantern.path)).by_id)
    assert points >= {
        "rail.5v.voltage",
        "rail.5v.ripple",
        "step-up@5v.V_off",
        "charger@vbus.I_BAT",
        "charger@vbus.V_full",
        "current-sense@5v.V_zero",
    }
