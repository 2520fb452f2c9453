"""A brief is read whole, or refused with the key, the line and the cure."""

from __future__ import annotations

import re
import tomllib
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
import tomli_w

from coach.sprint.brief.document import BRIEF_NAMES, Brief, Subject
from coach.sprint.brief.loading import load_brief, parse_brief
from coach.sprint.fold import begin
from coach.sprint.ledger.brief_values import board_values
from coach.sprint.setup import setup_of
from phases.kit.cards import load_capability
from phases.kit.facts import Knowledge, load_facts
from phases.kit.notation import read_quantity
from phases.kit.refusals import Refusal
from phases.kit.shared_data import list_shared, shared_dir

BUNDLED = ("orchard-radio-tag", "pump-driver-24v", "usb-bench-meter")

SMALL = """\
title = "Lamp"

[deadline]
minutes = 60

[board]
parts = 20
layers = 2
mcu_rail = "3v3"
pins = { supply = 2, core = 1 }

[facts]
supply = "usb-c"

[[rail]]
id = "vbus"
voltage = "4.75 .. 5.25 V"
current = "500 mA"

[[rail]]
id = "3v3"
title = "Main supply"
parent = "vbus"
voltage = "3.3 V ± 3 %"
facts = { regulator = "linear" }

[[bus]]
id = "i2c1"
rail = "3v3"

[[connector]]
id = "j1"
rail = "vbus"

[[clock]]
id = "main"
frequency = "16 MHz"

[[load]]
id = "mcu"
title = "Microcontroller"
rail = "3v3"
typical = "20 mA"
peak = "40 mA"

[[feature]]
id = "glow"
title = "Glows"
required = false
points = 5
subjects = ["i2c1"]
facts = { radio = false }
"""


def small(*changes: tuple[str, str]) -> Brief:
    return parse_brief(changed(*changes), "lamp.toml")


def values_of(brief: Brief) -> dict[str, Any]:
    """What the ledger has from a brief as a sprint begins."""
    return board_values(begin(setup_of(brief, datetime(2031, 5, 5, 9, 0, tzinfo=UTC))))


def changed(*changes: tuple[str, str]) -> str:
    text = SMALL
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def refused(*changes: tuple[str, str]) -> Refusal:
    with pytest.raises(Refusal) as caught:
        small(*changes)
    return caught.value


# ---- what a brief says -----------------------------------------------------------------------


def test_subjects_come_in_order_with_their_kind_parent_and_title() -> None:
    assert small().subjects() == (
        Subject("vbus", "rail", "", "vbus"),
        Subject("3v3", "rail", "vbus", "Main supply"),
        Subject("i2c1", "bus", "3v3", "i2c1"),
        Subject("j1", "connector", "vbus", "j1"),
        Subject("main", "clock", "", "main"),
        Subject("mcu", "load", "3v3", "Microcontroller"),
    )


def test_what_is_known_from_the_start_is_known_at_the_board_and_at_its_subjects() -> None:
    known = Knowledge.of(small().knowledge_values())
    assert known.get("supply") == "usb-c"
    assert known.get("layers") == 2
    assert known.get("core_pin") is True
    assert known.get("analogue_pin") is None
    assert known.get("regulator", "3v3") == "linear"
    assert known.get("regulator", "vbus") is None


def test_the_first_values_of_the_ledger_are_the_texts_of_the_brief() -> None:
    assert values_of(small()) == {
        "rail.vbus.window": "4.75 .. 5.25 V",
        "rail.vbus.rating": "500 mA",
        "rail.3v3.window": "3.3 V ± 3 %",
        "source.current": "500 mA",
        "board.mcu_rail": "3v3",
        "board.pins": [{"kind": "supply", "count": "2"}, {"kind": "core", "count": "1"}],
        "board.layers": "2",
        "board.ambient": "-10 / 25 / 50 °C",
        "board.consumers": [
            {
                "consumer": "Microcontroller",
                "rail": "3v3",
                "typical": "20 mA",
                "peak": "40 mA",
                "duty": "100 %",
                "count": "1",
            }
        ],
        "board.rails": [
            {
                "rail": "vbus",
                "parent": "",
                "kind": "",
                "voltage": "4.75 .. 5.25 V",
                "rating": "500 mA",
            },
            {
                "rail": "3v3",
                "parent": "vbus",
                "kind": "linear",
                "voltage": "3.3 V ± 3 %",
                "rating": "",
            },
        ],
        "clock.main.frequency": "16 MHz",
        "load.mcu.typical": "20 mA",
        "load.mcu.peak": "40 mA",
    }


