"""A bag that names a shot log: what it may name, what comes of it, and that it is fitted once."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from planner.errors import BagFileError
from planner.golfer.bag import bag_from_text
from planner.golfer.bag_writing import with_patterns
from planner.golfer.swing_set import OWN_SHOTS, build_shot_model, pattern_source
from planner.planning import bag_reading
from planner.planning.bag_reading import read_bag_file
from planner.planning.saved_work import open_bag, save_file
from planner.store.location import cache_folder
from planner.store.opening import open_store

BAG = """
format = 1
name = "logged"
[shot_log]
file = "logs/own.csv"
[golfer]
name = "Ilka Marrow"
handicap_index = 18.0
[[club]]
label = "Driver"
kind = "driver"
loft_deg = 10.5
tee_only = true
[club.pattern]
carry = 180.0
[[club]]
label = "7 iron"
kind = "iron"
loft_deg = 33.0
[[club]]
label = "9 iron"
kind = "iron"
loft_deg = 41.0
[[club]]
label = "Wedge"
kind = "wedge"
loft_deg = 50.0
[[club]]
label = "Putter"
kind = "putter"
"""


def log_text(heading: str = "club,carry (m),offline (m)") -> str:
    rng = np.random.default_rng(5)
    rows = [heading]
    for club, carry, count in (("7 iron", 120.0, 60), ("9 iron", 102.0, 8), ("Driver", 170.0, 12)):
        for along, across in rng.normal((carry, 3.0), (7.0, 8.0), (count, 2)):
            rows.append(f"{club},{along:.1f},{across:.1f}")
    return "\n".join(rows) + "\n"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr(bag_reading, "_memory", type(bag_reading._memory)())
    (tmp_path / "logs").mkdir()
    (tmp_path / "logs" / "own.csv").write_text(log_text())
    (tmp_path / "bag.toml").write_text(BAG)
    return tmp_path


def problems_of(folder: Path) -> str:
    with pytest.raises(BagFileError) as caught:
        read_bag_file(folder / "bag.toml")
    return str(caught.value)


def test_each_clubs_fit_is_its_pattern(folder):
    bag = read_bag_file(folder / "bag.toml")
    seven = bag.club("7 iron").pattern
    assert seven.carry_m == pytest.approx(120.0, abs=3.0)
    assert seven.shots == 60
    assert seven.fitted
    assert pattern_source(bag) == {
        "Driver": "carry only",
        "7 iron": "measured",
        "9 iron": "shrunk",
        "Wedge": "predicted",
    }
    assert 8 < OWN_SHOTS < 60


def test_a_pattern_of_the_bags_own_is_kept(folder):
    bag = read_bag_file(folder / "bag.toml")
    assert bag.club("Driver").pattern.carry_m == 180.0
    assert any("bag's own patterns are used" in finding for finding in bag.findings)


def test_the_model_says_where_patterns_come_from(folder):
    notes = "\n".join(build_shot_model(read_bag_file(folder / "bag.toml")).notes)
    assert "measured: 7 iron (60 shots)" in notes
    assert "shrunk toward what the handicap predicts, for few shots: 9 iron (8 shots)" in notes
    assert "predicted from the handicap and the other clubs: Wedge" in notes


def test_few_shots_are_drawn_toward_the_skill_model(folder):
    rows = ["club,carry (m),offline (m)"]
    rows += [f"9 iron,{102 + 0.1 * i:.1f},{0.1 * i:.1f}" for i in range(8)]
    (folder / "logs" / "own.csv").write_text("\n".join(rows) + "\n")
    nine = read_bag_file(folder / "bag.toml").club("9 iron").pattern
    assert nine.carry_sd_m > 3.0


def test_a_fit_is_kept_by_content(folder, monkeypatch):
    calls = []
    fit_shots = bag_reading.fit_shots
    monkeypatch.setattr(
        bag_reading, "fit_shots", lambda *args, **how: calls.append(1) or fit_shots(*args, **how)
    )
    first = read_bag_file(folder / "bag.toml")
    assert read_bag_file(folder / "bag.toml") == first
    bag_reading._memory.clear()
    assert read_bag_file(folder / "bag.toml") == first
    assert len(calls) == 1
    with (folder / "logs" / "own.csv").open("a") as log:
        log.write("7 iron,150,0\n")
    assert read_bag_file(folder / "bag.toml") != first
    assert len(calls) == 2


def test_a_spoilt_cache_is_passed_over(folder):
    first = read_bag_file(folder / "bag.toml")
    [kept] = (cache_folder() / "fits").glob("*.json")
    for content in ("{", "[]", json.dumps({"patterns": {"7 iron": {"carry_m": 1}}, "notes": 3})):
        kept.write_text(content)
        bag_reading._memory.clear()
        assert read_bag_file(folder / "bag.toml") == first


@pytest.mark.parametrize(
    "file",
    [
        "/etc/passwd",
        "../own.csv",
        "logs/../../own.csv",
        "C:\\\\own.csv",
        "..\\\\own.csv",
        "~/a.csv",
    ],
)
def test_a_path_that_leads_out_is_refused(folder, file):
    (folder / "bag.toml").write_text(BAG.replace("logs/own.csv", file))
    assert "leads out of the folder of the bag" in problems_of(folder)


def test_a_link_that_leads_out_is_refused(folder, tmp_path_factory):
    outside = tmp_path_factory.mktemp("outside") / "own.csv"
    outside.write_text(log_text())
    (folder / "logs" / "own.csv").unlink()
    (folder / "logs" / "own.csv").symlink_to(outside)
    assert "leads out of the folder of the bag" in problems_of(folder)


def test_a_log_that_is_missing_or_no_log_is_told(folder):
    (folder / "logs" / "own.csv").write_text("nothing of use\n")
    assert 'shot_log "logs/own.csv"' in problems_of(folder)
    (folder / "logs" / "own.csv").unlink()
    said = problems_of(folder)
    assert "bag.toml" in said
    assert 'shot_log "logs/own.csv": does not exist; check the path' in said


def test_units_columns_and_club_stand_in_the_bag(folder):
    how = 'file = "logs/own.csv"\nunits = "yards"\ncolumns = "carry=Flight,offline=Side,club=Stick"'
    (folder / "bag.toml").write_text(BAG.replace('file = "logs/own.csv"', how))
    (folder / "logs" / "own.csv").write_text(log_text("Stick,Flight,Side"))
    seven = read_bag_file(folder / "bag.toml").club("7 iron").pattern
    assert seven.carry_m == pytest.approx(120.0 * 0.9144, abs=3.5)
    (folder / "bag.toml").write_text(BAG.replace('file = "logs/own.csv"', 'flie = "own.csv"'))
    assert "shot_log" in problems_of(folder)


def test_a_log_given_by_hand_may_be_anywhere(folder, tmp_path_factory):
    other = tmp_path_factory.mktemp("elsewhere") / "range.csv"
    other.write_text(log_text().replace("7 iron,", "Wedge,"))
    bag = read_bag_file(folder / "bag.toml", shots=other)
    assert bag.club("7 iron").pattern is None
    assert bag.club("Wedge").pattern is not None


def test_the_reference_outlives_writing(folder):
    bag = read_bag_file(folder / "bag.toml")
    text = with_patterns(BAG, {"9 iron": bag.club("9 iron").pattern})
    again = bag_from_text(text, source="bag")
    assert again.shot_log == bag.shot_log
    assert again.club("9 iron").pattern == bag.club("9 iron").pattern
    assert pattern_source(again)["9 iron"] == "shrunk"


def test_a_bag_alone_says_that_its_log_is_not_at_hand():
    bag = bag_from_text(BAG, source="bag")
    assert bag.shot_log is not None
    assert any("not at hand" in finding for finding in bag.findings)


def test_a_saved_bag_takes_its_log_along(folder):
    path = folder / "bag.toml"
    read = read_bag_file(path)
    with open_store(folder / "store.sqlite") as store:
        save_file(store, path)
        (folder / "logs" / "own.csv").unlink()
        kept = open_bag(store, "logged")
    for label in ("7 iron", "9 iron"):
        ours, theirs = kept.club(label).pattern, read.club(label).pattern
        assert ours.shots == theirs.shots
        assert ours.carry_m == pytest.approx(theirs.carry_m, abs=0.2)
