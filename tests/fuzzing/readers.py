"""Every reader of files from outside, as a function of bytes that may raise only PlannerError."""

from __future__ import annotations

import atexit
import hashlib
import io
import json
import shutil
import tempfile
import zipfile
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path

from planner.course.map_check import report_on
from planner.errors import PlannerError
from planner.golfer.bag import bag_from_text, bag_text
from planner.golfer.round_file import round_rows
from planner.golfer.score_file import scores_from_text
from planner.golfer.shot_log_columns import find_columns
from planner.golfer.shot_log_reading import read_shots
from planner.golfer.shot_log_text import split_rows
from planner.planning.saved_work import content_of, export_to, import_from, list_saved, save_file
from planner.store.backup import back_up, check_store, restore
from planner.store.location import locate
from planner.store.opening import Store, open_store
from planner.units import DistanceUnit

__all__ = ["READERS", "seeds", "survives"]

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "courses_demo"

SMALL_MAP = b"""{"type": "FeatureCollection", "attribution": "drawn for a test", "features": [
{"type": "Feature", "id": "way/1", "properties": {"golf": "hole", "ref": "1", "par": "4",
 "handicap": "7", "dist:red": "310"},
 "geometry": {"type": "LineString", "coordinates": [[10, 50], [10.001, 50.002], [10, 50.003]]}},
{"type": "Feature", "properties": {"tags": {"golf": "green"}}, "geometry": {"type": "Polygon",
 "coordinates": [[[9.9999, 50.0029], [10.0001, 50.0029], [10, 50.0032], [9.9999, 50.0029]]]}},
{"type": "Feature", "properties": {"golf": "tee", "tee": "red;yellow", "ele": "12 m"},
 "geometry": {"type": "Point", "coordinates": [10, 50, 12.5]}},
{"type": "Feature", "properties": {"natural": "wood", "other_tags": "\\"name\\"=>\\"Elm\\""},
 "geometry": {"type": "MultiPolygon", "coordinates":
 [[[[10.001, 50], [10.002, 50], [10.001, 50.001], [10.002, 50.001], [10.001, 50]]]]}},
{"type": "Feature", "properties": {"golf": "out_of_bounds"}, "geometry": {"type":
 "GeometryCollection", "geometries": [{"type": "LineString", "coordinates": [[9.999, 50],
 [9.999, 50.004]]}]}}]}"""
SMALL_OSM = b"""<?xml version='1.0' encoding='UTF-8'?>
<osm version="0.6" attribution="drawn for a test"><note>by hand</note>
<node id="1" lat="50" lon="10"/><node id="2" lat="50.003" lon="10"><tag k="ele" v="12"/></node>
<node id="3" lat="50.0029" lon="9.9999"/><node id="4" lat="50.0029" lon="10.0001"/>
<node id="5" lat="50.0032" lon="10"><tag k="golf" v="pin"/></node>
<way id="1"><nd ref="1"/><nd ref="2"/><tag k="golf" v="hole"/><tag k="ref" v="1"/>
<tag k="par" v="4"/></way>
<way id="2"><nd ref="3"/><nd ref="4"/><nd ref="5"/><nd ref="3"/></way>
<way id="3" visible="false"><nd ref="9"/></way>
<relation id="1"><member type="way" ref="2" role="outer"/><member type="way" ref="8" role="inner"/>
<tag k="type" v="multipolygon"/><tag k="golf" v="green"/></relation></osm>"""
SMALL_BAG = b"""format = 1
name = "a bag"
units = "yards"
[golfer]
name = "somebody"
handicap_index = 12.5
[golfer.delivery]
club = "7 iron"
speed_mph = 75
[[club]]
label = "7 iron"
kind = "iron"
loft_deg = 33
[club.pattern]
carry = 140
offline_sd = 9.5
[[club.pattern.mishit]]
share = 0.1
carry = 60
carry_sd = 20
offline_sd = 15
[[club]]
label = "Putter"
kind = "putter"
"""
SMALL_SHOTS = """Club;Carry (yd);Offline;Lie
7i;140,5;12 L;fairway
SW;=1+2;left 3;
"7 iron";;-4;sand
Average;140;0;
""".encode("utf-16")
SMALL_SCORES = b"""date,score,rating,slope,pcc
2024-05-31,88,71.2,128,0
2024-06-02,91,70.1,131,-1
"""
SMALL_ROUND = b"""hole,shot,lie,to pin (m),club,outcome,penalty,putts
1,1,tee,350,Driver,fairway,,
1,2,fairway,140,7 iron,green,,
1,,,,,,,2
2,1,tee,160,5 iron,water,1,
"""


