"""Reading a cut-off, and the wall times that a sprint shows.

An instant is one whatever the clocks on the wall do. So every wall time is computed in UTC, and
only then shown by the rules of a zone: that of the brief where it names one, else the machine's.
The night the clocks change, adding hours to a time of day would be an hour wrong.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from phases.kit.refusals import Refusal, unknown
from phases.kit.text import one_line

_HOUR = r"([01]?\d|2[0-3])"
_TIME_OF_DAY = re.compile(rf"{_HOUR}:([0-5]\d)", re.ASCII)
_DATE_AND_TIME = re.compile(
    rf"([12]\d{{3}}-\d\d-\d\d)(?:[ T]|, ){_HOUR}(:[0-5]\d(?::[0-5]\d)?)"
    r" ?(Z|[+-](?:[01]\d|2[0-3]):?[0-5]\d)?",
    re.ASCII,
)
_DURATION = re.compile(
    r"(?P<hours>\d{1,4}(?:\.\d{1,3})?) ?h(?:ours?)?"
    r"|(?P<whole>\d{1,4}) ?h(?:ours?)? ?(?P<rest>[0-5]?\d)(?: ?min)?"
    r"|(?P<minutes>\d{1,4}(?:\.\d{1,3})?) ?min(?:utes?)?"
    r"|(?P<bare>\d{1,3})",
    re.ASCII,
)


# ---- wall times ------------------------------------------------------------------------------


def seconds_between(earlier: datetime, later: datetime) -> float:
    """How much time passes from one wall time to another."""
    # Two datetimes of one zone subtract by the face of the clock, an hour wrong across a change.
    return (later.astimezone(UTC) - earlier.astimezone(UTC)).total_seconds()


def after(now: datetime, seconds: float) -> datetime:
    """What the clocks will show, to the second, when so many seconds have passed."""
    # A float of seconds falls short of the second by a little.
    instant = now.astimezone(UTC) + timedelta(seconds=seconds, milliseconds=500)
    return instant.replace(microsecond=0).astimezone(zone_of(now))


def zone_of(now: datetime) -> tzinfo | None:
    """The rules by which a wall time goes on; None for those of this machine."""
    # The wall clock carries the offset of this moment only; tomorrow's may differ, and the machine
    # knows by how much.
    if isinstance(now.tzinfo, timezone) and now.utcoffset() == now.astimezone().utcoffset():
        return None
    return now.tzinfo


# ---- reading a cut-off ------------------------------------------------------------------------


def cut_off(text: str, now: datetime, zone: str | None = None) -> datetime:
    """The instant a person means by `text`, aware, always after `now`.

    text: a time of day ("15:36": the next time the clock shows that, so past midnight it is
      tomorrow's), a date and time ("2031-05-04 15:36", with an offset if wanted), or a time from
      now ("90 min", "45 min from now", "1 h 30", "2 h", or a bare number of minutes up to three
      digits).
    now: the aware wall time. zone: an IANA name by whose rules times are read and given back;
      without it, the rules of `now`, which for the wall time of this machine are its own.
    A time the clocks skip in spring is taken as late as they would have shown it; of a time they
    show twice in autumn, the first still to come is meant.
    Raises Refusal for anything else, for an unknown zone, and for a time that has passed.
    """
    text = one_line(text)
    rules = zone_of(now) if zone is None else zone_named(zone)
    start = now.astimezone(UTC)
    try:
        instant = _time_of_day(text, start, rules) or _date_and_time(text, start, rules)
        if instant is None:
            instant = start + _duration(text.removesuffix(" from now"))
        given = instant.astimezone(rules)
    except (ValueError, OverflowError, OSError):  # no such form, no such day, no such offset
        raise Refusal(
            f'"{text}" cannot be read as a cut-off',
            do='Write it as "15:36", "2031-05-04 15:36" or "90 min"',
        ) from None
    if instant <= start:
        raise Refusal(f"The cut-off {text} is not in the future", do="Give a later one")
    return given


def zone_named(name: str) -> ZoneInfo:
    """The zone of an IANA name. Raises Refusal where there is none."""
    try:
        return ZoneInfo(one_line(name))
    except (ZoneInfoNotFoundError, ValueError, OSError):  # a path, a folder of zones, no zone
        raise unknown("time zone", one_line(name), available_timezones()) from None


def _time_of_day(text: str, start: datetime, rules: tzinfo | None) -> datetime | None:
    match = _TIME_OF_DAY.fullmatch(text)
    if match is None:
        return None
    today = start.astimezone(rules).replace(
        tzinfo=None, hour=int(match[1]), minute=int(match[2]), second=0, microsecond=0, fold=0
    )
    shown = [
        instant
        for days in (0, 1)
        for instant in _instants(today + timedelta(days=days), rules)
        if instant > start
    ]
    return min(shown)


def _date_and_time(text: str, start: datetime, rules: tzinfo | None) -> datetime | None:
    match = _DATE_AND_TIME.fullmatch(text)
    if match is None:
        return None
    day, hour, rest, offset = match.groups(default="")
    local = datetime.fromisoformat(f"{day}T{int(hour):02d}{rest}{offset}")
    if local.tzinfo is not None:
        return local.astimezone(UTC)
    instants = _instants(local, rules)
    return next((instant for instant in instants if instant > start), instants[0])


def _instants(local: datetime, rules: tzinfo | None) -> list[datetime]:
    """When the clocks show `local`: once, or twice on the night they are set back."""
    first, second = (local.replace(tzinfo=rules, fold=fold).astimezone(UTC) for fold in (0, 1))
    # In the hour skipped in spring the second reading is the earlier one: it shows less than
    # `local`, the first shows as much later as the clocks were set forward.
    return [first, second] if second > first else [first]


def _duration(text: str) -> timedelta:
    match = _DURATION.fullmatch(text)
    if match is None:
        raise ValueError(text)
    hours = match["hours"] or match["whole"] or 0
    minutes = match["minutes"] or match["rest"] or match["bare"] or 0
    return timedelta(hours=float(hours), minutes=float(minutes))
