"""What is typed on the command line."""

from __future__ import annotations

import contextlib
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.cli import typed
from planner.errors import OptionError

REFS = tuple(str(number) for number in range(1, 19))


@pytest.mark.parametrize(
    ("text", "azimuth_deg", "speed"),
    [
        ("5 m/s from SW", 225.0, 5.0),
        ("12 mph from 225", 225.0, 5.36448),
        ("12mph SW", 225.0, 5.36448),
        ("18 km/h from the north-east", 45.0, 5.0),
        ("10 kn from nnw", 337.5, 5.144444),
        ("3,5 m/s from 0", 0.0, 3.5),
        ("4 m/s from 360°", 0.0, 4.0),
        ("4 m/s from east", 90.0, 4.0),
    ],
)
def test_wind(text: str, azimuth_deg: float, speed: float) -> None:
    azimuth, read_speed = typed.wind(text)
    assert azimuth is not None
    assert math.degrees(azimuth) == pytest.approx(azimuth_deg, abs=1e-9)
    assert read_speed == pytest.approx(speed, abs=1e-6)


@pytest.mark.parametrize("text", ["calm", "none", "0", "", " Still ", "0 m/s from N"])
def test_still_air(text: str) -> None:
    assert typed.wind(text) == (None, 0.0)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("windy", "5 m/s from SW"),
        ("5 from SW", "without unit"),
        ("5 furlongs from SW", "furlongs"),
        ("-5 m/s from SW", "negative"),
        ("5 m/s from 400", '"400" is no direction'),
        ("5 m/s from nowhere", '"nowhere" is no direction'),
    ],
)
def test_wind_that_is_none(text: str, says: str) -> None:
    with pytest.raises(OptionError, match=says):
        typed.wind(text)


@given(speed=st.floats(0.1, 25.0), azimuth_deg=st.floats(0.0, 359.9))
def test_any_wind_in_numbers_is_read(speed: float, azimuth_deg: float) -> None:
    azimuth, read_speed = typed.wind(f"{speed:.6f} m/s from {azimuth_deg:.6f}")
    assert azimuth == pytest.approx(math.radians(azimuth_deg), abs=1e-6)
    assert read_speed == pytest.approx(speed, abs=1e-6)


@given(text=st.text(max_size=30))
def test_no_text_breaks_the_readers(text: str) -> None:
    for read in (
        typed.wind,
        typed.temperature_c,
        typed.altitude_m,
        lambda text: typed.hole_refs(text, REFS),
    ):
        with contextlib.suppress(OptionError):
            read(text)


@pytest.mark.parametrize(
    ("text", "degrees_c"), [("15", 15.0), ("59 F", 15.0), ("-3.5 C", -3.5), ("20°C", 20.0)]
)
def test_temperature(text: str, degrees_c: float) -> None:
    assert typed.temperature_c(text) == pytest.approx(degrees_c)


@pytest.mark.parametrize(
    ("text", "metres"), [("120", 120.0), ("120 m", 120.0), ("1000 ft", 304.8), ("100yd", 91.44)]
)
def test_altitude(text: str, metres: float) -> None:
    assert typed.altitude_m(text) == pytest.approx(metres)


@pytest.mark.parametrize(
    ("text", "refs"),
    [
        ("1-18", REFS),
        ("all", REFS),
        ("7", ("7",)),
        ("1,4,10-12", ("1", "4", "10", "11", "12")),
        (" 3 - 5 , 4", ("3", "4", "5")),
        ("18,1", ("18", "1")),
    ],
)
def test_holes(text: str, refs: tuple[str, ...]) -> None:
    assert typed.hole_refs(text, REFS) == refs


def test_holes_whose_refs_are_words() -> None:
    refs = ("A1", "A2", "A3", "B-1")
    assert typed.hole_refs("a1-a3,b-1", refs) == refs


def test_every_unknown_hole_is_named() -> None:
    with pytest.raises(OptionError, match=r'no hole "19"; "5-2" runs backwards; no hole "x"'):
        typed.hole_refs("19,5-2,x", REFS)


def test_clubs() -> None:
    assert typed.club_labels(["Driver, 7 iron", "Putter,driver,"]) == (
        "Driver",
        "7 iron",
        "Putter",
        "driver",
    )
    assert typed.club_labels(None) is None
    assert typed.club_labels([" , "]) is None
