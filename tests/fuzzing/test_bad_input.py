"""Whatever a file holds, its reader reads it or refuses it with a reason.

It does so soon and in little memory. Three kinds of bad input: bytes changed here and there in good
files, documents made up of the words that readers know, and small files made to be slow or large.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.course.map_check import MapReport, report_on

from .readers import DEMO, READERS, seeds, survives

HERE = Path(__file__).resolve().parent
LONGEST_S = 10.0
MOST_MB = 450
"""Memory of a command that refuses a file of 200 MB [MB]: with its libraries, without the file."""
SAY_PEAK = r"""
import atexit, re, sys
from pathlib import Path
from planner.cli.app import main

def peak():  # not the resource module's: that one starts from the peak of the parent
    status = Path("/proc/self/status").read_text()
    print("peak", int(re.search(r"VmHWM:\s+(\d+) kB", status)[1]) // 1000, file=sys.stderr)

atexit.register(peak)
main()
"""
EXAMPLES = 60
QUICK = settings(
    max_examples=EXAMPLES, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)

NUMBERS = st.one_of(
    st.integers(-(10**6), 10**6),
    st.sampled_from([0, -1, 10**400, 1e308, -1e308, 1e-320, float("inf"), float("nan")]),
    st.floats(),
)
WORDS = st.sampled_from(
    [
        "golf",
        "hole",
        "green",
        "tee",
        "ref",
        "par",
        "natural",
        "wood",
        "1",
        "7 iron",
        "",
        "é",
        "�",
        "\x1b[2J",
        "../../etc",
        "x" * 500,
        "=1+1",
        "<b>",
        "\u202e",
        "\x00",
        "12 m",
        "18;5",
        "nan",
    ]
)
TEXTS = st.one_of(WORDS, st.text(max_size=12))


def edits(content: bytes) -> st.SearchStrategy[bytes]:
    """Strategy for ``content`` with a few pieces cut out, doubled or replaced."""
    places = st.tuples(st.integers(0, len(content)), st.integers(0, 30), st.binary(max_size=8))

    def edited(cuts: list[tuple[int, int, bytes]], again: bool) -> bytes:
        changed = content
        for start, length, put in cuts:
            changed = changed[:start] + put + changed[start + length :]
        return changed + (changed if again else b"")

    return st.builds(edited, st.lists(places, max_size=5), st.booleans())


@pytest.mark.parametrize("reader", sorted(READERS))
def test_good_files_are_read(reader: str) -> None:
    for content in seeds(reader):
        assert survives(reader, content) is None


@pytest.mark.parametrize("reader", sorted(READERS))
@given(data=st.data())
@QUICK
def test_damaged_files(reader: str, data: st.DataObject) -> None:
    content = data.draw(st.sampled_from(seeds(reader)).flatmap(edits))
    survives(reader, content)


@given(flips=st.lists(st.tuples(st.floats(0, 1), st.integers(0, 255)), min_size=1, max_size=6))
@QUICK
def test_store_with_bytes_that_fell_over(flips: list[tuple[float, int]]) -> None:
    """In their places: what cuts a piece out damages every page behind it."""
    (good,) = seeds("store")
    content = bytearray(good)
    used = [place for place, byte in enumerate(good) if byte]
    for where, byte in flips:
        content[used[int(where * (len(used) - 1))]] = byte
    survives("store", bytes(content))


@pytest.mark.parametrize("content", ["name of a step", "moment", "statement"])
def test_store_whose_text_was_damaged(content: str) -> None:
    """What SQLite does not see: text that is none, and values that cannot be."""
    (good,) = seeds("store")
    old, new = {
        "name of a step": (b"CREATE TABLE applied_step", b"CREATE TABLE appli\xff\xffd_step"),
        "moment": (b"+00:00", b"+0\x000:0"),
        "statement": (b"CREATE TABLE bag", b"CREATE TAB\xffE bag"),
    }[content]
    assert old in good
    refusal = survives("store", good.replace(old, new))
    assert refusal is not None
    assert "damaged" in str(refusal)


@pytest.mark.parametrize("reader", sorted(READERS))
@given(content=st.binary(max_size=200))
@QUICK
def test_any_bytes(reader: str, content: bytes) -> None:
    survives(reader, content)


POSITIONS = st.recursive(
    st.lists(NUMBERS, min_size=1, max_size=4),
    lambda inner: st.lists(inner, max_size=5),
    max_leaves=12,
)
TAGS = st.dictionaries(WORDS, st.one_of(TEXTS, NUMBERS, st.none(), st.lists(TEXTS)), max_size=5)
KINDS = st.sampled_from(
    ["Point", "LineString", "Polygon", "MultiPolygon", "MultiPoint", "MultiLineString", "Sphere"]
)
PLAIN = st.fixed_dictionaries({"type": KINDS, "coordinates": POSITIONS})
GEOMETRIES = st.one_of(
    st.none(),
    TEXTS,
    PLAIN,
    st.fixed_dictionaries(
        {"type": st.just("GeometryCollection"), "geometries": st.lists(PLAIN, max_size=3)}
    ),
)
NEAR = st.floats(-0.01, 0.01)
HOLES = st.builds(
    lambda tags, corners: {
        "type": "Feature",
        "properties": {"golf": "hole", **tags},
        "geometry": {"type": "LineString", "coordinates": [[10 + x, 50 + y] for x, y in corners]},
    },
    TAGS,
    st.lists(st.tuples(NEAR, NEAR), min_size=1, max_size=4),
)
AREAS = st.builds(
    lambda word, corners: {
        "properties": {"golf": word},
        "geometry": {"type": "Polygon", "coordinates": [[[10 + x, 50 + y] for x, y in corners]]},
    },
    st.sampled_from(["green", "fairway", "tee", "bunker", "water_hazard", "out_of_bounds", "hole"]),
    st.lists(st.tuples(NEAR, NEAR), min_size=1, max_size=7),
)
FEATURES = st.one_of(
    HOLES,
    AREAS,
    TEXTS,
    st.fixed_dictionaries(
        {"properties": TAGS, "geometry": GEOMETRIES}, optional={"id": st.one_of(TEXTS, NUMBERS)}
    ),
)
MAPS = st.fixed_dictionaries(
    {"type": st.just("FeatureCollection"), "features": st.lists(FEATURES, max_size=6)},
    optional={"crs": st.one_of(TEXTS, TAGS), "attribution": st.one_of(TEXTS, NUMBERS)},
)


@given(document=MAPS)
@QUICK
def test_made_up_geojson(document: Any) -> None:
    survives("map", json.dumps(document).encode())


REFS = st.sampled_from(["1", "2", "3", "", "nan", "-9"])
PLACES = st.sampled_from(["50", "50.001", "10", "10.001", "1e400", "nan", "", "north"])


@st.composite
def osm_documents(draw: st.DrawFn) -> bytes:
    """``.osm`` documents in order as XML, of parts that need not fit together."""
    from xml.sax.saxutils import quoteattr

    words = WORDS.filter(lambda text: text.isprintable())
    parts = []
    for _ in range(draw(st.integers(0, 8))):
        tags = "".join(
            f"<tag k={quoteattr(k)} v={quoteattr(v)}/>"
            for k, v in draw(st.lists(st.tuples(words, words), max_size=3))
        )
        ref = quoteattr(draw(REFS))
        kind = draw(st.sampled_from(["node", "way", "relation", "note", "bounds"]))
        if kind == "node":
            lat, lon = draw(PLACES), draw(PLACES)
            parts.append(f'<node id={ref} lat="{lat}" lon="{lon}">{tags}</node>')
        elif kind == "way":
            nodes = "".join(f'<nd ref="{one}"/>' for one in draw(st.lists(REFS, max_size=5)))
            parts.append(f"<way id={ref}>{nodes}{tags}</way>")
        elif kind == "relation":
            members = "".join(
                f'<member type="way" ref="{one}" role="{role}"/>'
                for one, role in draw(
                    st.lists(st.tuples(REFS, st.sampled_from(["outer", "inner", ""])), max_size=4)
                )
            )
            fixed = '<tag k="type" v="multipolygon"/>'
            parts.append(f"<relation id={ref}>{members}{fixed}{tags}</relation>")
        else:
            parts.append(f"<{kind}>{tags}</{kind}>")
    return f"<osm>{''.join(parts)}</osm>".encode("utf-8", "replace")


@given(content=osm_documents())
@QUICK
def test_made_up_osm(content: bytes) -> None:
    survives("map", content)


VALUES = st.one_of(
    NUMBERS.map(lambda number: str(number).replace("inf", "inf")),
    TEXTS.map(lambda text: json.dumps(text.encode("utf-8", "ignore").decode())),
    st.sampled_from(["true", "1979-05-27", "[1, [2]]", "{a = 1}", "[]"]),
)
BAG_KEYS = st.sampled_from(
    [
        "format",
        "units",
        "label",
        "kind",
        "loft_deg",
        "carry",
        "share",
        "handed",
        "status",
        "golfer",
        "handicap_index",
        "club",
        "pattern",
        "mishit",
        "carry_sd",
        "price",
        "nonsense",
        '"a b"',
        "a.b",
    ]
)
BAG_LINES = st.one_of(
    st.sampled_from(["[golfer]", "[[club]]", "[club.pattern]", "[golfer.delivery]", "[club]"]),
    st.sampled_from(["[[club.pattern.mishit]]", 'kind = "putter"', 'kind = "iron"', "[[golfer]]"]),
    st.builds("{} = {}".format, BAG_KEYS, VALUES),
)


@given(lines=st.lists(BAG_LINES, max_size=14))
@QUICK
def test_made_up_bags(lines: list[str]) -> None:
    survives("bag", "\n".join(lines).encode("utf-8", "replace"))


CELLS = st.one_of(
    NUMBERS.map(str),
    TEXTS,
    st.sampled_from(
        ["12 L", "left 3", "140 yd", "1.234,5", "-", "fairway", "2024-13-01", '"', "'=1"]
    ),
)
HEADINGS = {
    "shots": ["Club", "Carry (yd)", "Offline", "Total [m]", "Lie", "Date", "Outcome", "?"],
    "round": ["hole", "shot", "lie", "to pin (m)", "lon", "lat", "along (m)", "penalty", "putts"],
    "scores": ["date", "score", "rating", "slope", "pcc", "differential", "note"],
}


@pytest.mark.parametrize("reader", sorted(HEADINGS))
@given(data=st.data())
@QUICK
def test_made_up_tables(reader: str, data: st.DataObject) -> None:
    headings = data.draw(st.lists(st.sampled_from(HEADINGS[reader]), min_size=1, max_size=6))
    row = st.lists(CELLS, max_size=len(headings) + 1)
    rows = [headings, *data.draw(st.lists(row, max_size=5))]
    separator = data.draw(st.sampled_from([",", ";", "\t", "|"]))
    encoding = data.draw(st.sampled_from(["utf-8", "utf-16", "cp1252"]))
    text = "\n".join(separator.join(cells) for cells in rows)
    survives(reader, text.encode(encoding, "replace"))


JSON_ANY = st.recursive(
    st.one_of(st.none(), st.booleans(), TEXTS, st.integers(-(10**20), 10**20), st.floats()),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(WORDS, inner, max_size=3)),
    max_leaves=8,
)


@given(data=st.data())
@QUICK
def test_archives_with_another_value_in_a_file(data: st.DataObject) -> None:
    members = [one for one in seeds("archive_member") if b".json\n" in one]
    name, _, text = data.draw(st.sampled_from(members)).partition(b"\n")
    document = json.loads(text)
    holders = [document]
    for holder in holders:
        inner = holder.values() if isinstance(holder, dict) else holder
        holders.extend(one for one in inner if isinstance(one, list | dict))
    holder = data.draw(st.sampled_from(holders))
    value = data.draw(JSON_ANY)
    if isinstance(holder, dict) and holder:
        holder[data.draw(st.sampled_from(sorted(holder)))] = value
    elif isinstance(holder, list):
        holder.append(value)
    survives("archive_member", name + b"\n" + json.dumps(document).encode())


# Small to write, large or slow to read; what each is refused with.
TRAPS: dict[str, tuple[str, Callable[[], bytes], str]] = {
    "deep lists in JSON": ("map", lambda: b"[" * 900_000, "nested too deep"),
    "many lists in JSON": ("map", lambda: b"[" + b"[]," * 4_000_000 + b"1]", "objects and lists"),
    "many numbers in JSON": ("map", lambda: b"[" + b"1," * 6_000_000 + b"1]", "12,000,000|values"),
    "a number of a million digits": ("map", lambda: b'{"a": ' + b"9" * 1_000_000 + b"}", "digits"),
    "deep elements": ("map", lambda: b"<osm>" + b"<a>" * 1_000_000, "nested more than 100"),
    "an attribute of 12 MB": (
        "map",
        lambda: (
            b"<osm><node id='1' lat='1' lon='1'><tag k='" + b"k" * 12_000_000 + b"' v='x'/>"
            b"</node></osm>"
        ),
        "no hole is drawn",
    ),
    "a note of 8 million lines": (
        "map",
        lambda: b"<osm><note>" + b"a\n" * 8_000_000 + b"</note></osm>",
        "no tagged node",
    ),
    "entities that grow": (
        "map",
        lambda: (
            b'<!DOCTYPE o [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;">]>'
            b"<osm><note>&b;</note></osm>"
        ),
        "document type or entities",
    ),
    "an entity from a file": (
        "map",
        lambda: b'<!DOCTYPE o [<!ENTITY a SYSTEM "file:///etc/passwd">]><osm>&a;</osm>',
        "document type or entities",
    ),
    "a key of many parts": ("bag", lambda: b"a" + b".a" * 140_000 + b" = 1", "too long"),
    "deep lists in TOML": ("bag", lambda: b"a = " + b"[" * 9_000, "not TOML"),
    "a line break in every cell": (
        "shots",
        lambda: b'carry\n"a' + b"\n" * 3_000_000,
        "never closed",
    ),
    "a million separators": ("shots", lambda: b"carry" + b"," * 1_000_000, "cells"),
    "a million empty rows": ("scores", lambda: b"score\n" + b",\n" * 1_000_000, "needs a column"),
}


@pytest.mark.parametrize("trap", sorted(TRAPS))
def test_traps(trap: str) -> None:
    reader, make, said = TRAPS[trap]
    content = make()
    start = time.monotonic()
    if reader == "map":
        report = _report(content)
        assert not report.usable
        refusal = "\n".join(map(str, report.findings))
    else:
        refusal = str(survives(reader, content) or "")
    assert time.monotonic() - start < LONGEST_S
    assert any(part in refusal for part in said.split("|")), refusal[:500]


def _report(content: bytes) -> MapReport:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "map.geojson"
        path.write_bytes(content)
        return report_on(path)


LARGE = {
    "map": ("a.geojson", ["check", "a.geojson"]),
    "bag": ("a.toml", ["plan", str(DEMO / "tarrowick.geojson"), "--bag", "a.toml"]),
    "shots": ("a.csv", ["fit", "a.csv"]),
    "scores": ("a.csv", ["handicap", "a.csv"]),
    "round": (
        "a.csv",
        [
            *("log", "a.csv", str(DEMO / "pebblecote.geojson")),
            *("--bag", str(DEMO / "bags" / "odile_marrow.toml")),
        ],
    ),
}


@pytest.mark.parametrize("reader", sorted(LARGE))
def test_a_file_of_200_mb_is_refused_unread(reader: str, tmp_path: Path) -> None:
    name, arguments = LARGE[reader]
    with (tmp_path / name).open("wb") as file:
        file.truncate(200_000_000)
    start = time.monotonic()
    told = subprocess.run(
        [sys.executable, "-c", SAY_PEAK, *arguments],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
        env={**os.environ, "COLUMNS": "1000"},
    )
    assert told.returncode == 1, told.stderr
    assert "200 MB" in told.stdout + told.stderr
    assert "Traceback" not in told.stderr
    assert int(told.stderr.rsplit("peak ", 1)[1]) < MOST_MB
    assert time.monotonic() - start < 2 * LONGEST_S


@pytest.mark.slow
@pytest.mark.parametrize("reader", sorted(READERS))
def test_coverage_guided(reader: str, tmp_path: Path) -> None:
    pytest.importorskip("atheris", reason="atheris is not installed (there are wheels for Linux)")
    limits = [f"-timeout={LONGEST_S:.0f}", "-rss_limit_mb=2048", "-max_len=6000", "-len_control=0"]
    limits += ["-keep_seed=1", "-reduce_inputs=0"]
    told = subprocess.run(
        [
            sys.executable,
            HERE / "coverage_guided.py",
            reader,
            tmp_path / "corpus",
            *limits,
            "-max_total_time=25",
            "-seed=1",
        ],
        capture_output=True,
        text=True,
        timeout=180,
        check=False,
    )
    assert told.returncode == 0, f"{told.stdout[-2000:]}{told.stderr[-6000:]}"
    assert "Done" in told.stderr
