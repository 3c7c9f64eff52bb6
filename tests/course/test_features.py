"""The shapes in which exports write tags and ids."""

from __future__ import annotations

import json
from typing import Any

import pytest

from planner.course.features import feature_id_of, tags_of_properties
from planner.course.reading import check_map


@pytest.mark.parametrize(
    "properties",
    [
        {"golf": "hole", "ref": "4", "par": "4"},
        {"golf": "hole", "ref": 4, "par": 4.0, "name": None, "@id": "way/7"},
        {"tags": {"golf": "hole", "ref": "4", "par": "4"}, "id": 7},
        {"tags": '{"golf": "hole", "ref": "4", "par": 4}'},
        {"golf": "hole", "other_tags": '"ref"=>"4","par"=>"4"', "osm_id": "7"},
        {"other_tags": '"golf"=>"hole", "ref"=>"4", "par"=>"4", "note"=>NULL'},
    ],
)
def test_tags_in_every_shape(properties: dict[str, Any]) -> None:
    assert tags_of_properties(properties) == {"golf": "hole", "ref": "4", "par": "4"}


def test_quotes_in_hstore_text() -> None:
    tags = tags_of_properties({"other_tags": r'"name"=>"The \"Elbow\", back\\slash","a"=>"b=>c"'})
    assert tags == {"name": 'The "Elbow", back\\slash', "a": "b=>c"}


@pytest.mark.parametrize("properties", [None, 7, [], {"tags": 7}, {"tags": "{"}, {"x": [1]}])
def test_properties_that_hold_no_tags(properties: Any) -> None:
    assert tags_of_properties(properties) == {}


@pytest.mark.parametrize(
    ("feature", "expected"),
    [
        ({"id": "way/7", "properties": {}}, "way/7"),
        ({"properties": {"@id": "way/8"}}, "way/8"),
        ({"id": 9, "properties": {"@id": "way/8"}}, "way/8"),
        ({"id": 9, "properties": None}, "9"),
        ({"properties": {"osm_id": "77"}}, "77"),
        ({"id": True}, "feature 3"),
        ({}, "feature 3"),
    ],
)
def test_ids(feature: dict[str, Any], expected: str) -> None:
    assert feature_id_of(feature, 3) == expected


@pytest.mark.parametrize("shape", ["flat", "tags", "other_tags"])
def test_the_same_course_from_every_shape(drawing: Any, shape: str) -> None:
    drawing.hole().outline(name="Invented Links")
    for feature in drawing.features:
        tags = feature["properties"]
        if shape == "tags":
            feature["properties"] = {"tags": tags}
        elif shape == "other_tags":
            pairs = ",".join(f"{json.dumps(k)}=>{json.dumps(v)}" for k, v in tags.items())
            feature["properties"] = {"other_tags": pairs}
    course = check_map(drawing.write()).course
    assert course is not None
    assert course.name == "Invented Links"
    assert len(course.holes[0].areas) == 3


@pytest.mark.parametrize(
    ("members", "said"),
    [
        ({"attribution": "drawn by hand"}, "drawn by hand"),
        ({"copyright": " a\n b ", "license": "free"}, "a b; free"),
        ({"attribution": "same", "copyright": "same"}, "same"),
        ({"license": "free", "attribution": None}, "free"),
        ({"note": "a draft", "attribution": ["x"], "copyright": " "}, ""),
        ({}, ""),
    ],
)
def test_source_is_what_the_file_says(drawing: Any, members: dict[str, Any], said: str) -> None:
    drawing.members |= members
    # The ids look like the public map's, which proves nothing.
    course = check_map(drawing.hole().write()).course
    assert course is not None
    assert course.attribution == said
    unnamed = [note for note in course.assumptions if "names no source" in note]
    assert len(unnamed) == (said == "")
    assert all("© OpenStreetMap contributors, ODbL" in note for note in unnamed)
