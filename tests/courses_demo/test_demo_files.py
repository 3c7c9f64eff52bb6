"""The demo maps and bags are what their README says, read without the planner itself."""

import json
import math
import re
import tomllib
import xml.etree.ElementTree as ElementTree
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import pytest
import shapely
from pyproj import Geod, Transformer

DEMO = Path(__file__).parents[2] / "courses_demo"
WGS84 = Geod(ellps="WGS84")
KINDS = {"driver", "wood", "hybrid", "iron", "wedge", "putter"}
WATER = {"water_hazard", "lateral_water_hazard"}


class MapFeature(NamedTuple):
    id: str
    tags: dict[str, str]
    lonlat: Any
    plane: Any


class Layout(NamedTuple):
    file: str
    pars: tuple[int, ...]
    tees: tuple[str, ...]
    totals: tuple[tuple[int, int], ...]
    green_m2: tuple[int, int]


COURSES = (
    Layout(
        "tarrowick.geojson",
        (4, 5, 3, 4, 4, 4, 5, 3, 4, 4, 4, 3, 5, 4, 4, 3, 4, 5),
        ("white", "yellow", "red"),
        ((6000, 6200), (5400, 5600), (4700, 4900)),
        (400, 700),
    ),
    Layout(
        "pebblecote.geojson",
        (3,) * 9,
        ("yellow", "red"),
        ((900, 1000), (760, 860)),
        (200, 480),
    ),
)
BAGS = sorted((DEMO / "bags").glob("*.toml"))


@cache
def raw(file: str) -> dict[str, Any]:
    content: dict[str, Any] = json.loads((DEMO / file).read_text(encoding="utf-8"))
    return content


@cache
def features(file: str) -> tuple[MapFeature, ...]:
    lon, lat = raw(file)["features"][0]["geometry"]["coordinates"][0][0][:2]
    to_plane = Transformer.from_crs(
        "EPSG:4326", f"+proj=tmerc +lat_0={lat} +lon_0={lon} +ellps=WGS84", always_xy=True
    )

    def project(points: Any) -> Any:
        return shapely.transform(
            points, lambda xy: [to_plane.transform(*point) for point in xy.tolist()]
        )

    found = []
    for feature in raw(file)["features"]:
        shape = shapely.geometry.shape(feature["geometry"])
        found.append(MapFeature(feature["id"], feature["properties"], shape, project(shape)))
    return tuple(found)


def golf(file: str, *values: str) -> list[MapFeature]:
    return [f for f in features(file) if f.tags.get("golf") in values]


def holes(file: str) -> list[MapFeature]:
    return sorted(golf(file, "hole"), key=lambda f: int(f.tags["ref"]))


def green_of(file: str, hole: MapFeature) -> MapFeature:
    end = shapely.Point(hole.plane.coords[-1])
    return min(golf(file, "green"), key=lambda green: green.plane.distance(end))


def tee_of(file: str, hole: MapFeature, colour: str) -> MapFeature:
    first_third = hole.plane.interpolate([0.0, 0.1, 0.2, 0.3], normalized=True)
    tees = [t for t in golf(file, "tee") if t.tags["tee"] == colour]
    return min(tees, key=lambda tee: shapely.LineString(first_third).distance(tee.plane))


def geodesic_from(tee: MapFeature, hole: MapFeature) -> float:
    """Metres from the tee's middle to the green, joining the line abreast of the tee."""
    passed = hole.plane.project(tee.plane.centroid, normalized=True)
    return float(WGS84.geometry_length(hole.lonlat) * (1.0 - passed))


each_course = pytest.mark.parametrize("course", COURSES, ids=lambda c: c.file)
each_bag = pytest.mark.parametrize("path", BAGS, ids=lambda p: p.stem)


