"""Reading of bag files: good ones exactly, bad ones with every problem at once."""

import math
from pathlib import Path

import pytest

from planner.errors import BagFileError, OptionError
from planner.golfer.bag import Bag, read_bag
from planner.golfer.club import ClubKind
from planner.units import DistanceUnit

GOOD = """
format = 1
name = "Autumn set"
units = "yards"
currency = "crowns"
[golfer]
name = "Ilka Brandau"
handed = "left"
handicap_index = -1.5
[golfer.delivery]
club = "7 iron"
speed_mph = 100
attack_deg = -4.5
loft_taken_off_deg = 3
[golfer.putting]
angle_sd_deg = 1.2
[golfer.short_game]
spread_factor = 1.3
[[club]]
label = "Driver"
kind = "driver"
loft_deg = 9
length_in = 45
tee_only = true
price = 120
[club.pattern]
carry = 250
offline = -3
carry_sd = 10
offline_sd = 15
correlation = 0.2
run = 20
shots = 40
[[club.pattern.mishit]]
name = "short"
share = 0.05
carry = 120
offline = 4
carry_sd = 30
offline_sd = 12
[[club]]
label = "7 iron"
kind = "iron"
loft_deg = 33
status = "candidate"
resale = 15.5
pattern = { carry = 150 }
[[club]]
label = "Putter"
kind = "putter"
"""


