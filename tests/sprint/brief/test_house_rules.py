"""House rules: read with the sentences of every document, joined to their phases, added to."""

from __future__ import annotations

import os
from datetime import UTC, datetime
from pathlib import Path

import pytest
from filelock import FileLock

from coach.history.read_sprint import read_sprint
from coach.sprint import house_making
from coach.sprint.brief.document import Brief
from coach.sprint.brief.house_rules import (
    HouseRules,
    checked_house_rules,
    house_file,
    house_rules,
)
from coach.sprint.brief.loading import load_brief
from coach.sprint.clock import ManualClock
from coach.sprint.commands import End, EnterPhase, Meet, NoteFinding
from coach.sprint.fold import begin
from coach.sprint.gates.gates import gate_rows
from coach.sprint.gates.walks import walk_of_phase, walk_of_stage
from coach.sprint.house_making import (
    defaults_of,
    make_item,
    statement_offered,
)
from coach.sprint.session import Session, start_sprint
from coach.sprint.setup import header_of, setup_from, setup_of
from coach.sprint.state import State
from phases.kit.items import Item, load_phases
from phases.kit.refusals import Refusal
from phases.kit.shared_data import shared_dir
from tests.sprint.brief.written_rule import rule

NOW = datetime(2031, 5, 5, 9, 0, tzinfo=UTC)
BRIEF = "usb-bench-meter"


@pytest.fixture
def brief() -> Brief:
    return load_brief(BRIEF)


@pytest.fixture
def rules(tmp_path: Path) -> Path:
    """Where this person's house rules go; nothing stands there yet."""
    path = house_file(tmp_path)
    path.parent.mkdir()
    return path


def found(tmp_path: Path, brief: Brief, name: str | Path = BRIEF) -> HouseRules:
    return house_rules(name, tmp_path)


def state_with(brief: Brief, house: HouseRules) -> State:
    return begin(setup_of(brief, NOW, house=house.items))


# ---- reading ---------------------------------------------------------------------------------


def test_without_a_file_there_are_none_and_nothing_is_said(tmp_path: Path, brief: Brief) -> None:
    house = found(tmp_path, brief)
    assert house == HouseRules()
    assert (house.message, house.status_line) == ("", ("", "plain"))


def test_a_rule_joins_its_phase_after_the_phases_own_items(
    tmp_path: Path, brief: Brief, rules: Path
) -> None:
    rules.write_text(rule(), encoding="utf-8")
    house = found(tmp_path, brief)
    setup = setup_of(brief, NOW, house=house.items)
    for own, phase in zip(load_phases(), setup.phases, strict=True):
        ids = [item.id for item in phase.items]
        added = ["house-lamp"] if phase.id == "regulation" else []
        assert ids == [*(item.id for item in own.items), *added]
    assert house.message == f"1 house rule from {rules}"
    assert house.status_line == ("1 house rule from briefs/house-rules.toml.", "plain")


def test_the_phases_of_the_project_stay_as_they_are(
    tmp_path: Path, brief: Brief, rules: Path
) -> None:
    rules.write_text(rule(), encoding="utf-8")
    setup_of(brief, NOW, house=found(tmp_path, brief).items)
    assert all(item.id != "house-lamp" for phase in load_phases() for item in phase.items)


def test_the_header_embeds_it_so_that_the_journal_needs_no_file(
    tmp_path: Path, brief: Brief, rules: Path
) -> None:
    rules.write_text(rule(), encoding="utf-8")
    house = found(tmp_path, brief)
    path = tmp_path / "j.toml"
    with start_sprint(brief, path, ManualClock(NOW), house=house.items) as session:
        session.do(EnterPhase("regulation"))
        session.do(Meet("house-lamp"))
        state = session.state
    rules.unlink()
    read = read_sprint(path)
    assert read.faults == ()
    assert read.state == state
    assert read.state.by_key["house-lamp"].closed
    assert setup_from(header_of(read.setup), where="j") == read.setup


def test_an_essential_rule_is_asked_in_the_walk_of_its_place(
    tmp_path: Path, brief: Brief, rules: Path
) -> None:
    rules.write_text(rule(), encoding="utf-8")
    state = state_with(brief, found(tmp_path, brief))
    assert "house-lamp" in [row.key for row in walk_of_stage(state, "schematic")]


def test_it_may_be_an_essential(tmp_path: Path, brief: Brief, rules: Path) -> None:
    rules.write_text(rule(more="essential = true", severity="degraded"), encoding="utf-8")
    state = state_with(brief, found(tmp_path, brief))
    assert gate_rows(state, "regulation")[-1].item.id == "house-lamp"


