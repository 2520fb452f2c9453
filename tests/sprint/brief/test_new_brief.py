"""Seven questions of one key each make a brief that is whole, whatever was answered."""

from __future__ import annotations

from datetime import UTC, datetime
from itertools import product
from pathlib import Path

import pytest

from coach.sprint.brief.document import Brief
from coach.sprint.brief.loading import parse_brief
from coach.sprint.brief.new import QUESTIONS, answers_to_brief_text, checked_answer
from coach.sprint.clock import ManualClock
from coach.sprint.session import start_sprint
from phases.kit.cards import load_capability
from phases.kit.facts import Knowledge
from phases.kit.notation import read_quantity
from phases.kit.refusals import Refusal

START = datetime(2031, 5, 5, 9, 0, tzinfo=UTC)
BY_ID = {question.id: question for question in QUESTIONS}


def keys(question: str) -> list[str]:
    return [choice.key for choice in BY_ID[question].choices]


def made(**answers: str) -> Brief:
    return parse_brief(answers_to_brief_text(answers, "Lamp"), "new brief")


def interfaces(number: int) -> str:
    """The subset of the interfaces that the bits of `number` say."""
    return "".join(key for bit, key in enumerate(keys("interfaces")) if number >> bit & 1)


SUBSETS = 2 ** len(keys("interfaces"))


# ---- the questions ---------------------------------------------------------------------------


def test_the_clock_is_asked_first_and_the_last_enter_confirms() -> None:
    assert QUESTIONS[0].id == "deadline"
    assert [question.several for question in QUESTIONS] == [False] * 6 + [True]


def test_each_key_stands_for_one_choice_and_every_question_has_a_default() -> None:
    for question in QUESTIONS:
        choices = [choice.key for choice in question.choices]
        assert all(len(key) == 1 for key in choices)
        assert len(set(choices)) == len(choices)
        if choices and not question.several:
            assert question.default in choices


@pytest.mark.parametrize(
    ("deadline", "chosen"),
    [("90", "i"), ("120", "ui"), ("1536", "u"), ("15:36", ""), ("90", "ima")],
)
def test_a_brief_takes_eight_to_twelve_keys(deadline: str, chosen: str) -> None:
    enter = 1
    single = [question for question in QUESTIONS[1:] if not question.several]
    count = len(deadline) + enter + len(single) + len(chosen) + enter
    assert 8 <= count <= 12
    assert made(deadline=deadline, interfaces=chosen)


def test_enter_alone_takes_the_default_everywhere() -> None:
    brief = made()
    assert brief == made(**{question.id: "" for question in QUESTIONS})
    assert brief == made(**{question.id: question.default for question in QUESTIONS})
    assert brief.deadline.minutes == 120


# ---- every answer makes a brief --------------------------------------------------------------


def test_every_combination_of_single_answers_makes_a_brief() -> None:
    single = [question.id for question in QUESTIONS if question.choices and not question.several]
    for number, picked in enumerate(product(*map(keys, single))):
        answers = dict(zip(single, picked, strict=True))
        brief = made(**answers, interfaces=interfaces(number % SUBSETS))
        assert sound(brief), answers


@pytest.mark.parametrize("supply", ["u", "d"])
def test_every_set_of_interfaces_makes_a_brief(supply: str) -> None:
    for number in range(SUBSETS):
        assert sound(made(supply=supply, interfaces=interfaces(number))), interfaces(number)


def sound(brief: Brief) -> bool:
    """The microcontroller's rail is fed, no rail steps up, the fabricator can make the layers."""
    windows = {rail.id: read_quantity(rail.voltage, "V") for rail in brief.rails}
    capability = load_capability(brief.board.capability or "")
    return (
        windows[brief.board.mcu_rail].high < 6.0
        and all(windows[r.id].typ < windows[r.parent].typ for r in brief.rails if r.parent)
        and capability.layers == brief.board.layers
        and any(load.rail == brief.board.mcu_rail for load in brief.loads)
    )


# ---- what the answers say --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "minutes", "cut_off"),
    [
        ("90", 90, None),
        ("90 min", 90, None),
        ("1 h 30", 90, None),
        ("2 h", 120, None),
        ("15:36", None, "15:36"),
        ("1536", None, "15:36"),
        ("0036", None, "00:36"),
        ("2031-05-04 15:36", None, "2031-05-04 15:36"),
    ],
)
def test_the_deadline_is_a_time_left_or_a_cut_off(
    text: str, minutes: int | None, cut_off: str | None
) -> None:
    deadline = made(deadline=text).deadline
    assert (deadline.minutes, deadline.cut_off) == (minutes, cut_off)


@pytest.mark.parametrize("minutes", ["10", "45", "6000 min", "100 h"])
def test_the_reserve_leaves_time_to_draw(minutes: str) -> None:
    deadline = made(deadline=minutes).deadline
    assert deadline.minutes is not None
    assert deadline.reserve <= deadline.minutes / 5


