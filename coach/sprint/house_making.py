"""A late finding becomes a house rule: an item of the team's own, appended to the file.

What is in the file already stays as it is, to the byte; a file with a fault is not added to.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path

from coach.sprint.atomic_write import write_atomically
from coach.sprint.brief.house_rules import HOUSE_SOURCE, checked_house_rules, parse_house_rules
from coach.sprint.commands import MakeItemOf
from coach.sprint.durations import duration
from coach.sprint.events.afterwards import FindingNoted
from coach.sprint.rules.afterwards import unmade_finding
from coach.sprint.session import Session
from coach.sprint.state import State
from phases.kit.documents import validate
from phases.kit.items import PHASE_IDS, Item, Severity, Stage, all_items
from phases.kit.refusals import Refusal, check_known
from phases.kit.text import name_words, one_line

SHORTEST, LONGEST = 10, 90
"""Characters of a statement and of a reason."""

_CONFIRM_S = 6.0
_LEFT_OUT_MIN = 5.0  # to fix it in the drawing, where no item says what that takes
_LONGEST_ID = 40
_ARTICLES = frozenset({"a", "an", "the"})
_NOT_SO = "Checked, and not so here: "
_PATIENCE = 5.0  # seconds
_KNOWN = {"phase": PHASE_IDS, "severity": [*map(str, Severity)], "stage": [*map(str, Stage)]}

_HEAD = f"""\
# House rules: items of your own, asked beside those of the coach. One [[item]] table each.
#
# phase     {", ".join(PHASE_IDS[:4])},
#           {", ".join(PHASE_IDS[4:])}
# severity  what it costs to miss it: {", ".join(Severity)}
# stage     where it can be checked: {", ".join(Stage)}
# per       board, rail, bus, connector, clock or load: one row for each of them
# met_by    inspected, measured, data sheet
# essential true: to be closed in its phase; a hazard or a dead board always is
#
# The statement is what must be true: in a walk, yes confirms it.
# Change the words freely; delete a table to take its item away. See it asked with
# coach plan BRIEF --all
"""


def defaults_of(state: State, finding: FindingNoted) -> dict[str, str]:
    """What is proposed for the item of a finding: why, phase, severity, stage.

    phase, stage: of the item that let it through; phase is empty where there is none of the seven.
    The statement is for the person to say: what must be true does not follow from what was wrong.
    """
    where = f", board {finding.board}" if finding.board else ""
    cost = f", {duration(finding.minutes * 60)} lost" if finding.minutes else ""
    bodge = f", bodge: {finding.bodge}" if finding.bodge else ""
    row = state.by_key.get(finding.item)
    item = row.item if row is not None and row.item.phase in PHASE_IDS else None
    return {
        "why": _short(f"It got through once: {finding.fault}{where}{cost}{bodge}"),
        "phase": item.phase if item else "",
        "severity": item.severity if item else Severity.DEGRADED,
        "stage": item.stage if item else Stage.SCHEMATIC,
    }


def statement_offered(finding: FindingNoted) -> str:
    """A statement that yes confirms, for who has no better one: the fault, looked for and not
    found."""
    return _short(f"{_NOT_SO}{finding.fault}")


def _short(text: str) -> str:
    """At most LONGEST characters, cut at a blank."""
    if len(text) <= LONGEST:
        return text
    cut = text[: LONGEST - 2]
    return f"{cut.rpartition(' ')[0] or cut}.."


def make_item(
    session: Session,
    number: int,
    path: Path,
    given: Mapping[str, str],
    *,
    essential: bool = False,
) -> tuple[Item, str]:
    """Makes finding `number` an item in the file at `path`; returns it, and what to say.

    given: what the person says, by the keys of `defaults_of`, "statement" and "id"; an empty or
    missing one is its default; the statement has none. essential: also where it is neither a hazard
    nor a dead board. Raises Refusal, and leaves file and journal as they were then.
    """
    finding = unmade_finding(session.state, number)
    with _alone(path):
        there = checked_house_rules(path)
        item = _item(session.state, finding, there, given, essential=essential)
        before = path.read_bytes() if os.path.lexists(path) else None
        _append(path, before, item)
        try:
            says = session.do(MakeItemOf(number, item.id, str(path)))
        except BaseException:
            _put_back(path, before)
            raise
    asked = "an essential" if item.essential else "among the more checks"
    return item, f"{says}, {asked} of {item.phase}"


@contextmanager
def _alone(path: Path) -> Iterator[None]:
    """Lets nobody else add to the file meanwhile: two journals may give it an item at once.

    Raises Refusal where another takes longer than `_PATIENCE` seconds. Where no lock can be made
    nothing can be written either, and that is said then.
    """
    from filelock import FileLock, Timeout

    lock = FileLock(f"{path.resolve()}.lock", timeout=_PATIENCE)
    try:
        lock.acquire()
    except Timeout:
        what = "Another coach is adding to the house rules"
        raise Refusal(what, where=one_line(str(path)), do="Do it again in a moment") from None
    except (OSError, RuntimeError, ValueError):  # no such folder yet, a link to itself
        pass
    try:
        yield
    finally:
        lock.release()


def _put_back(path: Path, before: bytes | None) -> None:
    with suppress(Refusal, OSError):
        if before is None:
            path.unlink()
        else:
            write_atomically(path, before, what="The house rules")


# ---- the item --------------------------------------------------------------------------------


def _item(
    state: State,
    finding: FindingNoted,
    there: Iterable[Item],
    given: Mapping[str, str],
    *,
    essential: bool,
) -> Item:
    said = {key: one_line(value) for key, value in given.items() if one_line(value)}
    for key, known in _KNOWN.items():
        if key in said:
            check_known(key, said[key], known)
    wanted = {**defaults_of(state, finding), **said}
    if "statement" not in said:
        what = "A house rule needs its statement: what must be true on every board"
        raise Refusal(what, do='Example: --statement "Battery lead carries the charge current"')
    if not wanted["phase"]:
        what = f"No item let finding {finding.number} through, so its phase is not known"
        raise Refusal(what, do=f"Name the phase, one of {', '.join(PHASE_IDS)}")
    taken = {item.id for item in (*all_items(), *there)}
    row = state.by_key.get(finding.item)
    fixed_in_drawing = row.item.left_out_min if row else _LEFT_OUT_MIN
    brief, started = state.setup.brief, state.setup.started
    plain: dict[str, object] = {
        "id": wanted.get("id") or _free_id(wanted["statement"], finding.number, taken),
        **{key: wanted[key] for key in ("phase", "statement", "why", "severity")},
        **({"essential": True} if essential else {}),
        "stage": wanted["stage"],
        "per": "board",
        "met_by": ["inspected"],
        "confirm_s": _CONFIRM_S,
        # never more than that takes, whatever it cost at the bench
        "left_out_min": min(finding.minutes or fixed_in_drawing, fixed_in_drawing),
        "reopened_by": [],
        "source": f"{HOUSE_SOURCE}, finding {finding.number} of {one_line(brief.title)[:200]}, "
        f"{started:%Y-%m-%d}",
    }
    item = validate(plain, Item, where="house rule")
    if item.id in taken:
        raise Refusal(f"There is an item {item.id!r} already", do="Give another id")
    return item


def _free_id(statement: str, number: int, taken: set[str]) -> str:
    """An id of the statement's first words, free of accents and signs."""
    words = [w for w in name_words(statement.removeprefix(_NOT_SO)) if w not in _ARTICLES]
    if not words or not words[0][0].isalpha():
        words = ["rule", *(words or [str(number)])]
    while words[1:] and len("-".join(words)) > _LONGEST_ID - 3:
        words.pop()
    name = "-".join(words)[: _LONGEST_ID - 3]
    numbered = (f"{name}-{number}" for number in range(2, 100))
    return next(one for one in (name, *numbered) if one not in taken)


# ---- the file --------------------------------------------------------------------------------


def _append(path: Path, before: bytes | None, item: Item) -> None:
    """Writes the item behind what is in the file, which stays as it is."""
    import tomli_w

    old = (before or b"").decode("utf-8")  # it has been read already
    ends = "\r\n" if "\r\n" in old else "\n"
    table = tomli_w.dumps({"item": [item.model_dump(mode="json", exclude_unset=True)]})
    text = f"{_HEAD}\n{table}"
    if old.strip():
        between = ends if old.endswith("\n") else 2 * ends
        text = old + between + table.replace("\n", ends)
    where = one_line(str(path))
    try:
        parse_house_rules(text.removeprefix("\ufeff"), where=where)
    except Refusal:
        what = "An item cannot be added to this file as it is written"
        raise Refusal(what, where=where, do="Write its items as [[item]] tables") from None
    write_atomically(path, text.encode("utf-8"), what="The house rules", make_folder=True)