def test_a_brief_goes_through_the_header_of_a_journal_and_back() -> None:
    for brief in (small(), *map(load_brief, BUNDLED)):
        text = tomli_w.dumps({"brief": brief.to_plain()})
        assert Brief.from_plain(tomllib.loads(text)["brief"]) == brief
        assert Brief.from_plain(brief.model_dump(exclude_none=True)) == brief


def test_a_brief_in_a_journal_is_read_even_when_a_fact_of_it_is_known_no_more() -> None:
    plain = small().to_plain()
    plain["facts"]["abolished"] = True
    assert Brief.from_plain(plain).facts["abolished"] is True


def test_a_header_that_is_no_brief_is_refused_with_its_key() -> None:
    plain = small().to_plain()
    plain["rail"][1]["voltage"] = 3.3
    with pytest.raises(Refusal) as caught:
        Brief.from_plain(plain, where="journal")
    assert caught.value.where == "journal, rail[2].voltage"


def test_texts_of_a_brief_come_in_without_escape_sequences() -> None:
    brief = small(('"Lamp"', '"La\\u001b]0;x\\u0007mp"'), ('"Glows"', '"Glows\\n[[x]]"'))
    assert brief.title == "Lamp"
    assert brief.features[0].title == "Glows [[x]]"


# ---- what is refused -------------------------------------------------------------------------

DEADLINE = "[deadline]\nminutes = 60"