@each_course
def test_geometry_follows_the_geojson_standard(course: Layout) -> None:
    assert (DEMO / course.file).stat().st_size < 1_500_000
    ids = [f.id for f in features(course.file)]
    assert len(set(ids)) == len(ids)
    for feature in features(course.file):
        assert re.fullmatch(r"(node|way|relation)/\d+", feature.id)
        assert feature.lonlat.is_valid, feature.id
        assert not feature.lonlat.is_empty, feature.id
        lon0, lat0, lon1, lat1 = feature.lonlat.bounds
        assert -35 < lon0 <= lon1 < -26, feature.id
        assert 43 < lat0 <= lat1 < 48, feature.id
        if feature.lonlat.geom_type == "Polygon":
            assert feature.lonlat.exterior.is_ccw, feature.id
            assert not any(ring.is_ccw for ring in feature.lonlat.interiors), feature.id


@each_course
def test_rings_are_closed(course: Layout) -> None:
    for feature in raw(course.file)["features"]:
        if feature["geometry"]["type"] == "Polygon":
            for ring in feature["geometry"]["coordinates"]:
                assert ring[0] == ring[-1], feature["id"]
                assert len(ring) >= (5 if "building" in feature["properties"] else 12), feature[
                    "id"
                ]


@each_course
def test_card_of_the_course(course: Layout) -> None:
    lines = holes(course.file)
    count = len(course.pars)
    assert [int(f.tags["ref"]) for f in lines] == list(range(1, count + 1))
    assert tuple(int(f.tags["par"]) for f in lines) == course.pars
    assert sorted(int(f.tags["handicap"]) for f in lines) == list(range(1, count + 1))
    names = {f.tags["name"] for f in lines}
    assert len(names) == count
    for colour, (low, high) in zip(course.tees, course.totals, strict=True):
        assert low <= sum(int(f.tags[f"dist:{colour}"]) for f in lines) <= high
    (outline,) = (f for f in features(course.file) if f.tags.get("leisure") == "golf_course")
    assert int(outline.tags["golf:par"]) == sum(course.pars)


def test_par_72_with_stroke_indexes_shared_between_the_nines() -> None:
    lines = holes("tarrowick.geojson")
    assert sum(int(f.tags["par"]) for f in lines) == 72
    assert all(int(f.tags["handicap"]) % 2 == 1 for f in lines[:9])
    assert all(int(f.tags["handicap"]) % 2 == 0 for f in lines[9:])
    limits = {3: (135, 195), 4: (290, 425), 5: (450, 520)}
    for hole in lines:
        low, high = limits[int(hole.tags["par"])]
        assert low <= int(hole.tags["dist:white"]) <= high, hole.tags["ref"]


@each_course
def test_card_lengths_agree_with_the_geodesic(course: Layout) -> None:
    for hole in holes(course.file):
        back = int(hole.tags[f"dist:{course.tees[0]}"])
        assert back == pytest.approx(WGS84.geometry_length(hole.lonlat), rel=0.03)
        lengths = []
        for colour in course.tees:
            card = int(hole.tags[f"dist:{colour}"])
            lengths.append(card)
            tee = tee_of(course.file, hole, colour)
            assert card == pytest.approx(geodesic_from(tee, hole), rel=0.03), hole.id
        assert lengths == sorted(lengths, reverse=True)


@each_course
def test_line_runs_from_the_back_tee_to_the_green(course: Layout) -> None:
    greens, back_tees = set(), set()
    for hole in holes(course.file):
        assert len(hole.plane.coords) == max(2, int(hole.tags["par"]) - 1)
        tee = tee_of(course.file, hole, course.tees[0])
        green = green_of(course.file, hole)
        assert tee.plane.contains(shapely.Point(hole.plane.coords[0])), hole.id
        assert green.plane.contains(shapely.Point(hole.plane.coords[-1])), hole.id
        assert course.green_m2[0] <= green.plane.area <= course.green_m2[1], hole.id
        (pin,) = (f for f in golf(course.file, "pin") if f.tags["ref"] == hole.tags["ref"])
        assert green.plane.contains(pin.plane), hole.id
        assert float(tee.tags["ele"]) > 0, hole.id
        assert float(green.tags["ele"]) > 0, hole.id
        greens.add(green.id)
        back_tees.add(tee.id)
    assert len(greens) == len(back_tees) == len(course.pars)
    assert len(golf(course.file, "tee")) == len(course.pars) * len(course.tees)


