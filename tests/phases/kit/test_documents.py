"""A document that is read is whole, and every fault in one is said with file, line and key."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Annotated, Literal

import pytest
from pydantic import BaseModel, ConfigDict, Field, StrictBool, StrictInt

from phases.kit import documents
from phases.kit.document_lines import line_numbers
from phases.kit.documents import RefusedError, checked, parse_document, read_document, validate
from phases.kit.refusals import Refusal
from phases.kit.text import Line, Text


def _refuse_mains(value: str) -> None:
    if value == "mains":
        raise Refusal("The coach refuses mains", do="Take a supply of low voltage")


class Rail(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")
    id: Line
    voltage: Annotated[Line, checked(_refuse_mains)]
    kind: Literal["linear", "switching"] = "linear"
    facts: dict[str, bool | str | float] = {}


class Sheet(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")
    title: Line
    note: Text = ""
    count: Annotated[StrictInt, Field(ge=1, le=9)] = 1
    wired: StrictBool = True
    rail: tuple[Rail, ...] = ()


GOOD = """\
# a sheet
title = "Lamp"   # with a comment
note = '''
title = "not this one"
[rail]
'''

[[rail]]
id = "a"
voltage = "5 V"

[[rail]]
id = "b"
voltage = "3.3 V"
[rail.facts]
fixed = true
"""


def refusal_of(text: str) -> Refusal:
    with pytest.raises(Refusal) as caught:
        parse_document(text, Sheet, kind="sheet", where="lamp.toml")
    return caught.value


def test_a_good_document_becomes_its_model(tmp_path: Path) -> None:
    path = tmp_path / "lamp.toml"
    path.write_text(GOOD, encoding="utf-8")
    sheet = read_document(path, Sheet, kind="sheet")
    assert [rail.id for rail in sheet.rail] == ["a", "b"]
    assert sheet.rail[1].facts == {"fixed": True}


def test_a_byte_order_mark_and_windows_line_ends_are_no_fault(tmp_path: Path) -> None:
    path = tmp_path / "lamp.toml"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    assert read_document(path, Sheet, kind="sheet").title == "Lamp"


def test_texts_come_out_without_control_characters() -> None:
    text = 'title = "a\\u001b[31mb\\u202ec"\nnote = "x\\u0000y"'
    sheet = parse_document(text, Sheet, kind="sheet", where="lamp.toml")
    assert (sheet.title, sheet.note) == ("abc", "xy")


@pytest.mark.parametrize(
    ("changed", "where", "said"),
    [
        (('voltage = "3.3 V"', "voltage = 3.3"), "line 14, rail[2].voltage", "a text in quotes"),
        (('voltage = "3.3 V"', 'volage = "3.3 V"'), "line 14, rail[2].volage", "Nearest: voltage"),
        (('voltage = "3.3 V"', 'voltage = "mains"'), "line 14, rail[2].voltage", "refuses mains"),
        (('id = "b"', 'id = "b"\nkind = "linar"'), "line 14, rail[2].kind", "Nearest: linear"),
        (('id = "b"', 'id = "b"\nkind = 3'), "line 14, rail[2].kind", "one of linear, switching"),
        (('"Lamp"   #', '"Lamp"\ncount = 12 #'), "line 3, count", "9 or less"),
        (('"Lamp"   #', '"Lamp"\ncount = "2" #'), "line 3, count", "a whole number"),
        (('"Lamp"   #', '"Lamp"\nwired = 1 #'), "line 3, wired", "true or false"),
        (('"Lamp"   #', '"Lamp"\nwird = true #'), "line 3, wird", "Nearest: wired"),
        (('"Lamp"   #', f'"{"a" * 401}" #'), "line 2, title", "at most 400 characters"),
        (('title = "Lamp"', 'x = "Lamp"'), "title", "missing"),
        (("fixed = true", "fixed = [1]"), "line 16, rail[2].facts.fixed", "a list"),
    ],
)
def test_a_fault_names_line_key_and_cure(changed: tuple[str, str], where: str, said: str) -> None:
    text = GOOD.replace(*changed)
    assert text != GOOD
    refusal = refusal_of(text)
    assert refusal.where.startswith("lamp.toml")
    assert where in refusal.where
    assert said in f"{refusal.what}. {refusal.do}"


def test_several_faults_are_said_first_and_counted() -> None:
    text = GOOD.replace('voltage = "5 V"', "voltage = 5").replace('"b"', "7") + "x = {}\n"
    refusal = refusal_of(text)
    assert "line 10, rail[1].voltage" in refusal.where
    assert refusal.do.endswith("And 2 more faults")


def test_a_fault_in_a_union_counts_once() -> None:
    assert "more" not in refusal_of(GOOD.replace("fixed = true", "fixed = {}")).do


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('title = "Lamp"\ncount = \n', "line 2"),
        ('title = "Lamp\n', "line 1"),
        ("title\n", "line 1"),
        ('title = "a"\ntitle = "b"\n', "key appears twice"),
        ('title = "a"\n[b]\n[b]\n', "table appears twice"),
        ('title = "a"\ncount = ' + "[" * 100_000, "nested too deeply"),
        ("count = " + "9" * 5000, "out of range"),
        ("count = 2031-02-31", "Not valid TOML"),
        ('title = "a\x00b"', "line 1"),
        ("", "empty"),
        ("  \n\n", "empty"),
        ("# only a comment\n", "title"),
    ],
)
def test_text_that_is_no_toml_gets_one_sentence(text: str, said: str) -> None:
    refusal = refusal_of(text)
    assert said in str(refusal)
    assert "\n" not in str(refusal)
    assert len(str(refusal)) < 250


def test_what_is_no_readable_file_gets_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def said(path: Path) -> str:
        with pytest.raises(Refusal) as caught:
            read_document(path, Sheet, kind="sheet")
        return str(caught.value)

    assert "no sheet" in said(tmp_path / "missing.toml")
    assert "folder" in said(tmp_path)
    assert "not valid" in said(Path("a\x00b"))
    assert "too long" in said(tmp_path / ("a" * 5000))
    (tmp_path / "empty.toml").touch()
    assert "empty" in said(tmp_path / "empty.toml")
    (tmp_path / "latin.toml").write_bytes('title = "Größe"'.encode("latin-1"))
    assert "UTF-8" in said(tmp_path / "latin.toml")
    os.mkfifo(tmp_path / "pipe.toml")
    assert "pipe" in said(tmp_path / "pipe.toml")
    with (tmp_path / "huge.toml").open("wb") as huge:
        huge.truncate(50_000_000)
    assert "50.0 MB" in said(tmp_path / "huge.toml")

    def forbidden(path: Path) -> bytes:
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(documents.Path, "read_bytes", forbidden)
    assert "may not be read" in said(tmp_path / "latin.toml")


def test_an_escape_sequence_in_a_file_name_does_not_reach_the_sentence() -> None:
    with pytest.raises(Refusal) as caught:
        read_document(Path("\x1b]0;title\x07gone.toml"), Sheet, kind="sheet")
    assert "\x1b" not in str(caught.value)


def test_plain_data_is_validated_with_the_same_sentences() -> None:
    with pytest.raises(Refusal) as caught:
        validate({"title": "a", "rail": [{"id": "x"}]}, Sheet, where="journal header")
    assert str(caught.value) == "journal header, rail[1].voltage: The key 'voltage' is missing."


def test_a_refusal_inside_a_model_keeps_what_to_do() -> None:
    refusal = refusal_of(GOOD.replace('"5 V"', '"mains"'))
    assert (refusal.what, refusal.do) == ("The coach refuses mains", "Take a supply of low voltage")
    assert isinstance(RefusedError(refusal), ValueError)


def test_lines_are_found_behind_long_texts_and_lists() -> None:
    text = (
        'a = """\nb = 1\n[c]\n"""\nd = [\n  1, # ]\n  "x = [",\n]\n'
        '"e f".g = { h = 1 }\n[[i]]\nj = 1\n'
        "[i.k]\nl = 1\n[[i.m]]\nn = 1\n[[i]]\n[[i.m]]\n[[i.m]]\nn = 2\n"
    )
    assert line_numbers(text) == {
        ("a",): 1,
        ("d",): 5,
        ("e f",): 9,
        ("e f", "g"): 9,
        ("i",): 10,
        ("i", 0): 10,
        ("i", 0, "j"): 11,
        ("i", 0, "k"): 12,
        ("i", 0, "k", "l"): 13,
        ("i", 0, "m"): 14,
        ("i", 0, "m", 0): 14,
        ("i", 0, "m", 0, "n"): 15,
        ("i", 1): 16,
        ("i", 1, "m"): 17,
        ("i", 1, "m", 0): 17,
        ("i", 1, "m", 1): 18,
        ("i", 1, "m", 1, "n"): 19,
    }