@pytest.mark.parametrize(
    ("old", "new", "where", "words"),
    [
        # the deadline
        (DEADLINE, "[deadline]", "line 3, deadline", "no deadline"),
        (DEADLINE, "", "lamp.toml, deadline", "missing"),
        (DEADLINE, DEADLINE + '\ncut_off = "15:36"', "line 5, deadline.cut_off", "appears twice"),
        (DEADLINE, "[deadline]\nminutes = 9", "line 4, deadline.minutes", "10 or more"),
        (DEADLINE, "[deadline]\nminutes = 6001", "line 4, deadline.minutes", "6000 or less"),
        (DEADLINE, "[deadline]\nminutes = true", "line 4, deadline.minutes", "a whole number"),
        (DEADLINE, "[deadline]\nminutes = nan", "line 4, deadline.minutes", "a whole number"),
        (DEADLINE, DEADLINE + "\nreserve = 60", "line 5, deadline.reserve", "leaves nothing"),
        (DEADLINE, DEADLINE + "\nthreshold = 1.5", "line 5, deadline.threshold", "0.99 or less"),
        (DEADLINE, DEADLINE + "\nthreshold = nan", "line 5, deadline.threshold", "a finite number"),
        (DEADLINE, DEADLINE + '\nzone = "Mars"', "line 5, deadline.zone", "cut_off"),
        (DEADLINE, '[deadline]\ncut_off = "noon"', "line 4, deadline.cut_off", "noon"),
        (DEADLINE, '[deadline]\ncut_off = "25:00"', "line 4, deadline.cut_off", "25:00"),
        (
            DEADLINE,
            '[deadline]\ncut_off = "15:36"\nzone = "Mars/Base"',
            "line 4, deadline.cut_off",
            "time zone",
        ),
        # facts
        ('supply = "usb-c"', 'suply = "usb-c"', "line 13, facts.suply", "Nearest: supply"),
        ('supply = "usb-c"', 'supply = "usb"', "line 13, facts.supply", "Nearest: usb-c"),
        ('supply = "usb-c"', "supply = true", "line 13, facts.supply", "none of the choices"),
        ('supply = "usb-c"', "radio = 1", "line 13, facts.radio", "neither yes nor no"),
        ('supply = "usb-c"', "radio = [1]", "line 13, facts.radio", "true or false"),
        ('supply = "usb-c"', "layers = 4", "line 13, facts.layers", "has 2 layers"),
        ('supply = "usb-c"', 'regulator = "linear"', "line 13, facts.regulator", "of a rail"),
        ('regulator = "linear"', 'regulator = "linar"', "line 25, rail[2].facts", "linear"),
        ('regulator = "linear"', "radio = true", "line 25, rail[2].facts", "of a board"),
        ('regulator = "linear"', 'regulator = "step-up"', "line 25, rail[2].facts", "below vbus"),
        ("radio = false", "radios = false", "line 52, feature[1].facts", "Nearest: radio"),
        # rails
        ('parent = "vbus"', 'parent = "vbsu"', "line 23, rail[2].parent", "Nearest: vbus"),
        ('parent = "vbus"', 'parent = "3v3"', "line 23, rail[2].parent", "own parent"),
        (
            'current = "500 mA"',
            'parent = "3v3"',
            "line 18, rail[1].parent",
            "vbus -> 3v3 -> vbus",
        ),
        ('mcu_rail = "3v3"', 'mcu_rail = "3v"', "line 9, board.mcu_rail", "Nearest: 3v3"),
        (
            '[[bus]]\nid = "i2c1"\nrail = "3v3"',
            '[[bus]]\nid = "i2c1"\nrail = "5v"',
            "line 29, bus[1].rail",
            "no rail '5v'",
        ),
        # names
        ('id = "main"', 'id = "i2c1"', "line 36, clock[1].id", "bus before it"),
        ('id = "main"', 'id = "MAIN 1"', "line 36, clock[1].id", "Write it as main-1"),
        ('id = "main"', 'id = ""', "line 36, clock[1].id", "empty"),
        # features
        ('subjects = ["i2c1"]', 'subjects = ["i2c2"]', "line 51, feature[1].sub", "Nearest: i2c1"),
        ('subjects = ["i2c1"]', 'subjects = ["3v3"]', "line 51", "microcontroller is on 3v3"),
        ('subjects = ["i2c1"]', 'subjects = ["vbus"]', "line 51", "'3v3' is on 'vbus'"),
        # quantities
        ('"16 MHz"', '"16 MV"', "line 37, clock[1].frequency", "Hz"),
        ('"20 mA"', '"-20 mA"', "line 43, load[1].typical", "too small"),
        ('"20 mA"', '"2,5 mA"', "line 43, load[1].typical", "comma"),
        ('"40 mA"', '"40 mA"\ncount = 0', "line 45, load[1].count", "1 or more"),
        # keys
        ("parts = 20", "part = 20", "line 7, board.part", "Nearest: parts"),
        ("parts = 20", 'parts = 20\nmcu = "x"', "line 11, board.pins", "Keep mcu or pins"),
        ("[[clock]]", "[[clok]]", "line 35, clok", "Nearest: clock"),
    ],
)
def test_a_fault_is_refused_with_key_line_and_cure(
    old: str, new: str, where: str, words: str
) -> None:
    refusal = refused((old, new))
    assert refusal.where.startswith("lamp.toml")
    assert where in refusal.where
    assert words in f"{refusal.what}. {refusal.do}"
    assert "\n" not in str(refusal)


def test_a_rail_above_all_that_feeds_it_is_stepped_up_and_not_down() -> None:
    cells = ('"4.75 .. 5.25 V"', '"1.8 / 2.7 / 3.2 V"')
    refusal = refused(cells, ('regulator = "linear"', 'regulator = "switching"'))
    assert refusal.what == "3v3 is above vbus: a switching converter steps down"
    assert "line 25, rail[2].facts.regulator" in refusal.where
    assert 'Write "step-up"' in refusal.do
    # Where the windows overlap a converter may go either way.
    across = ('"4.75 .. 5.25 V"', '"3 .. 4.2 V"')
    for made in ("switching", "step-up"):
        brief = small(across, ('regulator = "linear"', f'regulator = "{made}"'))
        assert brief.rails[1].facts["regulator"] == made


@pytest.mark.parametrize("voltage", ["230 V", "12 / 24 / 60.1 V", "24 V AC", "24 VAC", "~24 V"])
def test_mains_and_high_voltage_are_refused_by_name(voltage: str) -> None:
    refusal = refused(('"4.75 .. 5.25 V"', f'"{voltage}"'))
    assert "low-voltage DC boards only" in refusal.what
    assert "line 17, rail[1].voltage" in refusal.where


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('title = "Lamp"', 'title = "Mains dimmer"'),
        ('title = "Main supply"', 'title = "AC input"'),
        ('id = "j1"', 'id = "mains-in"'),
        ('title = "Microcontroller"', 'title = "Heater on mains"'),
    ],
)
def test_what_is_called_mains_or_ac_is_refused(old: str, new: str) -> None:
    assert "low-voltage DC boards only" in refused((old, new)).what