def test_long_holes_have_a_fairway_on_the_line() -> None:
    for hole in holes("tarrowick.geojson"):
        if int(hole.tags["par"]) > 3:
            on = sum(
                f.plane.intersection(hole.plane).length
                for f in golf("tarrowick.geojson", "fairway")
            )
            assert on > 0.3 * hole.plane.length, hole.tags["ref"]


@each_course
def test_features_do_not_cover_one_another(course: Layout) -> None:
    greens = shapely.union_all([f.plane for f in golf(course.file, "green")])
    tees = shapely.union_all([f.plane for f in golf(course.file, "tee")])
    water = shapely.union_all([f.plane for f in golf(course.file, *WATER)])
    assert sum(f.plane.area for f in golf(course.file, "green")) == pytest.approx(greens.area)
    for name, shape in (("green", greens), ("tee", tees)):
        assert not shape.intersects(water), name
        for bunker in golf(course.file, "bunker"):
            assert not bunker.plane.intersects(shape), (name, bunker.id)
        for wood in features(course.file):
            if wood.tags.get("natural") in {"wood", "scrub", "heath"}:
                assert not wood.plane.intersects(shape), (name, wood.id)
    for fairway in golf(course.file, "fairway"):
        assert not fairway.plane.intersects(tees), fairway.id
        polygons = [f.plane for f in golf(course.file, *WATER) if f.plane.area > 0]
        assert not fairway.plane.intersects(shapely.union_all(polygons)), fairway.id


@each_course
def test_everything_drawn_lies_within_the_outline(course: Layout) -> None:
    (outline,) = (f for f in features(course.file) if f.tags.get("leisure") == "golf_course")
    inside = outline.plane.buffer(1.0)
    for feature in features(course.file):
        assert inside.contains(feature.plane), feature.id


def test_boundary_runs_tight_along_the_fourth() -> None:
    course = "tarrowick.geojson"
    (outline,) = (f for f in features(course) if f.tags.get("leisure") == "golf_course")
    fourth = holes(course)[3].plane
    far_half = [fourth.interpolate(share, normalized=True) for share in (0.5, 0.6, 0.7, 0.8, 0.9)]
    assert max(outline.plane.exterior.distance(point) for point in far_half) < 27.0
    assert min(outline.plane.exterior.distance(point) for point in far_half) > 12.0


def test_thirteenth_has_two_fairways_round_an_island() -> None:
    thirteenth = holes("tarrowick.geojson")[12].plane
    (fairway,) = (
        f.plane
        for f in golf("tarrowick.geojson", "fairway")
        if f.plane.intersects(thirteenth) and f.plane.interiors
    )
    island = shapely.Polygon(fairway.interiors[0])
    assert island.area > 1000.0


def test_twelfth_green_is_nearly_an_island() -> None:
    course = "tarrowick.geojson"
    green = green_of(course, holes(course)[11]).plane
    (pond,) = (f.plane for f in golf(course, "water_hazard") if f.tags["name"] == "Islet Pond")
    middle = green.centroid
    wet = 0
    for step in range(72):
        angle = math.radians(5 * step)
        ray = shapely.LineString(
            [middle, (middle.x + 40 * math.cos(angle), middle.y + 40 * math.sin(angle))]
        )
        wet += ray.intersects(pond)
    assert 50 <= wet < 72


def test_raw_map_holds_the_irregularities_of_free_drawing() -> None:
    root = ElementTree.parse(DEMO / "mossquern.osm").getroot()
    assert root.tag == "osm"
    ids = {kind: {e.get("id") for e in root.iter(kind)} for kind in ("node", "way", "relation")}
    for way in root.iter("way"):
        assert {nd.get("ref") for nd in way.iter("nd")} <= ids["node"], way.get("id")
    for member in root.iter("member"):
        assert member.get("ref") in ids[str(member.get("type"))]

    def tags(element: ElementTree.Element) -> dict[str, str]:
        return {str(t.get("k")): str(t.get("v")) for t in element.findall("tag")}

    lines = [tags(way) for way in root.iter("way") if tags(way).get("golf") == "hole"]
    assert sorted(line["ref"] for line in lines) == ["1", "2", "3", "4", "5", "6"]
    assert [line["ref"] for line in lines if "par" not in line] == ["3"]
    assert [line["ref"] for line in lines if "handicap" not in line] == ["5"]
    assert any(tags(node).get("golf") == "tee" for node in root.iter("node"))
    ways = [tags(way) for way in root.iter("way")]
    assert any(t.get("natural") == "sand" and "golf" not in t for t in ways)
    assert not any(t.get("leisure") == "golf_course" for t in ways)
    roles = {
        (tags(r).get("golf") or tags(r).get("leisure")): sorted(
            str(m.get("role")) for m in r.iter("member")
        )
        for r in root.iter("relation")
    }
    assert roles == {"golf_course": ["outer", "outer"], "fairway": ["inner", "outer"]}