def test_a_brief_in_a_folder_of_its_own_brings_the_rules_there_too(
    tmp_path: Path, brief: Brief, rules: Path
) -> None:
    rules.write_text(rule("house-mine"), encoding="utf-8")
    own = tmp_path / "boards"
    own.mkdir()
    beside = own / "board.toml"
    beside.write_text(
        (shared_dir() / "briefs" / f"{BRIEF}.toml").read_text(encoding="utf-8"), encoding="utf-8"
    )
    (own / rules.name).write_text(rule("house-teams"), encoding="utf-8")
    house = found(tmp_path, brief, beside)
    assert [item.id for item in house.items] == ["house-mine", "house-teams"]
    assert house.message == f"1 house rule from {rules} and 1 house rule from {own / rules.name}"
    assert [item.id for item in found(tmp_path, brief).items] == ["house-mine"]


def test_a_brief_in_the_persons_own_folder_brings_them_once(
    tmp_path: Path, brief: Brief, rules: Path
) -> None:
    rules.write_text(rule(), encoding="utf-8")
    house = found(tmp_path, brief, rules.parent / "board.toml")
    assert house.files == ((rules, 1),)


def test_the_same_id_in_two_files_counts_once_and_is_said(
    tmp_path: Path, brief: Brief, rules: Path
) -> None:
    rules.write_text(rule(), encoding="utf-8")
    own = tmp_path / "boards"
    own.mkdir()
    (own / rules.name).write_text(rule(phase="layout"), encoding="utf-8")
    house = found(tmp_path, brief, own / "board.toml")
    assert [item.phase for item in house.items] == ["regulation"]
    assert house.faults == (
        f"Left out of the house rules: {own / rules.name}: "
        "The item 'house-lamp' is in another file too.",
    )


# ---- faults ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (
            rule(severity="ded board"),
            "line 7, item[1].severity: There is no choice 'ded board'. Nearest: dead board",
        ),
        (
            rule(phase="regulations"),
            "line 4, item[1].phase: There is no phase 'regulations'. Nearest: regulation",
        ),
        (
            rule("source-maximum"),
            "line 3, item[1].id: 'source-maximum' is an item of the coach "
            "already. Name it as in house-source-maximum",
        ),
        (
            rule().replace("reopened_by = []", 'reopened_by = ["fact:moon"]'),
            "item[1]: There is no fact 'moon'",
        ),
        (
            rule().replace(
                'met_by = ["inspected"]', 'met_by = ["calculated"]\ncites = ["strap:x"]'
            ),
            "item[1].cites: There is no limit of strap 'x'",
        ),
        (rule().replace("per = ", "pr = "), "There is no key 'pr'. Nearest: per"),
        (rule().replace("left_out_min = 12", "left_out_min = 90"), "allowed: 60.0 or less"),
        (rule() + rule(), "item[2].id: The item 'house-lamp' appears twice"),
        ("item = 3\n", "expected a list"),
        ("[[item]\n", "line 1: Not valid TOML"),
    ],
)
def test_a_fault_is_said_by_file_line_and_key(rules: Path, text: str, says: str) -> None:
    rules.write_text(text, encoding="utf-8")
    with pytest.raises(Refusal) as refused:
        checked_house_rules(rules)
    assert str(refused.value).startswith(str(rules))
    assert says in str(refused.value)


def test_a_faulty_file_stops_no_sprint_what_is_whole_counts_and_the_rest_is_said(
    tmp_path: Path, brief: Brief, rules: Path
) -> None:
    rules.write_text(
        rule() + rule("house-two", severity="ded board") + rule("house-three"), encoding="utf-8"
    )
    house = found(tmp_path, brief)
    assert [item.id for item in house.items] == ["house-lamp", "house-three"]
    said, role = house.status_line
    assert said.startswith(f"Left out of the house rules: {rules}, line 22, item[2].severity: ")
    assert said.endswith(" 2 house rules from briefs/house-rules.toml.")
    assert role == "due"
    with start_sprint(brief, tmp_path / "j.toml", ManualClock(NOW), house=house.items) as session:
        assert "house-three" in session.state.by_key


@pytest.mark.parametrize("text", ["[[item]\n", "\x00\xff", "a" * 1_100_000, "[rule]\nx = 1\n"])
def test_a_file_of_which_nothing_can_be_read_is_left_out_in_a_sentence(
    tmp_path: Path, brief: Brief, rules: Path, text: str
) -> None:
    rules.write_bytes(text.encode("latin-1"))
    house = found(tmp_path, brief)
    assert house.items == ()
    assert len(house.faults) == 1
    assert house.faults[0].startswith(f"Without house rules: {rules}")


