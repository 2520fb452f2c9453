"""jinja2 is an extra: without it a page is refused in a sentence, and all else is done."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from coach.sprint.brief.new import answers_to_brief_text
from tests.cli.conftest import Coach

SENTENCE = "Writing HTML needs jinja2. Install it: pip install 'board-coach[report]'."


@pytest.fixture(autouse=True)
def no_jinja2(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in [one for one in sys.modules if one.split(".")[0] in ("jinja2", "markupsafe")]:
        monkeypatch.delitem(sys.modules, name)
    for name in ("jinja2", "markupsafe"):
        monkeypatch.setitem(sys.modules, name, None)  # importing it raises ImportError


@pytest.fixture
def journal(tmp_path: Path, samples: tuple[bytes, ...]) -> str:
    path = tmp_path / "journals" / "j.toml"
    path.parent.mkdir()
    path.write_bytes(samples[0])
    return str(path)


@pytest.mark.parametrize("command", ["debrief", "bringup"])
def test_a_page_is_refused_and_nothing_is_written(
    coach: Coach,
    journal: str,
    command: str,
    tmp_path: Path,
) -> None:
    assert coach(command, journal, "--html", "-").sentence == SENTENCE
    assert coach(command, journal, "--html", str(tmp_path / "page.html")).sentence == SENTENCE
    assert [one.name for one in tmp_path.rglob("*")] == ["journals", "j.toml"]


def test_text_forms_and_new_briefs_need_no_pages(
    coach: Coach, journal: str, tmp_path: Path
) -> None:
    form, markdown = tmp_path / "form.toml", tmp_path / "debrief.md"
    assert coach("bringup", journal, "--text").code == 0
    assert coach("bringup", journal, "--form", str(form)).code == 0
    assert coach("debrief", journal, "--markdown", str(markdown)).code == 0
    assert coach("debrief", journal, "--text").code == 0
    assert form.stat().st_size and markdown.stat().st_size
    assert answers_to_brief_text({}, "Lamp").startswith("# Brief")
