"""Cut-offs are instants, and every wall time is what the clocks show at its instant."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.sprint.cut_off import after, cut_off, seconds_between
from phases.kit.refusals import Refusal

BERLIN = ZoneInfo("Europe/Berlin")


# ---- wall times ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("evening", "hours", "shown"),
    [
        (datetime(2031, 3, 29, 20, 0, tzinfo=BERLIN), 14, "2031-03-30T11:00:00+02:00"),
        (datetime(2031, 10, 25, 20, 0, tzinfo=BERLIN), 16, "2031-10-26T11:00:00+01:00"),
        (datetime(2031, 5, 4, 20, 0, tzinfo=BERLIN), 15, "2031-05-05T11:00:00+02:00"),
    ],
)
def test_what_the_clocks_show_later_is_right_on_the_night_they_change(
    evening: datetime, hours: float, shown: str
) -> None:
    later = after(evening, hours * 3600)
    assert later.isoformat() == shown
    assert seconds_between(evening, later) == hours * 3600
    assert after(later, -hours * 3600) == evening


@pytest.mark.usefixtures("machine_in_berlin")
def test_the_wall_time_of_the_machine_goes_on_by_its_rules_not_by_its_offset_now() -> None:
    evening = datetime(2031, 3, 29, 20, 0, tzinfo=timezone(timedelta(hours=1)))
    assert after(evening, 14 * 3600).isoformat() == "2031-03-30T11:00:00+02:00"
    elsewhere = datetime(2031, 3, 29, 20, 0, tzinfo=timezone(timedelta(hours=-5)))
    assert after(elsewhere, 14 * 3600).isoformat() == "2031-03-30T10:00:00-05:00"


def test_a_wall_time_is_rounded_to_the_second() -> None:
    noon = datetime(2031, 5, 4, 12, 0, tzinfo=UTC)
    assert after(noon, 3599.9996).isoformat() == "2031-05-04T13:00:00+00:00"


# ---- cut-offs --------------------------------------------------------------------------------

AFTERNOON = datetime(2031, 5, 4, 14, 0, tzinfo=BERLIN)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("15:36", "2031-05-04T15:36:00+02:00"),
        (" 15:36 ", "2031-05-04T15:36:00+02:00"),
        ("9:05", "2031-05-05T09:05:00+02:00"),
        ("14:00", "2031-05-05T14:00:00+02:00"),
        ("00:30", "2031-05-05T00:30:00+02:00"),
        ("2031-05-04 15:36", "2031-05-04T15:36:00+02:00"),
        ("2031-05-04T15:36:20", "2031-05-04T15:36:20+02:00"),
        ("2031-05-06, 9:00", "2031-05-06T09:00:00+02:00"),
        ("2031-05-04T15:36Z", "2031-05-04T17:36:00+02:00"),
        ("2031-05-04T15:36:00-05:00", "2031-05-04T22:36:00+02:00"),
        ("90 min", "2031-05-04T15:30:00+02:00"),
        ("90min", "2031-05-04T15:30:00+02:00"),
        ("90 minutes", "2031-05-04T15:30:00+02:00"),
        ("120", "2031-05-04T16:00:00+02:00"),
        ("2 h", "2031-05-04T16:00:00+02:00"),
        ("1.5 h", "2031-05-04T15:30:00+02:00"),
        ("1 hour", "2031-05-04T15:00:00+02:00"),
        ("1 h 30", "2031-05-04T15:30:00+02:00"),
        ("1h30", "2031-05-04T15:30:00+02:00"),
        ("1 h 30 min", "2031-05-04T15:30:00+02:00"),
        ("45 min from now", "2031-05-04T14:45:00+02:00"),
        ("2 h from now", "2031-05-04T16:00:00+02:00"),
    ],
)
def test_a_cut_off_is_read_as_a_person_means_it(text: str, expected: str) -> None:
    assert cut_off(text, AFTERNOON, None).isoformat() == expected


def test_a_cut_off_past_midnight_is_tomorrows() -> None:
    evening = datetime(2031, 5, 4, 22, 0, tzinfo=BERLIN)
    assert cut_off("01:30", evening, None) - evening == timedelta(hours=3, minutes=30)


def test_a_zone_by_name_says_whose_time_it_is() -> None:
    found = cut_off("18:00", AFTERNOON, "America/New_York")
    assert found.isoformat() == "2031-05-04T18:00:00-04:00"


def test_a_published_time_with_offset_is_the_published_instant() -> None:
    # RFC 3339, section 5.8: 1996-12-19T16:39:57-08:00 is 1996-12-20T00:39:57Z.
    now = datetime(1996, 12, 19, 12, 0, tzinfo=UTC)
    assert cut_off("1996-12-19T16:39:57-08:00", now, "UTC").isoformat() == (
        "1996-12-20T00:39:57+00:00"
    )


# Summer time from 01:00 UTC on the last Sunday in March to 01:00 UTC on the last Sunday in
# October: Directive 2000/84/EC, Art. 2 and 3. In 2031 these are 30 March and 26 October.


def test_a_duration_over_a_change_of_the_clocks_is_real_time() -> None:
    before = datetime(2031, 3, 30, 1, 30, tzinfo=BERLIN)
    assert cut_off("2 h", before, None).isoformat() == "2031-03-30T04:30:00+02:00"


def test_tomorrow_keeps_its_time_of_day_when_the_clocks_change_at_night() -> None:
    evening = datetime(2031, 3, 29, 20, 0, tzinfo=BERLIN)
    found = cut_off("08:00", evening, None)
    assert found.isoformat() == "2031-03-30T08:00:00+02:00"
    assert found.astimezone(UTC) - evening.astimezone(UTC) == timedelta(hours=11)


def test_a_time_the_clocks_skip_is_taken_as_much_later_as_they_were_set_forward() -> None:
    before = datetime(2031, 3, 30, 1, 0, tzinfo=BERLIN)
    assert cut_off("02:30", before, None).isoformat() == "2031-03-30T03:30:00+02:00"


def test_of_a_time_shown_twice_the_first_still_to_come_is_meant() -> None:
    before = datetime(2031, 10, 26, 1, 0, tzinfo=BERLIN)
    between = datetime(2031, 10, 26, 2, 45, tzinfo=BERLIN)
    assert cut_off("02:30", before, None).isoformat() == "2031-10-26T02:30:00+02:00"
    assert cut_off("02:30", between, None).isoformat() == "2031-10-26T02:30:00+01:00"
    assert cut_off("2031-10-26 02:30", between, None).isoformat() == "2031-10-26T02:30:00+01:00"


@pytest.mark.usefixtures("machine_in_berlin")
def test_without_a_zone_the_rules_of_the_machine_hold_beyond_the_offset_of_the_moment() -> None:
    # What SystemClock gives: the offset of this moment, +01:00, one hour before summer time.
    evening = datetime(2031, 3, 29, 20, 0, tzinfo=timezone(timedelta(hours=1)))
    assert cut_off("08:00", evening, None).isoformat() == "2031-03-30T08:00:00+02:00"


@pytest.mark.usefixtures("machine_in_berlin")
def test_an_offset_that_is_not_the_machines_is_kept() -> None:
    elsewhere = datetime(2031, 3, 29, 20, 0, tzinfo=timezone(timedelta(hours=-5)))
    assert cut_off("21:00", elsewhere, None).isoformat() == "2031-03-29T21:00:00-05:00"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "noon",
        "25:00",
        "15:60",
        "15.36",
        "1536",
        "2031-02-30 12:00",
        "2031-13-01 12:00",
        "2031-05-04",
        "2031-05-04T15:36+24:00",
        "04.05.2031 15:36",
        "-5 min",
        "1 h 75",
        "1,5 h",
        "nan",
        "99999 h",
        "٣:٠٠",
        "15:36 15:36",
        "9" * 500,
        "15:36; rm",
        "15:36 from now",
        "from now",
    ],
)
def test_anything_else_is_refused_in_one_sentence_that_shows_how(text: str) -> None:
    with pytest.raises(Refusal) as refused:
        cut_off(text, AFTERNOON, None)
    assert "cannot be read as a cut-off" in str(refused.value)
    assert '"15:36"' in str(refused.value)
    assert len(str(refused.value)) < 200


@pytest.mark.parametrize("text", ["2031-05-04 13:59", "2031-05-04T12:00Z", "0 min", "0", "0 h"])
def test_a_cut_off_that_has_passed_is_refused(text: str) -> None:
    with pytest.raises(Refusal, match="not in the future"):
        cut_off(text, AFTERNOON, None)


def test_a_cut_off_never_repeats_an_escape_sequence() -> None:
    with pytest.raises(Refusal) as refused:
        cut_off("\x1b]0;title\x07never", AFTERNOON, None)
    assert "\x1b" not in str(refused.value)
    assert '"never"' in str(refused.value)


@pytest.mark.parametrize("zone", ["", "Europe/Berln", "../../etc/passwd", "Europe", "/etc/hosts"])
def test_a_zone_that_does_not_exist_is_refused(zone: str) -> None:
    with pytest.raises(Refusal, match="There is no time zone"):
        cut_off("15:36", AFTERNOON, zone)


def test_a_misspelt_zone_is_answered_with_the_nearest() -> None:
    with pytest.raises(Refusal, match="Nearest: Europe/Berlin"):
        cut_off("15:36", AFTERNOON, "Europe/Berln")


@given(
    start=st.datetimes(datetime(2030, 1, 1), datetime(2037, 1, 1)),
    hour=st.integers(0, 23),
    minute=st.integers(0, 59),
    zone=st.sampled_from(["Europe/Berlin", "America/St_Johns", "Australia/Lord_Howe", "UTC"]),
)
def test_a_time_of_day_is_the_next_instant_the_clock_shows_it(
    start: datetime, hour: int, minute: int, zone: str
) -> None:
    now = start.replace(tzinfo=UTC)
    found = cut_off(f"{hour}:{minute:02d}", now, zone)
    ahead = found.astimezone(UTC) - now
    assert timedelta(0) < ahead <= timedelta(hours=26)
    shown = (found.hour, found.minute) == (hour, minute)
    if not shown:  # skipped in spring: the clocks have just been set forward
        before = (found.astimezone(UTC) - timedelta(hours=2)).astimezone(found.tzinfo)
        assert found.utcoffset() != before.utcoffset()
