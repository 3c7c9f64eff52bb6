"""Export and import: an exact round trip, and nothing from outside is trusted."""

from __future__ import annotations

import hashlib
import io
import itertools
import json
import string
import zipfile
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.errors import ArchiveError, StoreError
from planner.planning.saved_work import delete_saved, export_to, import_from, undo_last
from planner.store import archive_layout, archive_reading, archive_writing
from planner.store.archive_layout import shots_from_csv, shots_to_csv
from planner.store.bags import save_bag
from planner.store.courses import save_course
from planner.store.drafts import save_draft
from planner.store.golfers import save_golfer
from planner.store.opening import Store, open_store
from planner.store.plans import save_plan
from planner.store.records import RoundHole, RoundShot, SavedRound, SavedShot
from planner.store.rounds import save_round
from planner.store.shots import save_shots

from .builders import GOLFER, NOTHING, bag_file, contents, fill, plan_content

WORD = st.text(
    st.characters(blacklist_categories=["Cs"], blacklist_characters="\0"), min_size=1, max_size=30
)
LABEL = st.text(string.ascii_letters + " åß=", min_size=1, max_size=20).map(lambda t: f"x{t}x")
NUMBER = st.floats(allow_nan=False, allow_infinity=False)
COUNT = st.integers(0, 2**31 - 1)


