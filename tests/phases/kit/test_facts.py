"""What is known is looked up at the subject, then at the board, and a question can be open."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phases.kit import facts as facts_module
from phases.kit.documents import parse_document
from phases.kit.facts import (
    Fact,
    FactValue,
    Knowledge,
    check_value,
    default_values,
    find_fact,
    load_facts,
    match,
    unknown_facts,
)
from phases.kit.refusals import Refusal

YES_NO = Fact(id="hot", per="board", kind="yes/no", question="Is it hot?")
CHOICE = Fact(id="kind", per="rail", kind="choice", choices=("a1", "b2"), question="Which?")
NUMBER = Fact(id="size", per="board", kind="number", unit="mm", question="How large?")

NAMES = ("a", "b", "c")
TABLES = st.lists(
    st.dictionaries(st.sampled_from(NAMES), st.booleans(), min_size=1), min_size=1, max_size=4
)
KNOWN = st.dictionaries(st.sampled_from(NAMES), st.booleans())


def board(**values: FactValue) -> Knowledge:
    return Knowledge({"": values})


def refusal_of(fact: Fact, value: object) -> Refusal:
    with pytest.raises(Refusal) as caught:
        check_value(fact, value)
    return caught.value


# ---- knowledge ---------------------------------------------------------------------------


def test_a_fact_is_looked_up_at_the_subject_before_the_board() -> None:
    known = Knowledge.of([("", "keyed", True), ("j1", "keyed", False)])
    assert known.get("keyed", "j1") is False
    assert known.get("keyed", "j2") is True
    assert known.get("keyed") is True


def test_a_fact_told_nowhere_is_not_known() -> None:
    assert Knowledge().get("radio") is None
    assert Knowledge.of([("j1", "keyed", True)]).get("keyed") is None


def test_no_at_the_subject_is_an_answer_and_not_a_gap() -> None:
    known = Knowledge.of([("", "keyed", True), ("j1", "keyed", False)])
    assert match([{"keyed": True}], known, "j1") is False


def test_setting_a_fact_leaves_the_knowledge_before_as_it_was() -> None:
    before = board(radio=False)
    after = before.with_value("radio", True).with_value("keyed", True, "j1")
    assert before.get("radio") is False
    assert before.get("keyed", "j1") is None
    assert after.get("radio") is True
    assert after.get("keyed", "j1") is True


def test_a_dropped_subject_takes_its_facts_with_it() -> None:
    known = Knowledge.of([("", "radio", True), ("j1", "keyed", True)])
    assert known.without_subject("j1") == board(radio=True)


def test_a_later_entry_replaces_an_earlier_one() -> None:
    assert Knowledge.of([("", "radio", True), ("", "radio", False)]) == board(radio=False)


def test_knowledge_can_be_told_entry_by_entry_and_built_again() -> None:
    entries = [("", "radio", True), ("3v3", "regulator", "linear"), ("", "layers", 4.0)]
    known = Knowledge.of(entries)
    assert sorted(known) == sorted(entries)
    assert Knowledge.of(known) == known


# ---- three answers -----------------------------------------------------------------------


def test_no_tables_hold_always() -> None:
    assert match([], Knowledge()) is True


@pytest.mark.parametrize(
    ("known", "answer"),
    [
        (board(), None),
        (board(supply="usb-c"), None),
        (board(supply="usb-c", usb_data=True), True),
        (board(supply="usb-c", usb_data=False), False),
        (board(supply="battery"), False),
        (board(usb_data=False), False),
    ],
)
def test_a_table_holds_when_all_its_keys_agree_and_fails_at_the_first_that_differs(
    known: Knowledge, answer: bool | None
) -> None:
    assert match([{"supply": "usb-c", "usb_data": True}], known) is answer


def test_one_table_that_holds_is_enough_whatever_the_others_miss() -> None:
    assert match([{"radio": True}, {"usb_data": True}], board(usb_data=True)) is True


def test_while_one_table_is_open_the_answer_is_open() -> None:
    assert match([{"radio": True}, {"usb_data": True}], board(usb_data=False)) is None


def test_yes_is_not_the_number_one() -> None:
    assert match([{"layers": 1}], board(layers=True)) is False
    assert match([{"radio": True}], board(radio=1.0)) is False
    assert match([{"layers": 4}], board(layers=4.0)) is True


@given(TABLES, KNOWN)
def test_an_answer_once_given_stays_whatever_is_learnt_later(
    when: list[dict[str, FactValue]], known: dict[str, FactValue]
) -> None:
    answer = match(when, board(**known))
    if answer is None:
        return
    missing = [name for name in NAMES if name not in known]
    for values in itertools.product([True, False], repeat=len(missing)):
        assert match(when, board(**known, **dict(zip(missing, values, strict=True)))) is answer


@given(TABLES, KNOWN)
def test_unknown_facts_are_named_exactly_while_the_answer_is_open(
    when: list[dict[str, FactValue]], known: dict[str, FactValue]
) -> None:
    missing = unknown_facts(when, board(**known))
    assert bool(missing) is (match(when, board(**known)) is None)
    assert not set(missing) & set(known)


@given(TABLES, KNOWN)
def test_asking_for_the_unknown_facts_always_comes_to_an_end(
    when: list[dict[str, FactValue]], known: dict[str, FactValue]
) -> None:
    knowledge = board(**known)
    for _ in NAMES:
        for fact in unknown_facts(when, knowledge)[:1]:
            knowledge = knowledge.with_value(fact, True)
    assert match(when, knowledge) is not None


# ---- values ------------------------------------------------------------------------------


def test_values_of_the_right_kind_are_taken() -> None:
    assert check_value(YES_NO, False) is False
    assert check_value(CHOICE, "b2") == "b2"
    assert check_value(NUMBER, 4) == 4.0
    assert isinstance(check_value(NUMBER, 4), float)


@pytest.mark.parametrize(
    ("fact", "value"),
    [
        (YES_NO, "yes"),
        (YES_NO, 1),
        (YES_NO, None),
        (CHOICE, "c3"),
        (CHOICE, True),
        (CHOICE, ["a1"]),
        (NUMBER, "4"),
        (NUMBER, True),
        (NUMBER, float("nan")),
        (NUMBER, float("inf")),
        (NUMBER, 10**400),
    ],
)
def test_values_of_another_kind_are_refused_with_the_fact_and_a_cure(
    fact: Fact, value: object
) -> None:
    refusal = refusal_of(fact, value)
    assert refusal.where == fact.id
    assert refusal.what and refusal.do


def test_a_misspelt_choice_is_told_the_nearest() -> None:
    assert refusal_of(find_fact("supply"), "usbc").do == "Nearest: usb-c"


def test_a_refused_value_is_shown_short_and_without_control_characters() -> None:
    text = str(refusal_of(CHOICE, "\x1b[31mred" * 200))
    assert "\x1b" not in text
    assert len(text) < 200


def test_an_unknown_fact_is_told_the_nearest() -> None:
    with pytest.raises(Refusal, match="Nearest: second_supply"):
        find_fact("second-suply")


# ---- declarations ------------------------------------------------------------------------

GOOD = '[[fact]]\nid = "hot"\nper = "board"\nquestion = "Is it hot?"\n'


@pytest.mark.parametrize(
    ("more", "fault"),
    [
        ('kind = "choice"', "Two or more choices"),
        ('kind = "choice"\nchoices = ["one"]', "Two or more choices"),
        ('kind = "choice"\nchoices = ["one", "one"]', "twice"),
        ('kind = "yes/no"\nchoices = ["yes", "no"]', "Two or more choices"),
        ('kind = "yes/no"\nunit = "mm"', "A unit belongs"),
        ('kind = "yes/no"\ndefault = "no"', "neither yes nor no"),
        ('kind = "perhaps"', "perhaps"),
    ],
)
def test_a_fact_declared_wrongly_is_refused(more: str, fault: str) -> None:
    with pytest.raises(Refusal, match=fault):
        parse_document(GOOD + more, facts_module._FactsFile, kind="facts file", where="facts.toml")


def test_a_fact_declared_twice_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "facts.toml"
    path.write_text((GOOD + 'kind = "yes/no"\n') * 2)
    monkeypatch.setattr(facts_module, "FACTS_FILE", path)
    with pytest.raises(Refusal, match="appears twice"):
        load_facts.__wrapped__()


def test_the_safe_assumptions_are_entries_at_the_board_that_a_brief_replaces() -> None:
    assumed = list(default_values())
    assert assumed and all(subject == "" for subject, _, _ in assumed)
    told = Knowledge.of([*assumed, ("", "cc_in_part", True)])
    assert Knowledge.of(assumed).get("cc_in_part", "j1") is False
    assert told.get("cc_in_part", "j1") is True