def known(**answers: str) -> Knowledge:
    return Knowledge.of(made(**answers).knowledge_values())


def test_the_answers_are_known_as_facts_and_the_rest_is_left_open() -> None:
    facts = known(supply="u", programming="t", interfaces="ut", regulator="s")
    assert facts.get("supply") == "usb-c"
    assert facts.get("debug_kind") == "debug-20"
    assert facts.get("usb_data") is True
    assert facts.get("console") is True
    assert facts.get("radio") is False
    assert facts.get("regulator", "3v3") == "switching"
    assert facts.get("bus_kind", "uart1") == "uart"
    for unasked in ("hot_plug", "feeds_others", "strap_shared", "housing", "sleeps"):
        assert facts.get(unasked) is None


@pytest.mark.parametrize(
    ("key", "battery"), [("l", "lithium-ion"), ("c", "coin-cell"), ("a", "alkaline"), ("u", "none")]
)
def test_a_battery_is_known_by_its_kind_and_only_lithium_ion_may_be_charged(
    key: str, battery: str
) -> None:
    facts = known(supply=key)
    assert facts.get("battery_kind") == battery
    assert facts.get("charger") == (None if battery == "lithium-ion" else False)


def test_a_usb_port_beside_another_supply_is_a_second_source_of_its_own() -> None:
    brief = made(supply="d", interfaces="u")
    assert [rail.id for rail in brief.rails if rail.parent is None] == ["entry", "vbus"]
    assert brief.entry.id == "entry"
    assert known(supply="d", interfaces="u").get("second_supply") is True
    assert known(supply="u", interfaces="u").get("second_supply") is None


def test_without_a_regulator_the_microcontroller_hangs_on_the_entry() -> None:
    brief = made(regulator="n", supply="c")
    assert brief.board.mcu_rail == brief.entry.id
    assert len(brief.rails) == 1


def test_an_interface_may_be_dropped_with_all_that_belongs_to_it() -> None:
    brief = made(interfaces="cr")
    features = {feature.id: feature for feature in brief.features}
    assert set(features["can"].subjects) == {"can1", "j-can", "can-driver"}
    assert not features["can"].required
    assert features["runs"].required


def test_any_title_comes_through_as_it_was_typed() -> None:
    for title in ('a "quoted" \\ one', "[[rail]]", "grüße 10 µF", "#", "'''", "{x} = 1"):
        assert parse_brief(answers_to_brief_text({}, title), "new").title == title
    assert parse_brief(answers_to_brief_text({}, "a\n[x]\x1b[31m\x7f"), "new").title == "a [x]"
    assert parse_brief(answers_to_brief_text({}, "  "), "new").title == "New board"


# ---- what is refused -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("answers", "words"),
    [
        ({"supply": "x"}, "'x' is not one of the keys. One of: u d l c a h"),
        ({"supply": "ud"}, "'ud' is not one of the keys"),
        ({"interfaces": "uz"}, "'z' is not one of the keys"),
        ({"deadline": "soon"}, "cut-off"),
        ({"deadline": "9"}, "9 min is out of range for a sprint. Give 10 min to 100 h"),
        ({"deadline": "101 h"}, "101 h is out of range"),
        ({"deadline": "2561"}, "25:61"),
        ({"suply": "u"}, "Nearest: supply"),
    ],
)
def test_a_key_or_a_time_that_means_nothing_is_refused(answers: dict[str, str], words: str) -> None:
    with pytest.raises(Refusal) as caught:
        answers_to_brief_text(answers, "Lamp")
    assert words in str(caught.value)


def test_an_answer_counts_in_any_case_and_order_and_once() -> None:
    assert checked_answer("supply", " U ") == "u"
    assert checked_answer("interfaces", "m I uu") == "uim"


@pytest.mark.parametrize("supply", keys("supply"))
@pytest.mark.parametrize("programming", keys("programming"))
def test_every_connector_has_its_kind_and_only_usb_c_ones_have_cc_contacts(
    tmp_path: Path, supply: str, programming: str
) -> None:
    every = "".join(keys("interfaces"))
    for number, chosen in enumerate(("", every.replace("u", ""), every)):
        brief = made(supply=supply, programming=programming, interfaces=chosen)
        for connector in brief.connectors:
            assert connector.facts.get("connector_kind"), connector.id
        path = tmp_path / f"{number}.toml"
        with start_sprint(brief, path, ManualClock(START)) as session:
            state = session.state
        for row in state.rows:
            if row.item.id in ("cc-pull-downs", "cc-tolerance", "usb-allowance"):
                kind = state.knowledge.get("connector_kind", row.subject)
                assert kind == "usb-c" or row.applies is False, row.key