def write(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "bag.toml"
    path.write_text(text, encoding="utf-8")
    return path


def problems(tmp_path: Path, text: str) -> tuple[str, ...]:
    with pytest.raises(BagFileError) as caught:
        read_bag(write(tmp_path, text))
    assert all("bag.toml: " in line for line in str(caught.value).splitlines())
    return caught.value.problems


def test_good_file_is_read_in_metres_and_radians(tmp_path: Path) -> None:
    bag = read_bag(write(tmp_path, GOOD))
    assert (bag.name, bag.currency, bag.unit) == ("Autumn set", "crowns", DistanceUnit.YARDS)
    golfer = bag.golfer
    assert golfer.left_handed
    assert golfer.handicap_index == -1.5
    assert golfer.short_game_factor == 1.3
    assert golfer.putting.angle_sd == pytest.approx(math.radians(1.2))
    assert golfer.putting.distance_sd is None
    assert golfer.delivery is not None
    assert golfer.delivery.speed_mps == pytest.approx(44.704)
    assert golfer.delivery.attack == pytest.approx(math.radians(-4.5))
    driver, iron, putter = bag.clubs
    assert driver.kind is ClubKind.DRIVER
    assert driver.loft == pytest.approx(math.radians(9))
    assert driver.length_m == pytest.approx(1.143)
    assert driver.tee_only
    assert not iron.tee_only
    pattern = driver.pattern
    assert pattern is not None
    assert pattern.carry_m == pytest.approx(228.6)
    # World right stays right for a left-hander.
    assert pattern.offline_m == pytest.approx(-3 * 0.9144)
    assert pattern.run_m == pytest.approx(18.288)
    assert pattern.mishits is not None
    assert pattern.mishits[0].carry_m == pytest.approx(120 * 0.9144)
    assert pattern.mishits[0].share == 0.05
    assert iron.pattern is not None
    assert iron.pattern.mishits is None
    assert not iron.carried
    assert iron.resale == 15.5
    assert bag.carried() == (driver, putter)


def test_inertia_of_a_head_is_read_up_to_the_rule_and_its_tolerance(tmp_path: Path) -> None:
    # Equipment Rules: 5900 g cm2, and 100 as the tolerance of the test (from memory).
    text = GOOD.replace("tee_only = true", "tee_only = true\nhead_inertia_g_cm2 = 6000")
    driver, iron, _ = read_bag(write(tmp_path, text)).clubs
    assert driver.head_inertia_kg_m2 == pytest.approx(6e-4)
    assert iron.head_inertia_kg_m2 is None


def test_a_delivery_says_only_what_it_knows(tmp_path: Path) -> None:
    text = GOOD.replace("attack_deg = -4.5\n", "").replace("loft_taken_off_deg = 3\n", "")
    delivery = read_bag(write(tmp_path, text)).golfer.delivery
    assert delivery is not None
    assert (delivery.attack, delivery.loft_taken_off) == (None, None)


def test_defaults_are_stated(tmp_path: Path) -> None:
    text = '[[club]]\nlabel="a"\nkind="IRON"\nloft_deg=30\n[[club]]\nlabel="p"\nkind="putter"\n'
    bag = read_bag(write(tmp_path, text))
    assert bag.unit is DistanceUnit.METRES
    assert bag.golfer.handicap_index == 18.0
    assert any("handicap_index" in line and "18" in line for line in bag.findings)


@pytest.mark.parametrize(
    ("old", "new", "wanted"),
    [
        ("loft_deg = 33", "lofts_deg = 33", ['did you mean "loft_deg"?', "loft_deg: missing"]),
        ("loft_deg = 9\n", "loft_deg = 33\n", ["33 degrees for a driver is not possible"]),
        ("carry_sd = 10\n", "carry_sd = nan\n", ['("Driver"), pattern: carry_sd: is nan']),
        ("carry_sd = 10\n", "carry_sd = -10\n", ["carry_sd: -10 yards is not possible"]),
        ("carry = 250", 'carry = "250"', ["'250' is not a number; write it without quotes"]),
        ("carry = 250", "carry = true", ["True is not a number"]),
        ("carry = 250", "carry = 2500", ["2500 yards is not possible"]),
        ("carry = 250", "carry = inf", ["inf yards is not possible"]),
        ('units = "yards"', 'units = "yard"', ['did you mean "yards"?', "metres, yards"]),
        ("format = 1", "format = 2", ["format: 2 is not known"]),
        ('handed = "left"', 'handed = "both"', ["write one of: right, left"]),
        ("speed_mph = 100", "speed_mph = 0", ["golfer, delivery: speed_mph: 0 mph"]),
        ('club = "7 iron"', 'club = "7-iron"', ['no club "7-iron"; did you mean "7 iron"?']),
        ("tee_only = true", 'tee_only = "yes"', ["write true or false"]),
        ("tee_only = true", "head_inertia_g_cm2 = 6001", ["head_inertia_g_cm2: 6001 g cm2 is not"]),
        ("tee_only = true", "head_inertia_g_cm2 = 5.9", ["5.9 g cm2 is not possible"]),
        (
            'kind = "putter"',
            'kind = "putter"\nhead_inertia_g_cm2 = 5000',
            ["head_inertia_g_cm2: plays no part with a putter; remove it"],
        ),
        ("shots = 40", "shots = 4.5", ["shots: 4.5 is not a whole number"]),
        ("share = 0.05", "share = 1.5", ['mishit table 1 ("short"): share: 1.5 is not possible']),
        ("share = 0.05", "", ["share: missing; give its share of all shots"]),
        ("correlation = 0.2", "correlation = 1", ["correlation: 1 is not possible"]),
        ('label = "7 iron"', 'label = "driver"', ["label is used more than once"]),
        ('kind = "putter"', 'kind = "iron"\nloft_deg = 40', ["no putter in the bag"]),
        ('kind = "putter"', 'kind = "puter"', ['did you mean "putter"?']),
        ("[[club.pattern.mishit]]", "[club.pattern.mishit]", ["[[mishit]] with double brackets"]),
        ("[golfer.short_game]\nspread_factor = 1.3", "", None),
    ],
)
def test_each_fault_is_named_with_its_remedy(
    tmp_path: Path, old: str, new: str, wanted: list[str] | None
) -> None:
    assert old in GOOD
    text = GOOD.replace(old, new, 1)
    if wanted is None:
        assert read_bag(write(tmp_path, text)).golfer.short_game_factor == 1.0
        return
    found = "\n".join(problems(tmp_path, text))
    for part in wanted:
        assert part in found


def test_all_problems_come_at_once(tmp_path: Path) -> None:
    text = (
        GOOD.replace("loft_deg = 9", "loft_deg = 90")
        .replace("carry = 150", "carry = -1")
        .replace("handicap_index = -1.5", 'handicap_index = "scratch"')
        .replace('currency = "crowns"', "currency = 3\ncolour = 1")
    )
    found = problems(tmp_path, text)
    assert len(found) == 5
    assert sum("club table" in line for line in found) == 2


def test_fifteen_clubs_are_one_too_many(tmp_path: Path) -> None:
    more = "".join(
        f'[[club]]\nlabel = "iron {i}"\nkind = "iron"\nloft_deg = {20 + i}\n' for i in range(13)
    )
    found = problems(tmp_path, GOOD + more)
    assert any("15 clubs are in the bag, 1 too many: Rule 4.1b allows 14" in x for x in found)


@pytest.mark.parametrize(
    ("content", "part"),
    [
        (b"\xff\xfe\x00", "line 1: is not UTF-8"),
        (b'{"type": "bag"}', "is not TOML"),
        (b"a = " + b"[" * 5000, "is not TOML"),
        (b"a = " + b"[" * 20_000, "line 1: is too long"),
        (b"a" + b".a" * 300 + b" = 1", "line 1: is too long"),
        (b"format = " + b"9" * 400, "format: inf is not possible"),
        (b"format = " + b"9" * 9000, "is not TOML: Exceeds the limit"),
        (b'name = "\\u001b[2J"', "name: holds a control character"),
        (b"[[club]]\n" * 201, "201 clubs are given; at most 200 are read"),
        (b"".join(b"k%d = 1\n" % i for i in range(500)), "there are more faults"),
        (b"", "club: missing; add a [[club]] table"),
        (b"club = 3", "club: is not a list of tables"),
        (b"# " + b"x" * 300_001, "has at most 0.3 MB"),
    ],
)
def test_files_that_are_no_bag(tmp_path: Path, content: bytes, part: str) -> None:
    path = tmp_path / "bag.toml"
    path.write_bytes(content)
    with pytest.raises(BagFileError) as caught:
        read_bag(path)
    assert part in str(caught.value)


def test_missing_file_and_folder(tmp_path: Path) -> None:
    with pytest.raises(BagFileError, match="does not exist"):
        read_bag(tmp_path / "none.toml")
    with pytest.raises(BagFileError, match="folder"):
        read_bag(tmp_path)


def test_odd_but_usable_values_are_findings(tmp_path: Path) -> None:
    text = GOOD.replace("shots = 40", "shots = 5").replace("carry = 150", "carry = 20")
    findings = read_bag(write(tmp_path, text)).findings
    assert any("only 5 shots" in line for line in findings)
    assert any('"7 iron"' in line and "unusual" in line for line in findings)


def test_choice_of_clubs(tmp_path: Path) -> None:
    bag = read_bag(write(tmp_path, GOOD))
    chosen: Bag = bag.with_clubs(["7 IRON", "Putter"])
    assert [club.label for club in chosen.carried()] == ["7 iron", "Putter"]
    with pytest.raises(OptionError, match='did you mean "7 iron"'):
        bag.with_clubs(["7iron"])
