"""A round's file: what people write is read, what cannot be used is said with its place."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.course.lies import Lie
from planner.demo_data import demo_folder
from planner.errors import ShotLogError
from planner.golfer.round_file import HOLED, read_round, round_rows
from planner.golfer.shot_log_text import split_rows
from planner.units import M_PER_FT, M_PER_YD, DistanceUnit

HEAD = "hole,shot,lie,to pin (m),club,outcome,penalty,putts\n"
ROUND = (
    HEAD
    + "1,1,tee,,Driver,,,\n"
    + "1,2,rough,120,7 iron,water,,\n"
    + "1,3,rough,95,9 iron,,,\n"
    + "1,4,green,6.5,,,,2\n"
    + "2,1,,150,6 iron,,,\n"
    + "2,2,sand,14,SW,holed,,\n"
)


def read(text: str, **options):
    return round_rows(split_rows("round.csv", text.encode()), **options)


def test_a_round_as_written() -> None:
    found = read(ROUND)
    assert list(found.holes) == ["1", "2"]
    assert found.rejected == ()
    first = found.holes["1"]
    assert [row.strokes for row in first] == [1, 1, 1, 2]
    # The outcome says what the empty penalty cell does not.
    assert [row.penalties for row in first] == [0, 1, 0, 0]
    assert [row.lie for row in first] == [Lie.TEE, Lie.ROUGH, Lie.ROUGH, Lie.GREEN]
    assert [row.to_pin_m for row in first] == [None, 120.0, 95.0, 6.5]
    assert found.holes["2"][0].lie is None
    assert found.holes["2"][1].outcome == HOLED


def test_separators_units_headings_and_the_hole_written_once() -> None:
    text = (
        "Saturday\n\nHole no;Lie;Distance (yd);Club;Penalty strokes;Putts taken\n"
        "4;tee;;3 wood;1;\n;tee;;3 wood;0;\n;fairway;160,5;5 iron;;\n;;18 ft;;;3\n"
    )
    rows = read(text).holes["4"]
    assert [row.penalties for row in rows] == [1, 0, 0, 0]
    assert rows[2].to_pin_m == pytest.approx(160.5 * M_PER_YD)
    # A cell's own unit counts; putts alone stand on the green.
    assert rows[3].to_pin_m == pytest.approx(18 * M_PER_FT)
    assert (rows[3].lie, rows[3].strokes) == (Lie.GREEN, 3)


def test_places_by_degrees_and_along_the_hole() -> None:
    text = "hole,lie,lon,lat,along (m),across (m),club\n1,tee,-2.5,56.1,,,Driver\n1,,,,200,-12,7i\n"
    rows = read(text).holes["1"]
    assert rows[0].place_lonlat == (-2.5, 56.1)
    assert rows[1].place_hole == (200.0, -12.0)


def test_an_unknown_unit_is_asked_for() -> None:
    text = "hole,lie,to pin,club\n1,tee,,Driver\n1,green,20,\n"
    with pytest.raises(ShotLogError, match=r'no unit is given for "to pin".*--units'):
        read(text)
    assert read(text, unit=DistanceUnit.YARDS).holes["1"][1].to_pin_m == 20 * M_PER_YD


@pytest.mark.parametrize(
    ("row", "column", "reason"),
    [
        ("1,2,swamp,120,7 iron,,,", "lie", "is no lie"),
        ("1,2,rough,twelve,7 iron,,,", "to pin (m)", "is not a distance"),
        ("1,2,rough,4000,7 iron,,,", "to pin (m)", "no longer than"),
        ("1,2,rough,90,7 iron,,many,", "penalty", "is not a number of strokes"),
        ("1,2,rough,90,7 iron,,,2", "putts", "not on the green"),
        ("1,2,rough,90,7 iron,picked up,,", "outcome", "was not finished"),
        ("1,2,rough,90,7 iron,,1,", "penalty", "should have been holed"),
        ("1,2.5,rough,90,7 iron,,,", "shot", "is not a number"),
    ],
)
def test_a_row_that_cannot_be_used_spoils_its_hole_only(row, column, reason) -> None:
    found = read(HEAD + "1,1,tee,,Driver,,,\n" + row + "\n3,1,tee,,7 iron,in,,\n")
    assert list(found.holes) == ["3"]
    assert found.spoilt == ("1",)
    (fault,) = found.rejected
    assert fault.line == 3
    assert fault.column == column
    assert reason in fault.reason
    assert fault.remedy


def test_shots_after_the_ball_was_holed_are_a_mistake() -> None:
    text = HEAD + "1,1,tee,,Driver,holed,,\n1,2,green,3,,,,1\n2,1,tee,,7 iron,in,,\n"
    assert "is followed by more shots" in str(read(text).rejected[0])


def test_shots_out_of_order_are_sorted_and_said() -> None:
    text = HEAD + "1,2,green,5,,,,2\n1,1,tee,,7 iron,,,\n"
    found = read(text)
    assert [row.lie for row in found.holes["1"]] == [Lie.TEE, Lie.GREEN]
    assert found.notes == ("hole 1: shots are put in the order of their numbers",)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("club,lie\nDriver,tee\n", "no column is headed hole"),
        ("hole,club\n1,Driver\n", "no column says where the balls lay"),
        (HEAD, "no hole can be used"),
        (HEAD + "1,1,swamp,,Driver,,,\n", "line 2, lie"),
        ("", "holds no rows"),
    ],
)
def test_a_file_without_a_round_says_what_is_missing(text, said) -> None:
    with pytest.raises(ShotLogError, match=said):
        read(text)


@settings(max_examples=150, deadline=None)
@given(st.text(alphabet='hole,lie1 2\n;tee"gr\t-.yd', max_size=300))
def test_any_text_is_read_or_refused_in_words(text) -> None:
    content = "hole,lie,to pin (m)\n" + text
    try:
        found = read(content)
    except ShotLogError as error:
        problems = error.problems
    else:
        problems = tuple(f"hole {name}" for name in found.holes)
    assert problems


def test_the_demo_round_is_whole() -> None:
    found = read_round(demo_folder() / "rounds" / "odile_marrow.csv")
    assert list(found.holes) == [str(i) for i in range(1, 19)]
    assert found.rejected == ()
    assert sum(row.strokes + row.penalties for rows in found.holes.values() for row in rows) == 93