def maybe(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.none() | strategy


SHOT = st.builds(
    SavedShot,
    club=WORD,
    source_row=maybe(COUNT),
    carry_m=maybe(NUMBER),
    offline_m=maybe(NUMBER),
    total_m=maybe(NUMBER),
    lie=maybe(WORD),
    outcome=maybe(WORD),
    date=maybe(WORD),
)
ROUND_SHOT = st.builds(
    RoundShot,
    hole_ref=WORD,
    number=COUNT,
    club=maybe(WORD),
    lie=maybe(WORD),
    outcome=maybe(WORD),
    lon_deg=maybe(NUMBER),
    lat_deg=maybe(NUMBER),
    to_pin_m=maybe(NUMBER),
    carry_m=maybe(NUMBER),
    total_m=maybe(NUMBER),
    offline_m=maybe(NUMBER),
    penalties=maybe(COUNT),
    plan_kept=maybe(st.booleans()),
)
ROUND_HOLE = st.builds(
    RoundHole,
    ref=WORD,
    par=maybe(COUNT),
    strokes=maybe(COUNT),
    putts=maybe(COUNT),
    penalties=maybe(COUNT),
)
ROUND = st.fixed_dictionaries(
    {
        "date": st.dates(date(1900, 1, 1)),
        "course_name": WORD,
        "course_key": maybe(WORD),
        "tee": maybe(WORD),
        "notes": maybe(WORD),
        "holes": st.lists(ROUND_HOLE, max_size=3).map(tuple),
        "shots": st.lists(ROUND_SHOT, max_size=3).map(tuple),
        "saved_at": st.datetimes(timezones=st.just(UTC)),
    }
)
HOLDING = st.fixed_dictionaries(
    {
        "golfers": st.lists(LABEL, min_size=1, max_size=2, unique=True),
        "shots": st.dictionaries(WORD, st.lists(SHOT, max_size=4), max_size=2),
        "rounds": st.lists(ROUND, max_size=2),
        "courses": st.dictionaries(st.binary(max_size=300), st.tuples(WORD, WORD), max_size=2),
        "plans": st.dictionaries(
            WORD, st.dictionaries(WORD, WORD | NUMBER, max_size=3), max_size=2
        ),
        "drafts": st.dictionaries(WORD, st.none() | WORD, max_size=2),
        "carries": st.lists(st.integers(50, 300), max_size=2, unique=True),
    }
)


@pytest.fixture
def new_name() -> Iterator[str]:
    return (f"n{number}" for number in itertools.count())


@given(holding=HOLDING)
@settings(max_examples=15, suppress_health_check=list(HealthCheck))
def test_round_trip_is_exact(
    store: Store, tmp_path: Path, new_name: Iterator[str], holding: dict[str, Any]
) -> None:
    here, there = next(new_name), next(new_name)
    with store.writing(here) as work:
        for name in holding["golfers"]:
            one = save_golfer(work, name)
            for log, kept in holding["shots"].items():
                save_shots(work, one.id, log, kept)
            for values in holding["rounds"]:
                save_round(work, SavedRound(golfer_id=one.id, **values))
            for carry in holding["carries"]:
                text = bag_file(f"bag {carry}", golfer=name, carry=carry)
                save_bag(work, text, source="bag")
            for called, more in holding["plans"].items():
                save_plan(work, {**more, **plan_content(golfer=name)}, name=called)
        for source, (called, file) in holding["courses"].items():
            save_course(work, source, name=called, file_name=file)
        for called, begun_from in holding["drafts"].items():
            save_draft(work, None, name=called, source=begun_from, text=json.dumps({called: 1}))
    archive = tmp_path / f"{here}.zip"
    export_to(store, archive, owner=here)
    counts = import_from(store, archive, owner=there)
    assert contents(store, there) == contents(store, here)
    assert (counts.there, counts.replaced) == (0, 0)
    # Again: everything is there already.
    again = import_from(store, archive, owner=there)
    assert (again.added, again.there) == (0, counts.added)
    assert contents(store, there) == contents(store, here)
    second = tmp_path / f"{there}.zip"
    export_to(store, second, owner=there)
    assert files_of(second) == files_of(archive)


def files_of(archive: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(archive) as zipped:
        return {name: zipped.read(name) for name in zipped.namelist() if name != "manifest.json"}


@given(shots=st.lists(SHOT, max_size=5))
def test_table_of_shots_is_exact_and_holds_no_formula(shots: list[SavedShot]) -> None:
    table = shots_to_csv(tuple(shots))
    assert shots_from_csv(table, "table") == tuple(shots)
    for shot in shots:
        for text in (shot.club, shot.lie, shot.outcome, shot.date):
            if text is not None and text.startswith(("=", "+", "-", "@", "\t", "\r")):
                assert f"'{text}".replace('"', '""').encode() in table


def test_archive_moves_between_databases(store: Store, file_store: Store, tmp_path: Path) -> None:
    fill(store)
    export_to(store, tmp_path / "all.zip")
    import_from(file_store, tmp_path / "all.zip")
    assert contents(file_store) == contents(store)


def test_what_is_deleted_is_not_exported_and_comes_back_by_import(
    file_store: Store, tmp_path: Path
) -> None:
    fill(file_store)
    export_to(file_store, tmp_path / "before.zip")
    before = contents(file_store)
    delete_saved(file_store, "golfer", GOLFER)
    export_to(file_store, tmp_path / "after.zip")
    assert not any(
        GOLFER.encode() in content for content in files_of(tmp_path / "after.zip").values()
    )
    for _ in range(2):
        import_from(file_store, tmp_path / "before.zip")
    after = contents(file_store)
    assert {name: len(found) for name, found in after.items()} == dict.fromkeys(NOTHING, 1)
    assert after["bags"][0].text == before["bags"][0].text
    # The deleted ones still come back, beside the new ones.
    undo_last(file_store)
    assert {one.name for one in contents(file_store)["golfers"]} == {GOLFER, f"{GOLFER} (2)"}


def test_other_computer_with_the_same_golfer(tmp_path: Path, file_store: Store) -> None:
    fill(file_store)
    with open_store(tmp_path / "other.sqlite") as other:
        with other.writing() as work:
            save_bag(work, bag_file("second bag"), source="bag")
            save_bag(work, bag_file("plain bag"), source="bag")
        export_to(other, tmp_path / "other.zip")
    counts = import_from(file_store, tmp_path / "other.zip")
    assert (counts.added, counts.there) == (1, 2)
    found = contents(file_store)
    assert len(found["golfers"]) == 1
    assert {one.golfer_id for one in found["bags"]} == {found["golfers"][0].id}
    assert sorted(one.name for one in found["bags"]) == ["plain bag", "second bag"]


def test_clash_is_refused_as_a_whole_or_replaces(tmp_path: Path, file_store: Store) -> None:
    fill(file_store)
    before = contents(file_store)
    with open_store(tmp_path / "other.sqlite") as other:
        with other.writing() as work:
            save_bag(work, bag_file("another bag"), source="bag")
            save_bag(work, bag_file(carry=222), source="bag")
        export_to(other, tmp_path / "other.zip")
    with pytest.raises(ArchiveError, match=r'another bag "plain bag" is in the store.*--replace'):
        import_from(file_store, tmp_path / "other.zip")
    assert contents(file_store) == before
    counts = import_from(file_store, tmp_path / "other.zip", replace=True)
    assert (counts.added, counts.there, counts.replaced) == (1, 1, 1)
    assert "carry = 222" in contents(file_store)["bags"][1].text
    assert undo_last(file_store).what == "replacing by import of other.zip"
    assert before["bags"][0] in contents(file_store)["bags"]
    assert len(contents(file_store)["bags"]) == 2


def test_export_does_not_overwrite(file_store: Store, tmp_path: Path) -> None:
    fill(file_store)
    target = tmp_path / "all.zip"
    target.write_text("mine")
    with pytest.raises(StoreError, match="is there already"):
        export_to(file_store, target)
    assert target.read_text() == "mine"
    export_to(file_store, target, overwrite=True)
    assert zipfile.is_zipfile(target)
    with pytest.raises(StoreError, match=r"cannot be written.*No such"):
        export_to(file_store, tmp_path / "no" / "all.zip")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["all.zip", "store.sqlite"]


def test_too_much_for_an_archive_is_said(
    file_store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill(file_store)
    monkeypatch.setattr(archive_writing, "MAX_TOTAL_BYTES", 500)
    with pytest.raises(StoreError, match="make a backup instead"):
        export_to(file_store, tmp_path / "all.zip")
    assert not (tmp_path / "all.zip").exists()


# What comes from outside.

Change = Callable[[dict[str, bytes]], object]


def exported(store: Store, folder: Path) -> dict[str, bytes]:
    fill(store)
    export_to(store, folder / "good.zip")
    with zipfile.ZipFile(folder / "good.zip") as zipped:
        return {name: zipped.read(name) for name in zipped.namelist()}


def packed(files: dict[str, bytes], path: Path, *, listed: bool = True) -> Path:
    """Zip of files whose manifest is true again."""
    if listed:
        manifest = json.loads(files["manifest.json"])
        manifest["files"] = [
            {"name": name, "bytes": len(content), "sha256": hashlib.sha256(content).hexdigest()}
            for name, content in files.items()
            if name != "manifest.json"
        ]
        files = {**files, "manifest.json": json.dumps(manifest).encode()}
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as zipped:
        for name, content in files.items():
            zipped.writestr(name, content)
    return path


def edit(name: str, change: Callable[[Any], Any]) -> Change:
    def apply(files: dict[str, bytes]) -> None:
        files[name] = json.dumps(change(json.loads(files[name]))).encode()

    return apply


def first(**values: Any) -> Callable[[list[dict[str, Any]]], Any]:
    return lambda rows: [{**rows[0], **values}, *rows[1:]]


NAMES = {
    "bag": "bags/0001-plain-bag.toml",
    "shots": "shots/0001-range.csv",
    "round": "rounds/0001-2026-05-02-grasmoor.json",
    "plan": "plans/0001-grasmoor-red-tees.json",
}
FAULTS: dict[str, tuple[Change, str]] = {
    "traversal": (lambda f: f.update({"../evil.toml": b""}), "no name of an exported file"),
    "traversal inside": (lambda f: f.update({"bags/../x.toml": b""}), "no name of an exported"),
    "absolute": (lambda f: f.update({"/etc/passwd": b""}), "no name of an exported file"),
    "backslashes": (lambda f: f.update({"bags\\..\\x": b""}), "no name of an exported file"),
    "drive": (lambda f: f.update({"C:evil": b""}), "no name of an exported file"),
    "folder": (lambda f: f.update({"bags/": b""}), "no name of an exported file"),
    "bomb": (lambda f: f.update({"bags/0009-b.toml": bytes(20_000_000)}), "grows more than 100"),
    "no bag": (lambda f: f.pop(NAMES["bag"]), "is not in the archive"),
    "broken bag": (lambda f: f.update({NAMES["bag"]: b"x = "}), "is not TOML"),
    "no text": (lambda f: f.update({NAMES["bag"]: b"\xff\xfe"}), "is not UTF-8"),
    "no JSON": (lambda f: f.update({"bags.json": b"{"}), "is not JSON"),
    "deep JSON": (lambda f: f.update({"bags.json": b"[" * 200_000}), "is not JSON"),
    "huge number": (lambda f: f.update({NAMES["plan"]: b"9" * 5000}), "is not JSON"),
    "nan": (lambda f: f.update({NAMES["plan"]: b'{"a": NaN}'}), "NaN is no number"),
    "list": (lambda f: f.update({NAMES["plan"]: b"[]"}), "is no JSON object"),
    "object": (lambda f: f.update({"bags.json": b"{}"}), "is no JSON list"),
    "rows": (lambda f: f.update({"bags.json": b"[1]"}), "names no file"),
    "unknown field": (edit("bags.json", first(shaft="stiff")), "shaft is unknown"),
    "own field": (edit("bags.json", first(text="x")), "text is unknown"),
    "wrong type": (edit("bags.json", first(name=7)), "name is int, not str"),
    "no id": (edit("golfers.json", lambda rows: [{"name": "x"}]), ""),
    "bad time": (edit("plans.json", first(saved_at="noon")), "saved_at Invalid isoformat"),
    "naive time": (edit("plans.json", first(saved_at="2026-05-01")), "has no time zone"),
    "stranger": (edit("plans.json", first(golfer_id="x")), "belongs to no golfer"),
    "twice": (edit("golfers.json", lambda rows: rows * 2), "is there twice"),
    "other file": (edit("plans.json", first(file="../../x")), "is not in the archive"),
    "null": (edit("plans.json", first(name="a\0b")), "null character"),
    "surrogate": (edit("plans.json", first(name="\ud800")), "surrogate"),
    "empty name": (edit("golfers.json", first(name="")), "name is empty"),
    "long name": (edit("golfers.json", first(name="x" * 300)), "300 characters"),
    "holes": (edit(NAMES["round"], lambda r: {**r, "holes": {}}), "holes is no list"),
    "a hole": (edit(NAMES["round"], lambda r: {**r, "holes": [{"par": 4}]}), "ref is missing"),
    "truth": (
        edit(NAMES["round"], lambda r: {**r, "holes": [{"ref": "1", "par": True}]}),
        "par is bool, not int",
    ),
    "columns": (lambda f: f.update({NAMES["shots"]: b"a,b\n1,2\n"}), "row 1: the columns must"),
    "cells": (
        lambda f: f.update({NAMES["shots"]: f[NAMES["shots"]] + b"1,2\r\nx,,far,,,,,\r\n"}),
        'row 7: has 2 cells; 8 are needed; row 8: carry_m "far" cannot be read',
    ),
    "nan cell": (
        lambda f: f.update({NAMES["shots"]: f[NAMES["shots"]] + b"x,,nan,,,,,\r\n"}),
        "row 7: shot: carry_m is nan",
    ),
    "format": (edit("manifest.json", lambda m: {**m, "format": 2}), "format 2 is not known"),
}


@pytest.mark.parametrize("fault", sorted(FAULTS))
def test_unusable_archive_is_refused_as_a_whole(
    file_store: Store, tmp_path: Path, fault: str
) -> None:
    files = exported(file_store, tmp_path)
    before = contents(file_store)
    change, says = FAULTS[fault]
    change(files)
    with open_store(tmp_path / "fresh.sqlite") as fresh:
        if fault == "no id":  # an id is made where there is none
            with pytest.raises(ArchiveError, match="belongs to no golfer"):
                import_from(fresh, packed(files, tmp_path / "bad.zip"))
        else:
            with pytest.raises(ArchiveError) as caught:
                import_from(fresh, packed(files, tmp_path / "bad.zip"))
            assert says in str(caught.value)
            assert str(caught.value).startswith(str(tmp_path / "bad.zip"))
        assert contents(fresh) == NOTHING
    assert contents(file_store) == before
    assert not (tmp_path.parent / "evil.toml").exists()


def test_every_problem_is_said_at_once(file_store: Store, tmp_path: Path) -> None:
    files = exported(file_store, tmp_path)
    for fault in ("broken bag", "nan", "columns", "a hole"):
        FAULTS[fault][0](files)
    with (
        open_store(tmp_path / "fresh.sqlite") as fresh,
        pytest.raises(ArchiveError) as caught,
    ):
        import_from(fresh, packed(files, tmp_path / "bad.zip"))
    assert len(caught.value.problems) == 4


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda f: f.update({NAMES["bag"]: b"other"}), "is not what was exported"),
        (lambda f: f.update({"bags/0009-b.toml": b"x"}), "is not in manifest.json"),
        (lambda f: f.pop(NAMES["bag"]), "is missing; export again"),
        (lambda f: f.pop("manifest.json"), "has no manifest.json"),
        (lambda f: f.update({"manifest.json": b"[]"}), "names no files"),
        (lambda f: f.update({"manifest.json": b'{"files": [3], "format": 1}'}), "names no file"),
    ],
)
def test_manifest_must_be_true(
    file_store: Store, tmp_path: Path, change: Change, says: str
) -> None:
    files = exported(file_store, tmp_path)
    change(files)
    with (
        open_store(tmp_path / "fresh.sqlite") as fresh,
        pytest.raises(ArchiveError, match=says),
    ):
        import_from(fresh, packed(files, tmp_path / "bad.zip", listed=False))