def test_a_folder_or_a_broken_link_in_its_place_is_a_sentence_too(
    tmp_path: Path, brief: Brief, rules: Path
) -> None:
    rules.symlink_to(tmp_path / "nowhere")
    assert "There is no house rules file here" in found(tmp_path, brief).faults[0]
    rules.unlink()
    rules.mkdir()
    assert "This is a folder" in found(tmp_path, brief).faults[0]


def test_an_empty_file_and_one_of_comments_hold_no_rule_and_no_fault(
    tmp_path: Path, brief: Brief, rules: Path
) -> None:
    for text in ("", "\n", "# later\n"):
        rules.write_text(text, encoding="utf-8")
        assert found(tmp_path, brief).faults == ()


def test_what_was_typed_into_a_rule_cannot_reach_the_terminal(
    tmp_path: Path, brief: Brief, rules: Path
) -> None:
    text = rule().replace("The lamp stays dark", "The \\u001b[31mlamp stays dark")
    rules.write_text(text, encoding="utf-8")
    assert found(tmp_path, brief).items[0].why == "The lamp stays dark on the first board"


# ---- the gate --------------------------------------------------------------------------------


@pytest.mark.parametrize("severity", ["hazard", "dead board"])
def test_a_hazard_or_a_dead_board_is_an_essential_whatever_its_table_says(
    tmp_path: Path, brief: Brief, rules: Path, severity: str
) -> None:
    two = rule("house-two", severity=severity, more="essential = false")
    three = rule("house-three", severity="degraded")
    rules.write_text(rule(severity=severity) + two + three, encoding="utf-8")
    house = found(tmp_path, brief)
    essentials = {item.id: item.essential for item in house.items}
    assert essentials == {"house-lamp": True, "house-two": True, "house-three": False}
    at_gate = [gate.item.id for gate in gate_rows(state_with(brief, house), "regulation")]
    assert at_gate[-2:] == ["house-lamp", "house-two"]


def test_its_source_always_says_that_it_is_a_house_rule(
    tmp_path: Path, brief: Brief, rules: Path
) -> None:
    rules.write_text(rule(), encoding="utf-8")
    assert found(tmp_path, brief).items[0].source == "house rule: our own bench"


# ---- a finding becomes an item ---------------------------------------------------------------


@pytest.fixture
def ended(tmp_path: Path, brief: Brief) -> Path:
    """A sprint that has ended, with two late findings."""
    path = tmp_path / "j.toml"
    with start_sprint(brief, path, ManualClock(NOW)) as session:
        session.do(End(accepted=False))
        session.do(NoteFinding("R5 is 10 kΩ, not 1 kΩ", "source-maximum", "2", "25", "1 kΩ on top"))
        session.do(NoteFinding("The lamp is upside down", "", "", "3 h"))
    return path


def afterwards(path: Path) -> Session:
    return Session.afterwards(path, ManualClock(NOW))


STATEMENT = "R5 is one kiloohm"


def made(path: Path, rules: Path, number: int = 1, essential: bool = False, **given: str) -> Item:
    given = {"statement": STATEMENT, **given}
    with afterwards(path) as session:
        return make_item(session, number, rules, given, essential=essential)[0]


def test_a_finding_becomes_an_item_with_what_is_known_of_it(ended: Path, rules: Path) -> None:
    item = made(ended, rules)
    assert (item.id, item.statement) == ("r5-is-one-kiloohm", STATEMENT)
    assert item.why == (
        "It got through once: R5 is 10 kΩ, not 1 kΩ, board 2, 25 min lost, bodge: 1 kΩ on top"
    )
    assert (item.phase, item.severity, item.stage, item.per) == (
        "power-entry",
        "dead board",
        "schematic",
        "board",
    )
    assert (item.confirm_s, item.met_by) == (6.0, ("inspected",))
    good_at_design = state_with(load_brief(BRIEF), HouseRules()).by_key["source-maximum"].item
    assert item.left_out_min == good_at_design.left_out_min < 25.0, "not what it cost at the bench"
    assert item.source == "house rule, finding 1 of USB bench meter, 2031-05-05"
    assert checked_house_rules(rules) == (item,)
    made_item = read_sprint(ended).state.made_items[1]
    assert (made_item.item, made_item.kept_in) == (item.id, str(rules))


