"""Tables come as rows, as CSV or from a spreadsheet; a bad cell is named by its place."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phases.kit.refusals import Refusal
from phases.kit.spread import Spread
from phases.kit.tables import Column, TableData, read_rows, rows_from_csv

COLUMNS = {
    column.name: column
    for column in (
        Column("consumer", "text", "consumer"),
        Column("peak", "A", "greatest current", least=0.0, most=10.0),
        Column("duty", "%", "share of time", default="100 %", most=1.0),
        Column("count", "count", "how many", default="1", most=99),
        Column("kind", "choice", "kind", default="chip", choices=("chip", "module")),
        Column("pulsed", "yes/no", "pulsed", default="no"),
    )
}


def read(given_: Any) -> TableData:
    return read_rows(COLUMNS, given_)


def refusal_of(given_: Any) -> str:
    with pytest.raises(Refusal) as caught:
        read(given_)
    return str(caught.value)


def test_each_cell_is_read_as_its_column_says() -> None:
    row = {
        "consumer": "radio\n",
        "peak": "120 mA ± 10 %",
        "duty": 5,
        "count": "2",
        "kind": "module",
        "pulsed": True,
    }
    data = read([row])
    assert data.rows[0] == {
        "consumer": "radio",
        "peak": Spread.of(0.12, 0.1),
        "duty": Spread.exact(0.05),
        "count": 2,
        "kind": "module",
        "pulsed": True,
    }
    assert data.texts[0] == {
        "consumer": "radio",
        "peak": "120 mA ± 10 %",
        "duty": "5",
        "count": "2",
        "kind": "module",
        "pulsed": "yes",
    }


@pytest.mark.parametrize("empty", [{}, {"duty": ""}, {"duty": None}, {"duty": "  "}])
def test_an_empty_cell_means_its_default(empty: dict[str, Any]) -> None:
    data = read([{"consumer": "a", "peak": "1 A", **empty}])
    assert data.rows[0]["duty"] == Spread.exact(1.0)
    assert data.texts[0]["kind"] == "chip"


def test_a_spread_of_the_ledger_is_taken_as_it_is() -> None:
    data = read([{"consumer": "a", "peak": Spread(1.0, 2.0, 3.0)}])
    assert data.rows[0]["peak"] == Spread(1.0, 2.0, 3.0)
    assert data.texts[0]["peak"] == "2 A ± 50 %"


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ({"consumer": "a"}, "row 2, peak: The cell is empty. Fill it in."),
        ({"peak": "1 A"}, "row 2, consumer: The cell is empty. Fill it in."),
        (
            {"consumer": "a", "peak": "3 V"},
            "row 2, peak: V is not a unit of current. Give it in A.",
        ),
        (
            {"consumer": "a", "peak": "11 A"},
            "row 2, peak: '11 A' is too large. Maximum here: 10 A.",
        ),
        (
            {"consumer": "a", "peak": "1 A", "duty": "120 %"},
            "row 2, duty: '120 %' is too large. Maximum here: 100 %.",
        ),
        (
            {"consumer": "a", "peak": "1 A", "count": "1.5"},
            "row 2, count: '1.5' is not a whole number. Write one from 0 to 99.",
        ),
        (
            {"consumer": "a", "peak": "1 A", "count": "100"},
            "row 2, count: 100 is out of range. Write one from 0 to 99.",
        ),
        (
            {"consumer": "a", "peak": "1 A", "kind": "modul"},
            "row 2, kind: There is no choice 'modul'. Nearest: module.",
        ),
        (
            {"consumer": "a", "peak": "1 A", "pulsed": "often"},
            "row 2, pulsed: 'often' is neither yes nor no. Write yes or no.",
        ),
        ({"consumer": "a", "peek": "1 A"}, "row 2: There is no column 'peek'. Nearest: peak."),
    ],
)
def test_a_bad_cell_is_named_by_row_and_column(row: dict[str, Any], says: str) -> None:
    assert refusal_of([{"consumer": "first", "peak": "1 A"}, row]) == says


@pytest.mark.parametrize("given_", [5, None, {"consumer": "a"}, [5], ["a"], b"a,1"])
def test_what_is_no_table_is_refused_with_its_columns(given_: Any) -> None:
    assert refusal_of(given_).startswith("This is not a table. Give rows with the columns consumer")


def test_a_table_has_at_most_five_hundred_rows() -> None:
    row = {"consumer": "a", "peak": "1 A"}
    assert len(read([row] * 500).rows) == 500
    assert refusal_of([row] * 501) == "The table has 501 rows. Use at most 500."


def test_an_empty_table_has_no_rows() -> None:
    assert read([]).rows == ()
    assert read("").rows == ()
    assert read("\n \n").rows == ()


# ---- CSV and the clipboard ---------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "consumer,peak\nradio,120 mA\nsensor,5 mA\n",
        "consumer;peak\nradio;120 mA\nsensor;5 mA\n",
        "consumer\tpeak\r\nradio\t120 mA\r\nsensor\t5 mA\r\n",
        "\ufeffConsumer,PEAK\n\nradio,120 mA\n\nsensor,5 mA",
        "peak,consumer\n120 mA,radio\n5 mA,sensor",
        "radio,120 mA\nsensor,5 mA",
        '"radio","120 mA"\n"sensor","5 mA"',
        " radio , 120 mA \n sensor , 5 mA ",
    ],
)
def test_rows_come_with_any_usual_separator_and_with_or_without_a_header(text: str) -> None:
    data = read(text)
    assert [row["consumer"] for row in data.rows] == ["radio", "sensor"]
    assert [row["peak"].typ for row in data.rows] == [0.12, 0.005]


def test_a_quoted_cell_may_hold_the_separator() -> None:
    assert read('"radio, with antenna",120 mA').rows[0]["consumer"] == "radio, with antenna"


def test_the_separator_is_that_of_the_first_line() -> None:
    assert rows_from_csv("consumer;peak\na;3,3 A", COLUMNS) == [{"consumer": "a", "peak": "3,3 A"}]
    assert "comma in a number" in refusal_of("consumer;peak\na;3,3 A")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("consumer,peek\na,1 A", "first line: There is no column 'peek'. Nearest: peak."),
        ("consumer,peak,Peak\na,1 A,2 A", "first line: Column 'peak' appears twice."),
        (
            "a,1 A,100 %,1,chip,no,more",
            "row 1: Found 7 cells, for 6 columns. "
            "Columns: consumer, peak, duty, count, kind, pulsed.",
        ),
        ("consumer,peak\na,1 A\nb", "row 2, peak: The cell is empty. Fill it in."),
        (
            "consumer,peak\n" + "x" * 200_000 + ",1 A",
            "The table cannot be read: field larger than field limit (131072). "
            "Look for an open quote.",
        ),
    ],
)
def test_a_csv_that_does_not_fit_says_where(text: str, says: str) -> None:
    assert refusal_of(text) == says


def test_cells_are_cleaned_like_everything_typed() -> None:
    assert read("ra\x1b[31mdio,120 mA").rows[0]["consumer"] == "radio"
    assert "nobody can see" in refusal_of("radio,1\x1b[31m20 mA")


CELLS = st.text(st.sampled_from("aA01.5 %,;\t\"'\n\r±-/mµ\x00\x1b\u2028"), max_size=40)


@given(st.one_of(st.text(max_size=200), CELLS))
def test_any_text_is_a_table_or_a_refusal(text: str) -> None:
    try:
        data = read(text)
    except Refusal as refusal:
        assert str(refusal)
    else:
        assert len(data.rows) == len(data.texts)


def test_a_column_describes_itself_for_listings() -> None:
    peak, kind = COLUMNS["peak"].described(), COLUMNS["kind"].described()
    assert (peak["kind"], peak["unit"], peak["default"]) == ("quantity", "A", None)
    assert (kind["kind"], kind["unit"], kind["choices"]) == ("choice", None, ["chip", "module"])
    assert Column("plain", "text").described()["title"] == "plain"
