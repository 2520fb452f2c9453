"""Briefs to begin with: the bundled ones, a person's own; a new one never goes over another."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.sprint.brief.folder import brief_path, offers, title_of, write_brief
from coach.sprint.brief.loading import load_brief
from coach.sprint.brief.new import QUESTIONS, answers_to_brief_text
from coach.sprint.clock import SystemClock
from coach.sprint.session import start_sprint
from phases.kit.refusals import Refusal
from phases.kit.shared_data import list_shared


def test_every_bundled_brief_is_offered_by_the_name_that_loads_it(tmp_path: Path) -> None:
    found = offers(tmp_path)
    assert [offer.name for offer in found] == list(list_shared("briefs"))
    for offer in found:
        brief = load_brief(offer.name)
        assert (offer.title, offer.parts, offer.own) == (brief.title, brief.board.parts, False)


def test_own_briefs_are_found_beside_the_journals_and_journals_are_none(tmp_path: Path) -> None:
    text = answers_to_brief_text({"deadline": "15:36"}, "Kiln")
    written = write_brief(text, tmp_path, "Kiln")
    beside = tmp_path / "oven.toml"
    beside.write_text(answers_to_brief_text({}, "Oven"), encoding="utf-8")
    start_sprint(load_brief(beside), tmp_path / "journal.toml", SystemClock()).close()
    own = [offer for offer in offers(tmp_path) if offer.own]
    assert [(o.name, o.title, o.when) for o in own] == [
        (str(written), "Kiln", "cut-off 15:36"),
        (str(beside), "Oven", "2 h"),
    ]


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\xff\xfe",
        b"title = ",
        b"a = 1",
        b"deadline = 1\nboard = 2\nrail = 3",
        b"[deadline]\n[board]\n",
    ],
)
def test_a_file_that_is_no_brief_is_passed_over(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "x.toml").write_bytes(content)
    assert not [offer for offer in offers(tmp_path) if offer.own]


def test_a_folder_that_is_not_there_holds_no_brief(tmp_path: Path) -> None:
    assert all(not offer.own for offer in offers(tmp_path / "nowhere"))


def test_a_second_brief_of_the_same_title_gets_a_name_of_its_own(tmp_path: Path) -> None:
    first, second = (write_brief(text, tmp_path, "Kiln") for text in ("one", "two"))
    assert (first.name, second.name) == ("kiln.toml", "kiln-2.toml")
    assert first.read_text() == "one"
    assert brief_path(tmp_path, "Kiln").name == "kiln-3.toml"


def test_a_title_names_no_path_outside_the_folder(tmp_path: Path) -> None:
    assert write_brief("x", tmp_path, "../../[/] \x1b]0;x\x07").parent == tmp_path / "briefs"


def test_a_folder_that_cannot_be_made_is_refused_in_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(Refusal, match="The brief could not be written"):
        write_brief("x", tmp_path / "file", "Kiln")


def test_the_title_is_made_of_supply_and_interfaces() -> None:
    assert title_of({}) == "New board: USB-C"
    assert title_of({"supply": "l", "interfaces": "ic"}) == "New board: lithium-ion cell, I2C, CAN"
    every = "".join(choice.key for choice in QUESTIONS[-1].choices)
    assert title_of({"interfaces": every}) == "New board: USB-C, USB data, I2C and 6 more"