def test_the_next_sprint_asks_it(tmp_path: Path, ended: Path, rules: Path, brief: Brief) -> None:
    item = made(ended, rules)
    state = state_with(brief, found(tmp_path, brief))
    assert state.by_key[item.id].item == item.model_copy(update={"essential": True})
    assert item.id in [row.key for row in walk_of_stage(state, "schematic")]


def test_the_next_sprint_asks_it_in_the_walk_of_its_phase(
    tmp_path: Path, ended: Path, rules: Path, brief: Brief
) -> None:
    item = made(ended, rules, 2, phase="power-entry", severity="hazard")
    assert "essential =" not in rules.read_text(encoding="utf-8").partition("[[item]]")[2]
    house = found(tmp_path, brief)
    path = tmp_path / "next.toml"
    with start_sprint(brief, path, ManualClock(NOW), house=house.items) as session:
        session.do(EnterPhase("power-entry"))
        assert item.id in [row.key for row in walk_of_phase(session.state, "power-entry")]
    assert item.id in [row.key for row in walk_of_phase(read_sprint(path).state, "power-entry")]


def test_it_is_said_where_it_will_be_asked(ended: Path, rules: Path, brief: Brief) -> None:
    def says(number: int, **given: str) -> str:
        with afterwards(ended) as session:
            session.do(NoteFinding("Too thin", ""))
            said = {"statement": STATEMENT, "phase": "regulation", **given}
            return make_item(session, number, rules, said)[1]

    assert says(1, severity="dead board").endswith(", an essential of regulation")
    assert says(2, severity="degraded").endswith(", among the more checks of regulation")


def test_without_a_statement_none_is_made_up(ended: Path, rules: Path) -> None:
    with pytest.raises(Refusal, match="needs its statement: what must be true on every board"):
        made(ended, rules, statement=" ")
    assert not rules.exists()


def test_a_statement_is_offered_that_yes_confirms(ended: Path, rules: Path) -> None:
    finding = read_sprint(ended).state.findings[2]
    statement = statement_offered(finding)
    assert statement == "Checked, and not so here: The lamp is upside down"
    item = made(ended, rules, 2, statement=statement, phase="labelling")
    assert item.id == "lamp-is-upside-down", "the OPEN line names what to look for"


def test_what_is_said_of_it_goes_before_what_is_proposed(ended: Path, rules: Path) -> None:
    item = made(
        ended,
        rules,
        2,
        essential=True,
        phase="labelling",
        severity="degraded",
        stage="placement",
        id="house-lamp",
        statement="The lamp points up on every board",
        why="It cannot be seen",
    )
    assert (item.id, item.phase, item.severity, item.stage, item.essential) == (
        "house-lamp",
        "labelling",
        "degraded",
        "placement",
        True,
    )
    assert (item.statement, item.why) == ("The lamp points up on every board", "It cannot be seen")
    assert item.left_out_min == 5.0, "three hours at the bench are minutes at the drawing"


def test_without_an_item_that_let_it_through_the_phase_must_be_said(
    ended: Path, rules: Path
) -> None:
    with pytest.raises(Refusal, match=r"so its phase is not known\. Name the phase, one of power"):
        made(ended, rules, 2)
    assert not rules.exists()


def test_the_file_says_at_its_top_what_it_is_and_is_never_rewritten(
    ended: Path, rules: Path
) -> None:
    made(ended, rules)
    first = rules.read_text(encoding="utf-8")
    assert first.startswith("# House rules: items of your own")
    rules.write_text(first + "# our lamp\n" + rule()[:-1], encoding="utf-8")
    before = rules.read_bytes()
    made(ended, rules, 2, phase="layout")
    assert rules.read_bytes().startswith(before + b"\n")
    assert len(checked_house_rules(rules)) == 3


@pytest.mark.parametrize("ends", ["\n", "\r\n"])
def test_line_ends_stay_as_the_file_has_them(ended: Path, rules: Path, ends: str) -> None:
    rules.write_bytes(rule().replace("\n", ends).encode())
    made(ended, rules)
    data = rules.read_bytes()
    assert data.count(b"\r\n") == (data.count(b"\n") if ends == "\r\n" else 0)


def test_a_file_with_a_fault_is_not_added_to(ended: Path, rules: Path) -> None:
    rules.write_text(rule(severity="ded board"), encoding="utf-8")
    before = rules.read_bytes()
    with pytest.raises(Refusal, match=r"line 7, item\[1\].severity"):
        made(ended, rules)
    assert rules.read_bytes() == before
    assert read_sprint(ended).state.made_items == {}