@cache
def _folder() -> Path:
    folder = Path(tempfile.mkdtemp(prefix="planner-fuzz-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


def _file(content: bytes, name: str) -> Path:
    path = _folder() / name
    path.write_bytes(content)
    return path


@cache
def _store() -> Store:
    return open_store(_folder() / "store.sqlite")


def read_map(content: bytes) -> None:
    """Either kind of map; its reader reports and never raises."""
    report = report_on(_file(content, "map.geojson"))
    text = "\n".join(map(str, report.findings))
    text.encode()
    if report.course is None and not any(f.severity == "error" for f in report.findings):
        raise AssertionError("a map that cannot be used and does not say why")


def read_bag(content: bytes) -> None:
    """Bag file."""
    repr(bag_from_text(bag_text(_file(content, "bag.toml")), source="bag.toml")).encode()


def read_shot_log(content: bytes) -> None:
    """Shot log, in the unit it names and in yards."""
    text = split_rows("shots.csv", content)
    columns = find_columns(text)
    read_shots(text, columns, unit=DistanceUnit.YARDS)


def read_round(content: bytes) -> None:
    """Shots of a round."""
    round_rows(split_rows("round.csv", content), unit=DistanceUnit.METRES)


def read_scores(content: bytes) -> None:
    """Scores for a handicap."""
    scores_from_text("scores.csv", content)


def read_archive(content: bytes) -> None:
    """Archive of a store; whatever it holds for an owner of its own."""
    import_from(_store(), _file(content, "archive.zip"), owner="fuzz", replace=True)


def read_archive_member(content: bytes) -> None:
    """Archive in order but for one file that was made up: its name is the first line."""
    name, _, text = content.partition(b"\n")
    read_archive(_packed({**_archive_files(), name.decode("latin-1"): text}))


def read_store(content: bytes) -> None:
    """Store's file, as a backup to be restored and as a store to be opened."""
    damaged, target = _file(content, "damaged.sqlite"), _folder() / "target.sqlite"
    for path in (damaged, target):
        for end in ("-wal", "-shm", "-journal"):
            path.with_name(path.name + end).unlink(missing_ok=True)
    target.unlink(missing_ok=True)
    refusal: PlannerError | None = None
    try:
        restore(locate(target), damaged)
    except PlannerError as error:
        refusal = error
    with open_store(target if refusal is None else damaged, wait_s=0.1) as store:
        check_store(store)
        for one in list_saved(store):
            repr(one).encode()
            if one.kind != "golfer":
                content_of(store, one.kind, one.id)
    if refusal is not None:
        raise refusal


READERS: Mapping[str, Callable[[bytes], None]] = {
    "map": read_map,
    "bag": read_bag,
    "shots": read_shot_log,
    "round": read_round,
    "scores": read_scores,
    "archive": read_archive,
    "archive_member": read_archive_member,
    "store": read_store,
}


def seeds(reader: str) -> tuple[bytes, ...]:
    """Inputs in order, from which faulty ones are made."""
    match reader:
        case "map":
            return (SMALL_MAP, SMALL_OSM, SMALL_OSM.decode().encode("utf-16"))
        case "bag":
            return (SMALL_BAG,)
        case "shots":
            return (
                SMALL_SHOTS,
                SMALL_SHOTS.decode("utf-16").encode(),
                b"carry m,offline m\n120,-3\n",
            )
        case "round":
            return (SMALL_ROUND,)
        case "scores":
            return (SMALL_SCORES, b"differential\n+1.2\n15,3\n")
        case "archive":
            return (_packed(_archive_files()),)
        case "store":
            return (_store_file(),)
    files = _archive_files()
    return tuple(name.encode() + b"\n" + text for name, text in files.items())


@cache
def _store_file() -> bytes:
    """Backup of a store that holds a bag, small enough that damage often hits what matters."""
    path = _folder() / "small.sqlite"
    with open_store(path) as store:
        save_file(store, _file(SMALL_BAG, "bag.toml"))
        save_file(store, _file(SMALL_SHOTS, "shots.csv"), golfer="somebody")
        back_up(store, _folder() / "small.backup")
    return (_folder() / "small.backup").read_bytes()


@cache
def _archive_files() -> dict[str, bytes]:
    """Content of an archive of a store that holds one thing of several kinds."""
    with open_store(_folder() / "seed.sqlite") as store:
        for name, content in (
            ("bag.toml", SMALL_BAG),
            ("course.geojson", SMALL_MAP),
            ("shots.csv", SMALL_SHOTS),
        ):
            golfer = "somebody" if name == "shots.csv" else None
            save_file(store, _file(content, name), golfer=golfer, club="7 iron")
        path = _folder() / "seed.zip"
        export_to(store, path, overwrite=True)
    with zipfile.ZipFile(path) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def _packed(files: Mapping[str, bytes]) -> bytes:
    """Zip file; the manifest that was exported is made to fit, so that what it lists is read."""
    files = dict(files)
    if files["manifest.json"] == _archive_files()["manifest.json"]:
        manifest = json.loads(files["manifest.json"])
        manifest["files"] = [
            {"name": name, "bytes": len(text), "sha256": hashlib.sha256(text).hexdigest()}
            for name, text in files.items()
            if name != "manifest.json"
        ]
        files["manifest.json"] = json.dumps(manifest).encode()
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, text in files.items():
            archive.writestr(zipfile.ZipInfo(name.partition("\0")[0] or "x"), text)
    return out.getvalue()


def survives(reader: str, content: bytes) -> PlannerError | None:
    """Give ``content`` to a reader; its refusal, or None if it was read.

    Anything else that is raised is a fault of the reader.
    """
    try:
        READERS[reader](content)
    except PlannerError as refusal:
        assert str(refusal).strip(), "a refusal must say why"  # noqa: PT017
        str(refusal).encode()
        return refusal
    return None