def test_four_golfers() -> None:
    assert len(BAGS) == 4
    loaded = [tomllib.loads(path.read_text(encoding="utf-8")) for path in BAGS]
    assert len({bag["golfer"]["name"] for bag in loaded}) == 4
    assert sorted(bag["golfer"]["handed"] for bag in loaded).count("left") == 1
    assert {bag["units"] for bag in loaded} == {"metres", "yards"}


@each_bag
def test_bag_is_legal_and_complete(path: Path) -> None:
    bag = tomllib.loads(path.read_text(encoding="utf-8"))
    assert bag["format"] == 1
    clubs = bag["club"]
    labels = [club["label"].casefold() for club in clubs]
    assert len(set(labels)) == len(labels)
    assert 15 <= len(clubs) <= 19
    carried = [club for club in clubs if club["status"] == "bag"]
    assert len(carried) <= 14
    assert sum(club["kind"] == "putter" for club in carried) == 1
    assert {club["kind"] for club in clubs} <= KINDS
    assert {club["status"] for club in clubs} == {"bag", "candidate"}
    assert all(club.get("tee_only", False) == (club["kind"] == "driver") for club in clubs)
    assert bag["golfer"]["delivery"]["club"] in {club["label"] for club in clubs}
    known = [club for club in clubs if "pattern" in club]
    full = [club for club in known if "carry_sd" in club["pattern"]]
    unknown = [club for club in clubs if "pattern" not in club and club["kind"] != "putter"]
    assert unknown
    assert full
    assert len(full) < len(known)


@each_bag
def test_patterns_are_possible(path: Path) -> None:
    bag = tomllib.loads(path.read_text(encoding="utf-8"))
    for club in bag["club"]:
        pattern = club.get("pattern", {})
        if "carry_sd" not in pattern:
            continue
        assert abs(pattern["correlation"]) < 1
        assert pattern["shots"] >= 5
        degrees = math.degrees(math.atan2(pattern["offline_sd"], pattern["carry"]))
        assert 3.0 <= degrees <= 9.0, club["label"]
        assert 0.04 <= pattern["carry_sd"] / pattern["carry"] <= 0.11, club["label"]
        share = sum(mishit["share"] for mishit in pattern["mishit"])
        assert 0.02 < share < 0.4, club["label"]
        mean = (1 - share) * pattern["carry"] + sum(
            mishit["share"] * mishit["carry"] for mishit in pattern["mishit"]
        )
        assert mean < pattern["carry"], club["label"]


@each_bag
def test_carry_falls_with_loft_within_a_kind(path: Path) -> None:
    bag = tomllib.loads(path.read_text(encoding="utf-8"))
    for kind in KINDS - {"driver", "putter"}:
        clubs = [c for c in bag["club"] if c["kind"] == kind and "pattern" in c]
        by_loft = sorted(clubs, key=lambda club: club["loft_deg"])
        carries = [club["pattern"]["carry"] for club in by_loft]
        assert carries == sorted(carries, reverse=True), kind


@pytest.mark.parametrize("path", sorted(DEMO.glob("*.geojson")) + sorted(DEMO.glob("*.osm")))
def test_map_says_that_it_is_invented(path: Path) -> None:
    if path.suffix == ".osm":
        said = ElementTree.parse(path).getroot().get("attribution")
    else:
        said = raw(path.name)["attribution"]
    assert said == "Invented course, drawn for this project"