def test_a_file_whose_items_are_written_inline_is_refused_not_damaged(
    ended: Path, rules: Path
) -> None:
    rules.write_text("item = []\n", encoding="utf-8")
    with pytest.raises(Refusal, match=r"Write its items as \[\[item\]\] tables"):
        made(ended, rules)
    assert rules.read_text(encoding="utf-8") == "item = []\n"


def test_a_finding_is_made_an_item_once(ended: Path, rules: Path) -> None:
    name = made(ended, rules).id
    with pytest.raises(Refusal, match=f"Finding 1 is item {name} already"):
        made(ended, rules)
    with pytest.raises(Refusal, match="There is no finding 7"):
        made(ended, rules, 7)


def test_two_findings_of_the_same_words_get_two_ids(ended: Path, rules: Path) -> None:
    with afterwards(ended) as session:
        session.do(NoteFinding("R5 is 10 kΩ, not 1 kΩ", "source-maximum"))
    assert made(ended, rules).id != made(ended, rules, 3).id


@pytest.mark.parametrize(
    "fault", ["Ω", "日本語の基板", "]]", 'x" \n[[item]]', "[b]dark[/b]", "a" * 300, "house"]
)
def test_whatever_a_fault_says_the_file_stays_whole(ended: Path, rules: Path, fault: str) -> None:
    with afterwards(ended) as session:
        session.do(NoteFinding(fault, "source-maximum"))
    finding = read_sprint(ended).state.findings[3]
    item = made(ended, rules, 3, statement=statement_offered(finding))
    assert checked_house_rules(rules) == (item,)
    assert len(item.statement) <= 90 and len(item.id) <= 40


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"severity": "ded board"}, "There is no severity 'ded board'. Nearest: dead board"),
        ({"phase": "layouts"}, "There is no phase 'layouts'. Nearest: layout"),
        ({"stage": "moon"}, "There is no stage 'moon'"),
        (
            {"statement": "short"},
            "house rule, statement: Found the text 'short'; allowed: at least 10",
        ),
        ({"id": "House Lamp"}, "Write it as house-lamp"),
        ({"id": "source-maximum"}, "There is an item 'source-maximum' already"),
    ],
)
def test_what_cannot_be_an_item_is_refused_in_a_sentence(
    ended: Path, rules: Path, given: dict[str, str], says: str
) -> None:
    with pytest.raises(Refusal) as refused:
        made(ended, rules, **given)
    assert says in str(refused.value)
    assert not rules.exists()


def test_where_the_journal_cannot_be_written_the_file_is_as_before(
    ended: Path, rules: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    rules.write_text(rule(), encoding="utf-8")
    with afterwards(ended) as session:

        def full(*_: object, **__: object) -> None:
            raise Refusal("The journal could not be written: no space left on the device")

        monkeypatch.setattr(session.journal, "append", full)
        with pytest.raises(Refusal, match="no space left"):
            make_item(session, 1, rules, {"statement": STATEMENT})
    assert rules.read_text(encoding="utf-8") == rule()


def test_two_coaches_do_not_write_over_each_others_item(
    ended: Path, rules: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(house_making, "_PATIENCE", 0.0)
    with FileLock(f"{rules}.lock"), pytest.raises(Refusal, match="Another coach is adding"):
        made(ended, rules)
    assert not rules.exists()
    assert read_sprint(ended).state.made_items == {}
    item = made(ended, rules)
    assert checked_house_rules(rules) == (item,)


@pytest.mark.skipif(os.name == "nt", reason="links need a privilege there")
def test_a_linked_file_stays_a_link(ended: Path, rules: Path, tmp_path: Path) -> None:
    shared = tmp_path / "team.toml"
    shared.write_text(rule(), encoding="utf-8")
    rules.symlink_to(shared)
    made(ended, rules)
    assert rules.is_symlink()
    assert len(checked_house_rules(shared)) == 2


def test_the_defaults_follow_the_item_that_let_it_through(ended: Path) -> None:
    state = read_sprint(ended).state
    assert defaults_of(state, state.findings[1])["phase"] == "power-entry"
    assert defaults_of(state, state.findings[2])["phase"] == ""


def test_what_cannot_be_seen_on_the_sheet_is_asked_where_it_can(ended: Path) -> None:
    with afterwards(ended) as session:
        session.do(NoteFinding("A slot under the crystal", "ground-plane-whole"))
        state = session.state
    assert state.by_key["ground-plane-whole"].item.stage == "routing"
    assert defaults_of(state, state.findings[3])["stage"] == "routing"
