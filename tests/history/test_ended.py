"""Ended sprints by their summary: the same as read from the beginning, whatever lies there."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from random import Random
from shutil import copy
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.history import ended
from coach.history.ended import EndedSprint, ManyRead, ended_sprint, read_many
from coach.history.read_sprint import read_sprint
from coach.sprint.clock import ManualClock
from coach.sprint.commands import (
    End,
    EnterPhase,
    MakeItemOf,
    MeasurePoint,
    NoteFinding,
    WithdrawFinding,
)
from coach.sprint.events.summary import SummedUp
from coach.sprint.session import Session
from coach.sprint.summing_up import summed_up
from phases.kit.refusals import Refusal
from tests.depth import deep, seeds
from tests.history.copies import FIRST, begun_at, blocks_of, copies, forged, sealed
from tests.history.small import small_journal
from tests.rehearsals import Rehearsals, Script
from tests.sprint.at_random import any_command
from tests.sprint.conftest import NINE, Bench, bench_setup
from tests.sprint.lamp import CLOSING, PHASES, lamp_brief


@pytest.fixture
def small(tmp_path: Path) -> bytes:
    return small_journal(tmp_path / "small.toml")


def in_full(path: Path) -> EndedSprint:
    """The sprint of a journal read from its beginning."""
    read = read_sprint(path)
    summary = summed_up(read.state, read.history)
    return EndedSprint(path, read.setup, summary, read.setup.items, read.faults)


def same(one: EndedSprint, other: EndedSprint) -> bool:
    return (
        (one.path, one.summary, one.items, one.faults)
        == (other.path, other.summary, other.items, other.faults)
        and one.run.title == other.run.title
        and one.run.started == other.run.started
    )


# ---- the summary and the journal say the same -------------------------------------------------


def test_what_was_written_at_the_end_is_what_the_journal_comes_to(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, samples: tuple[bytes, ...]
) -> None:
    paths = []
    for number, data in enumerate(samples):
        paths.append(tmp_path / f"{number}.toml")
        paths[-1].write_bytes(data)
    whole = [in_full(path) for path in paths]
    assert any(one.summary.forgotten for one in whole)
    assert all(one.summary.forecasts and one.summary.pace for one in whole)
    monkeypatch.setattr(ended, "sprint_of", None)  # from their summary alone
    assert all(same(ended_sprint(path), one) for path, one in zip(paths, whole, strict=True))


@settings(max_examples=deep(15))
@given(st.randoms(use_true_random=False))
def test_whatever_is_done_before_and_after_the_end_both_say_the_same(chance: Random) -> None:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "a.toml"
        clock = ManualClock(NINE)
        setup = bench_setup(lamp_brief(), phases=PHASES, closing=CLOSING)
        with Session.start(path, setup, clock) as session:
            for _ in range(40):
                clock.advance(chance.uniform(1, 300))
                try:
                    session.do(any_command(chance, session.state))
                except Refusal:
                    continue
            if not session.state.ended:
                session.do(End(chance.random() < 0.5))
        for _ in range(chance.randrange(3)):
            clock.advance(chance.uniform(1, 300_000))
            with Session.afterwards(path, clock) as session:
                afterwards(session, chance)
        assert ended_sprint(path).summary == in_full(path).summary


def afterwards(session: Session, chance: Random) -> None:
    kind = chance.randrange(4)
    if kind == 0:
        session.do(MeasurePoint("1", "rail.3v3", "3v3", "3.31 V", "V", 3.2, 3.4))
    elif kind == 1 and session.state.findings:
        session.do(WithdrawFinding(chance.choice([*session.state.findings])))
    elif kind == 2 and set(session.state.findings) - set(session.state.made_items):
        number = min(set(session.state.findings) - set(session.state.made_items))
        session.do(MakeItemOf(number, "lead-is-thick", "house-rules.toml"))
    else:
        item = chance.choice(["", chance.choice(session.state.rows).key])
        session.do(NoteFinding("The lead is too thin", item=item, minutes="20"))


def test_each_late_finding_is_summed_up_and_a_reading_is_not(bench: Bench) -> None:
    def summaries() -> int:
        return sum(isinstance(one.event, SummedUp) for one in bench.session.history)

    bench.do(EnterPhase("closing"))
    assert summaries() == 0
    bench.do(End(True))
    assert summaries() == 1
    bench.do(MeasurePoint("1", "rail.3v3", "3v3", "3.31 V", "V"))
    assert summaries() == 1
    bench.do(NoteFinding("The lead is too thin"))
    assert summaries() == 2
    assert [one.fault for one in ended_sprint(bench.path).summary.findings] == [
        "The lead is too thin"
    ]


def test_a_sprint_that_was_killed_before_it_was_summed_up_is_read_in_full(
    tmp_path: Path, small: bytes
) -> None:
    path = tmp_path / "small.toml"
    expected = ended_sprint(path)
    path.write_bytes(sealed(blocks_of(small)[:-1]))
    assert same(ended_sprint(path), expected)


def test_a_finding_whose_summary_was_torn_off_is_there_all_the_same(
    tmp_path: Path, small: bytes
) -> None:
    path = tmp_path / "small.toml"
    with Session.afterwards(path, ManualClock(FIRST + timedelta(days=9999))) as session:
        session.do(NoteFinding("The lead is too thin"))
    path.write_bytes(sealed(blocks_of(path.read_bytes())[:-1]))
    assert [one.fault for one in ended_sprint(path).summary.findings] == ["The lead is too thin"]
    path.write_bytes(path.read_bytes() + b"[[event]]\nn = 9")  # torn within the summary
    found = ended_sprint(path)
    assert [one.fault for one in found.summary.findings] == ["The lead is too thin"]
    assert "The end is torn" in found.faults[0]


def test_a_sprint_that_goes_on_has_no_figures(bench: Bench) -> None:
    with pytest.raises(Refusal, match="The sprint goes on"):
        ended_sprint(bench.path)


# ---- damage ----------------------------------------------------------------------------------


def damaged(chance: Random, data: bytes) -> bytes:
    """A journal with one thing wrong with it, as a disk or a hand makes it."""
    hurt = bytearray(data)
    at = chance.randrange(len(hurt))
    kind = chance.randrange(6)
    if kind == 0:  # torn
        return bytes(hurt[:at])
    if kind == 1:  # one byte of it
        hurt[at] = chance.choice(b'\n"]#=aZ0\xff\x00')
        return bytes(hurt)
    if kind == 2:  # a stretch of it
        del hurt[at : at + chance.randrange(1, 4000)]
        return bytes(hurt)
    if kind == 3:  # a block lost
        blocks = data.split(b"[[event]]\n")
        del blocks[chance.randrange(1, len(blocks))]
        return b"[[event]]\n".join(blocks)
    if kind == 4:  # line ends of another system
        return data.replace(b"\n", b"\r\n")
    return data.replace(b"t = ", b"t =  ", chance.randrange(1, 5))


def told(path: Path, *, whole: bool) -> str | tuple[object, ...]:
    try:
        one = in_full(path) if whole else ended_sprint(path)
    except Refusal as refusal:
        return refusal.what
    except AssertionError:
        return "The sprint goes on"  # there is no end to be summed up
    return one.summary, one.items, one.faults


@pytest.mark.parametrize("seed", seeds(16))
def test_a_damaged_journal_is_counted_by_its_summary_or_as_far_as_it_is_intact(
    tmp_path: Path, seed: int, samples: tuple[bytes, ...]
) -> None:
    chance, path = Random(f"damaged:{seed}"), tmp_path / "a.toml"
    intact = chance.choice(samples)
    path.write_bytes(intact)
    before = told(path, whole=False)
    path.write_bytes(damaged(chance, intact))
    found = told(path, whole=False)
    by_summary = not isinstance(found, str) and found[:2] == before[:2]
    assert (by_summary and found[2]) or found == told(path, whole=True)


def test_what_the_summary_knew_counts_whatever_became_of_an_event_before_it(
    tmp_path: Path, small: bytes
) -> None:
    path = tmp_path / "a.toml"
    path.write_bytes(small)
    before = ended_sprint(path).summary
    head, mark, events = small.partition(b"[[event]]")
    assert b'phase = "' in events
    path.write_bytes(head + mark + events.replace(b'phase = "', b"phase = ", 1))
    after = ended_sprint(path)
    assert after.summary == before
    assert "was changed after it was written" in after.faults[0]


FORGERIES = {
    "a run without its start": (b"started = ", b"begun = "),
    "a start without a zone": (b"+00:00\ndeadline", b"\ndeadline"),
    "a cut-off in words": (b"\ndeadline = ", b'\ndeadline = "soon" #'),
    "a cut-off that is none": (b"\ndeadline = ", b"\ndeadline = inf #"),
    "a cut-off beyond all": (b"\ndeadline = ", b"\ndeadline = -1e308 #"),
    "a chance over one": (b"chance = 0.", b"chance = 9e99 #"),
    "an end beyond all": (b"\nended_at = ", b"\nended_at = 1e308 #"),
    "an end that is none": (b"\nended_at = ", b"\nended_at = nan #"),
    "an item of no kind": (b'severity = "dead board"', b'severity = "a pity"'),
    "counts below nothing": (b"here = 1", b"here = -1"),
    "no closing list": (b"[journal.items.closing]", b"[journal.items.opening]"),
    "a summary of another kind": (b'what = "summed-up"', b'what = "summed-down"'),
    "an event of nothing": (b'what = "started"', b'what = "ended"'),
}


@pytest.mark.parametrize("what", FORGERIES)
def test_what_no_coach_wrote_never_gets_past_the_door(
    tmp_path: Path, what: str, samples: tuple[bytes, ...]
) -> None:
    """The checks are right: figures that cannot be are left out or refused, and nothing fails."""
    old, new = FORGERIES[what]
    data = samples[1]
    assert old in data
    path = tmp_path / "a.toml"
    path.write_bytes(forged(data, lambda data: data.replace(old, new)))
    found = read_many([path])
    for one in found.sprints:
        summary = one.summary
        assert abs(summary.deadline) < 1e11
        assert 0 <= summary.ended_at < 1e11
        assert all(0 <= forecast.chance <= 1 for forecast in summary.forecasts)
        assert all(forecast.loss is None or forecast.loss < 1e11 for forecast in summary.forecasts)
    assert len(found.sprints) + len(found.unread) + len(found.going_on) == 1


# ---- many of them ----------------------------------------------------------------------------


def test_a_thousand_journals_are_read_with_progress(tmp_path: Path, small: bytes) -> None:
    paths = copies([small], tmp_path / "many", 1000)
    said: list[tuple[int, int]] = []
    found = read_many(paths, progress=lambda done, of: said.append((done, of)))
    assert [one.path for one in found.sprints] == paths
    assert {one.summary.forgotten for one in found.sprints} == {found.sprints[0].summary.forgotten}
    assert found.sprints[0].run.started == FIRST
    assert found.sprints[-1].run.started == FIRST + timedelta(days=999)
    assert found.sprints[0].items is found.sprints[-1].items  # made once for the same items
    assert (found.going_on, found.unread) == ((), {})
    assert said == [(number, 1000) for number in range(1, 1001)]


def test_in_any_order_it_is_the_same(
    tmp_path: Path, small: bytes, samples: tuple[bytes, ...]
) -> None:
    paths = copies([small, *samples], tmp_path / "some", 12)
    mixed = Random(2).sample(paths, len(paths))
    assert read_many(mixed) == read_many(paths)


def kinds(found: ManyRead) -> tuple[int, int, int]:
    return len(found.sprints), len(found.going_on), len(found.unread)


def test_whatever_lies_in_the_folder_is_told_apart(tmp_path: Path, small: bytes) -> None:
    def put(name: str, data: bytes) -> None:
        (tmp_path / name).write_bytes(data)

    other = begun_at(small, FIRST + timedelta(days=1))
    put("b-empty.toml", b"")
    put("c-brief.toml", b'title = "A board"\n[deadline]\nminutes = 90\n')
    put("d-newer.toml", small.replace(b"version = 2", b"version = 7", 1))
    put("d-older.toml", small.replace(b"version = 2", b"version = 1", 1))
    put("e-torn-in-its-header.toml", small[:400])
    begun = begun_at(small, FIRST)
    put("f-torn.toml", begun[: begun.index(b'what = "ended"')])
    put("g-not-utf-8.toml", small.replace(b"Bench lamp", b"Bench \xff\xfe"))
    put("h-bytes.toml", bytes(range(256)) * 40)
    (tmp_path / "i-folder.toml").mkdir()
    put("j-huge-number.toml", forged(small, lambda d: d.replace(b"7200.0", b"9" * 400, 1)))
    never = b"\nended_at = 1e99 #"
    put("k-time.toml", forged(other, lambda d: d.replace(b"\nended_at = ", never)))
    (tmp_path / "l-gone.toml").symlink_to(tmp_path / "nowhere")
    paths = sorted(tmp_path.glob("*.toml"))
    found = read_many(paths)
    assert sum(kinds(found)) == len(paths)
    assert found.copies == ()
    says = {path.name: text for path, text in found.unread.items()}
    assert says["b-empty.toml"].endswith("The file is empty, no journal.")
    assert "not the journal of a sprint" in says["c-brief.toml"]
    assert "newer coach" in says["d-newer.toml"]
    assert "older coach" in says["d-older.toml"]
    assert "breaks off within its header" in says["e-torn-in-its-header.toml"]
    assert "a folder, not a journal" in says["i-folder.toml"]
    assert "no journal here" in says["l-gone.toml"]
    assert all(text.endswith(".") and "\n" not in text for text in says.values())
    # Torn before its end was written down, the sprint goes on.
    assert [path.name for path in found.going_on] == ["f-torn.toml"]
    by_name = {one.path.name: one for one in found.sprints}
    assert by_name["small.toml"].faults == ()
    assert by_name["k-time.toml"].summary.ended_at < 1e5  # as its events say
    assert "not one this coach knows" in by_name["k-time.toml"].faults[0]


def test_an_edited_journal_counts_and_says_that_it_was_edited(tmp_path: Path, small: bytes) -> None:
    path = tmp_path / "edited.toml"
    path.write_bytes(small.replace(b'phase = "debug-access"', b'phase = "regulation"', 1))
    one = read_many([path]).sprints[0]
    assert "was changed after it was written" in one.faults[0]


def test_the_same_file_named_twice_counts_once(tmp_path: Path, small: bytes) -> None:
    path = tmp_path / "small.toml"
    assert kinds(read_many([path, path])) == (1, 0, 0)


def test_a_copy_of_a_journal_is_the_same_sprint(tmp_path: Path, small: bytes) -> None:
    (tmp_path / "copy.toml").write_bytes(small)
    (tmp_path / "moved.toml").write_bytes(begun_at(small, FIRST))
    found = read_many(sorted(tmp_path.glob("*.toml")))
    assert kinds(found) == (2, 0, 0)
    assert [path.name for path in found.copies] == ["small.toml"]  # alike: the first is kept


def test_of_copies_the_longer_is_kept_and_one_that_was_whole(tmp_path: Path, small: bytes) -> None:
    path = tmp_path / "small.toml"
    early = small[: small.rfind(b"[[event]]", 0, small.index(b'what = "ended"'))]
    (tmp_path / "a-early.toml").write_bytes(early)  # still goes on
    edited = small.replace(b'phase = "debug-access"', b'phase = "regulation"', 1)
    (tmp_path / "b-edited.toml").write_bytes(edited)
    (tmp_path / "c-bench.toml").write_bytes(small)
    with Session.afterwards(path, ManualClock(FIRST + timedelta(days=9999))) as session:
        session.do(NoteFinding("The lead is too thin"))
    found = read_many(sorted(tmp_path.glob("*.toml")))
    assert [(one.path, one.faults) for one in found.sprints] == [(path, ())]
    assert found.going_on == ()
    names = [one.name for one in found.copies]
    assert names == ["a-early.toml", "b-edited.toml", "c-bench.toml"]
    path.unlink()
    found = read_many(sorted(tmp_path.glob("*.toml")))
    assert [one.path.name for one in found.sprints] == ["c-bench.toml"]


def test_simulated_engineers_who_begin_on_one_morning_are_no_copies(
    tmp_path: Path, rehearsed_once: Rehearsals
) -> None:
    for number, pace in enumerate((1.7, 1.8)):
        script = Script("orchard-radio-tag", 6, 0.05, 0.1 if pace < 1.8 else 0.05, pace)
        copy(rehearsed_once(**script.options).path, tmp_path / f"{number}.toml")
    (tmp_path / "copy.toml").write_bytes((tmp_path / "0.toml").read_bytes())
    found = read_many(sorted(tmp_path.glob("*.toml")))
    assert len({one.run.started for one in found.sprints}) == 1
    assert (len(found.sprints), len(found.copies)) == (2, 1)


def test_of_no_journal_nothing_is_read() -> None:
    assert kinds(read_many([])) == (0, 0, 0)


def test_a_copy_that_began_another_day_is_another_sprint(
    tmp_path: Path, samples: tuple[bytes, ...]
) -> None:
    path = tmp_path / "copy.toml"
    path.write_bytes(begun_at(samples[0], FIRST))
    one = read_many([path]).sprints[0]
    assert (one.run.started, one.own, one.faults) == (FIRST, True, ())