def test_entry_that_lies_about_its_size_is_cut_off(file_store: Store, tmp_path: Path) -> None:
    files = exported(file_store, tmp_path)
    path = packed(files, tmp_path / "bad.zip")
    raw = bytearray(path.read_bytes())
    size = len(files[NAMES["bag"]])
    manifest = json.loads(zipfile.ZipFile(io.BytesIO(bytes(raw))).read("manifest.json"))
    for one in manifest["files"]:
        if one["name"] == NAMES["bag"]:
            one["bytes"] = size - 100
    files["manifest.json"] = json.dumps(manifest).encode()
    with (
        open_store(tmp_path / "fresh.sqlite") as fresh,
        pytest.raises(ArchiveError, match="larger than it says"),
    ):
        import_from(fresh, packed(files, tmp_path / "bad.zip", listed=False))


def test_too_many_files_or_bytes_are_refused(
    file_store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    files = exported(file_store, tmp_path)
    path = packed(files, tmp_path / "many.zip")
    monkeypatch.setattr(archive_reading, "MAX_FILES", 5)
    with pytest.raises(ArchiveError, match="more than 5 files"):
        import_from(file_store, path)
    monkeypatch.setattr(archive_reading, "MAX_FILES", 5000)
    monkeypatch.setattr(archive_reading, "MAX_TOTAL_BYTES", 1000)
    with pytest.raises(ArchiveError, match="1,000 are allowed"):
        import_from(file_store, path)


@given(noise=st.binary(max_size=200), at=st.integers(0, 5000), cut=st.booleans())
@settings(max_examples=80, suppress_health_check=list(HealthCheck))
def test_damaged_archive_is_refused_or_read(
    file_store: Store,
    tmp_path: Path,
    new_name: Iterator[str],
    noise: bytes,
    at: int,
    cut: bool,
) -> None:
    good = tmp_path / "good.zip"
    if not good.exists():
        exported(file_store, tmp_path)
    raw = good.read_bytes()
    at %= len(raw)
    bad = tmp_path / "bad.zip"
    bad.write_bytes(raw[:at] + noise + (b"" if cut else raw[at + len(noise) :]))
    owner = next(new_name)
    kept = 1  # what the damage missed is read as it was
    try:
        import_from(file_store, bad, owner=owner)
    except ArchiveError:
        kept = 0
    assert len(contents(file_store, owner)["bags"]) == kept
    assert len(contents(file_store, owner)["golfers"]) == kept


@pytest.mark.parametrize("name", ["no_such.zip", ""])
def test_file_that_is_none_is_refused(file_store: Store, tmp_path: Path, name: str) -> None:
    with pytest.raises(ArchiveError, match=r"does not exist|cannot be read"):
        import_from(file_store, tmp_path / name)


def test_file_names_suit_every_system() -> None:
    name = archive_layout.file_name
    assert name("bags", 7, "Ålesund: 7/8 <b>", "toml") == "bags/0007-alesund-7-8-b.toml"
    assert name("bags", 1, "雪", "toml") == "bags/0001-bags.toml"
    assert name("bags", 1, "../../x", "toml") == "bags/0001-x.toml"
    assert len(name("bags", 1, "x" * 500, "toml")) < 60
    assert archive_layout.course_ending("a.OSM") == "osm"
    assert archive_layout.course_ending("../a.exe") == "geojson"


def test_manifest_says_what_is_inside(file_store: Store, tmp_path: Path) -> None:
    manifest = json.loads(exported(file_store, tmp_path)["manifest.json"])
    assert manifest["counts"] == {
        "golfers": 1,
        "bags": 1,
        "courses": 1,
        "shot_logs": 1,
        "rounds": 1,
        "plans": 1,
        "drafts": 1,
    }
    assert datetime.fromisoformat(manifest["made_at"]).tzinfo is not None
