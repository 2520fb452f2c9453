"""The printed tables: each can be read, says where its figures are from, and is read once."""

from __future__ import annotations

from pathlib import Path

import pytest

from phases.kit import spec_tables
from phases.kit.refusals import Refusal
from phases.kit.shared_data import shared_dir
from phases.kit.spec_tables import spec_table

TABLES = sorted(path.stem for path in (shared_dir() / "tables").glob("*.toml"))


@pytest.mark.parametrize("name", TABLES)
def test_every_table_has_a_title_and_a_source(name: str) -> None:
    assert spec_table(name)["title"]
    assert "source" in (shared_dir() / "tables" / f"{name}.toml").read_text(encoding="utf-8")


def test_a_table_is_read_once() -> None:
    assert spec_table(TABLES[0]) is spec_table(TABLES[0])


def test_a_table_that_is_not_there_is_refused_with_its_path() -> None:
    with pytest.raises(Refusal, match="'no-such-table' cannot be read") as refused:
        spec_table("no-such-table")
    assert refused.value.where.endswith("no-such-table.toml")


def test_a_torn_table_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "tables").mkdir()
    (tmp_path / "tables" / "torn.toml").write_text('title = "to', encoding="utf-8")
    monkeypatch.setattr(spec_tables, "shared_dir", lambda: tmp_path)
    with pytest.raises(Refusal, match="'torn' cannot be read"):
        spec_table("torn")