def test_sixty_volts_and_innocent_words_are_no_mains() -> None:
    brief = small(('"4.75 .. 5.25 V"', '"18 .. 60 V"'), ('"Main supply"', '"Main active supply"'))
    assert brief.rails[0].voltage == "18 .. 60 V"


def test_a_second_source_is_a_second_rail_without_parent() -> None:
    text = SMALL + '[[rail]]\nid = "cell"\nvoltage = "3.0 .. 4.2 V"\n'
    brief = parse_brief(text, "lamp.toml")
    assert brief.entry.id == "vbus"
    assert brief.subjects()[2] == Subject("cell", "rail", "", "cell")


def test_a_subject_belongs_to_one_feature() -> None:
    again = '[[feature]]\nid = "shine"\ntitle = "Shines"\nsubjects = ["i2c1"]\n'
    with pytest.raises(Refusal) as caught:
        parse_brief(SMALL + again, "lamp.toml")
    assert "feature[2].subjects" in caught.value.where
    with pytest.raises(Refusal) as caught:
        parse_brief(SMALL + again.replace("shine", "glow").replace("i2c1", "j1"), "lamp.toml")
    assert "two features 'glow'" in caught.value.what


def test_several_faults_are_counted() -> None:
    refusal = refused(('mcu_rail = "3v3"', 'mcu_rail = "x"'), ('parent = "vbus"', 'parent = "y"'))
    assert "line 9" in refusal.where
    assert refusal.do.endswith("And 1 more fault")


def test_a_long_chain_of_rails_is_followed_to_its_end() -> None:
    def chain(length: int) -> str:
        return SMALL + "".join(
            f'[[rail]]\nid = "r{n}"\nparent = "{f"r{n - 1}" if n else "3v3"}"\nvoltage = "1 V"\n'
            for n in range(length)
        )

    assert len(parse_brief(chain(198), "lamp.toml").rails) == 200
    with pytest.raises(Refusal) as caught:
        parse_brief(chain(20_000), "lamp.toml")
    assert "at most 200 entries" in str(caught.value)


@pytest.mark.parametrize("value", ["", "7", "true", "[1]", "{}", '"\\u0000"', "nan", "07:32:00"])
def test_whatever_stands_in_a_line_only_a_refusal_comes_of_it(value: str) -> None:
    lines = SMALL.splitlines()
    refusals = 0
    for number, line in enumerate(lines):
        key = line.partition("=")[0]
        broken = f"{key}= {value}" if "=" in line else value
        text = "\n".join([*lines[:number], broken, *lines[number + 1 :]])
        try:
            parse_brief(text, "lamp.toml")
        except Refusal as refusal:
            refusals += 1
            assert refusal.where.startswith("lamp.toml")
            assert "\n" not in str(refusal)
            assert len(str(refusal)) < 300
    assert refusals > len(lines) // 4


# ---- files and cards -------------------------------------------------------------------------


def write(folder: Path, text: str, name: str = "lamp.toml") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def test_the_card_of_the_microcontroller_adds_what_the_brief_leaves_open(tmp_path: Path) -> None:
    text = changed(
        ("pins = { supply = 2, core = 1 }", 'mcu = "brindle-48"'),
        ('supply = "usb-c"', "core_pin = false"),
    )
    known = Knowledge.of(load_brief(write(tmp_path, text)).knowledge_values())
    assert known.get("strap_pins") is True
    assert known.get("core_pin") is False


def test_a_card_named_by_path_lies_beside_the_brief(tmp_path: Path) -> None:
    card = (shared_dir() / "parts" / "sedge-28.toml").read_text(encoding="utf-8")
    (tmp_path / "cards").mkdir()
    write(tmp_path / "cards", card, "mine.toml")
    text = changed(("pins = { supply = 2, core = 1 }", 'mcu = "cards/mine.toml"'))
    brief = load_brief(write(tmp_path, text))
    assert brief.board.mcu == str(tmp_path / "cards" / "mine.toml")
    assert values_of(brief)["board.mcu"] == brief.board.mcu


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ('mcu = "brindle-49"', "Nearest: brindle-48"),
        ('mcu = "hearth-33"', "is a regulator"),
        ('mcu = "./gone.toml"', "no part card here"),
        ('capability = "two-layers"', "Nearest: two-layer-quick"),
    ],
)
def test_a_card_that_cannot_be_used_is_refused_at_its_key(
    tmp_path: Path, key: str, words: str
) -> None:
    path = write(tmp_path, changed(("pins = { supply = 2, core = 1 }", key)))
    with pytest.raises(Refusal) as caught:
        load_brief(path)
    assert f"line 10, board.{key.split(maxsplit=1)[0]}" in caught.value.where
    assert words in str(caught.value)


def test_an_unknown_brief_is_refused_with_the_nearest() -> None:
    with pytest.raises(Refusal) as caught:
        load_brief("usb-bench-metre")
    assert caught.value.do == "Nearest: usb-bench-meter"


# ---- the bundled briefs ----------------------------------------------------------------------


def test_three_briefs_are_bundled_with_deadlines_of_their_own() -> None:
    assert list_shared("briefs") == BUNDLED
    assert {load_brief(name).deadline.minutes for name in BUNDLED} == {90, 120, 150}


@pytest.mark.parametrize("name", BUNDLED)
def test_a_bundled_brief_can_be_edited_by_a_newcomer(name: str) -> None:
    text = (shared_dir() / "briefs" / f"{name}.toml").read_text(encoding="utf-8")
    explained: set[str] = set()
    comment = False
    for line in text.splitlines():
        if header := re.match(r"\[+(\w+)\]+", line):
            assert comment or header[1] in explained, f"{header[1]} has no comment above it"
            explained.add(header[1])
        comment = line.startswith("#")
    assert explained >= {"deadline", "board", "facts", "rail", "bus", "connector", "load"}


@pytest.mark.parametrize("name", BUNDLED)
def test_a_bundled_brief_has_features_to_keep_and_features_to_drop(name: str) -> None:
    features = load_brief(name).features
    assert 4 <= len(features) <= 6
    assert {feature.required for feature in features} == {True, False}
    assert sum(feature.points for feature in features) in range(90, 101)
    assert all(feature.minutes for feature in features if not feature.required)


@pytest.mark.parametrize("name", BUNDLED)
def test_a_bundled_board_stands_on_rails_that_can_carry_it(name: str) -> None:
    brief = load_brief(name)
    assert brief.board.mcu and brief.board.capability
    capability = load_capability(brief.board.capability)
    assert capability.layers == brief.board.layers
    for rail in brief.rails:
        assert rail.current, rail.id
        drawn = sum(
            read_quantity(load.peak, "A").high * load.count
            for load in brief.loads
            if load.rail == rail.id
        )
        assert drawn <= read_quantity(rail.current, "A").low, rail.id
        if rail.parent:  # none of these boards steps a voltage up
            above = next(other for other in brief.rails if other.id == rail.parent)
            low, high = (read_quantity(r.voltage, "V") for r in (rail, above))
            assert low.typ < high.typ


def test_the_tag_runs_from_a_coin_cell_and_has_no_usb() -> None:
    known = Knowledge.of(load_brief("orchard-radio-tag").knowledge_values())
    assert known.get("supply") == "battery"
    assert known.get("usb_data") is False
    assert known.get("radio") is True


# ---- names -----------------------------------------------------------------------------------


def test_every_published_name_is_a_declared_one() -> None:
    forms = [
        re.compile(re.sub(r"\\\{\w+\\\}", "[a-z0-9_-]+", re.escape(name))) for name in BRIEF_NAMES
    ]
    # Of the roles of part cards a board has some.
    needed = [form for form in forms if "card" not in form.pattern]
    published = {name for brief in map(load_brief, BUNDLED) for name in values_of(brief)}
    published |= set(values_of(small()))
    assert all(any(form.fullmatch(name) for form in forms) for name in published)
    assert all(any(form.fullmatch(name) for name in published) for form in needed)


def test_the_facts_a_card_can_answer_are_declared() -> None:
    known = load_facts()
    brief = load_brief("usb-bench-meter")
    for subject, fact, _ in brief.knowledge_values():
        kind = {s.id: s.kind for s in brief.subjects()}.get(subject, "board")
        assert known[fact].per == kind
