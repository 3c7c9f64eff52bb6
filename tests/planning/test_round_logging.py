"""Logged rounds on real holes: places, strokes gained, rows for the patterns, and the store."""

from __future__ import annotations

import dataclasses
import math
from datetime import date
from pathlib import Path

import numpy as np
import pytest
import shapely

from planner.course.lies import Lie
from planner.course.reading import read_course, to_hole, to_lonlat
from planner.demo_data import demo_bag, demo_folder
from planner.errors import OptionError
from planner.golfer.bag import read_bag
from planner.golfer.round_file import HOLED, RoundRow, read_round
from planner.planning.request import PlanRequest
from planner.planning.round_keeping import (
    keep_round,
    new_card,
    rounds_of,
    with_row,
    without_last,
)
from planner.planning.round_logging import place_shots, round_accounts
from planner.store.journal import undo_entries
from planner.store.opening import open_store
from planner.strategy.strokes_gained import RoundAccounts

DAY = date(2027, 5, 1)


@pytest.fixture(scope="module")
def links() -> PlanRequest:
    course = read_course(demo_folder() / "tarrowick.geojson")
    return PlanRequest(course, read_bag(demo_bag("odile")), tee="red", preview=True)


@pytest.fixture(scope="module")
def demo_rows() -> dict[str, tuple[RoundRow, ...]]:
    return dict(read_round(demo_folder() / "rounds" / "odile_marrow.csv").holes)


@pytest.fixture(scope="module")
def found(links: PlanRequest, demo_rows) -> RoundAccounts:
    rows = {ref: demo_rows[ref] for ref in ("12", "4")}
    return round_accounts(links, rows)


def test_a_round_adds_up_to_its_score(found: RoundAccounts, demo_rows) -> None:
    # In the order of the course, not of the file.
    assert [hole.ref for hole in found.holes] == ["4", "12"]
    for hole in found.holes:
        rows = demo_rows[hole.ref]
        assert hole.score == sum(row.strokes + row.penalties for row in rows)
        assert hole.gained == pytest.approx(hole.expected - hole.score, abs=1e-9)
    assert found.gained == pytest.approx(found.expected - found.score)
    assert found.par == 7


def test_leaving_the_plan_is_told_with_the_plans_club(found: RoundAccounts) -> None:
    tee_shot = found.holes[1].shots[0]
    assert tee_shot.kept is False
    assert tee_shot.planned
    assert tee_shot.planned != tee_shot.played.club
    assert tee_shot.leaving > 0.01
    assert found.leaving >= tee_shot.leaving


def test_full_swings_become_rows_of_a_shot_log(found: RoundAccounts) -> None:
    driver = next(swing for swing in found.swings if swing.club == "Driver")
    assert driver.lie is Lie.TEE
    assert 100.0 < driver.carry_m < driver.total_m < 200.0
    assert all(abs(swing.offline_m) < 60.0 for swing in found.swings)


def test_places_by_degrees_come_back_to_the_hole(links: PlanRequest) -> None:
    hole = links.course.hole("4")
    points = [(0.0, 0.0), (120.0, -15.0), (250.0, 8.0)]
    back = to_hole(links.course, hole, to_lonlat(links.course, hole, points))
    np.testing.assert_allclose(back, points, atol=1e-4)


def test_places_by_distance_lie_on_the_line_of_play(links: PlanRequest) -> None:
    hole = links.course.hole("2")
    rows = [RoundRow("2", i, lie=Lie.FAIRWAY, to_pin_m=d) for i, d in ((1, 340.0), (2, 90.0))]
    placed = place_shots(links, hole, [RoundRow("2", 0, club="Driver"), *rows])
    assert placed.shots[0].lie is Lie.TEE
    assert placed.shots[0].position_hole == hole.tee("red").position_hole
    assert placed.sided == (True, False, False)
    for shot, away in zip(placed.shots[1:], (340.0, 90.0), strict=True):
        assert math.dist(shot.position_hole, hole.pin_hole) == pytest.approx(away, abs=0.05)
        assert hole.line_hole.distance(shapely.Point(shot.position_hole)) < 0.05


def test_a_lie_that_is_not_said_is_the_maps(links: PlanRequest) -> None:
    hole = links.course.hole("4")
    pin = RoundRow("4", 2, place_hole=hole.pin_hole)
    placed = place_shots(links, hole, [RoundRow("4", 1), pin])
    assert placed.shots[1].lie is Lie.GREEN


def test_a_ball_played_again_from_the_tee_needs_no_place(links: PlanRequest) -> None:
    hole = links.course.hole("4")
    rows = [RoundRow("4", 1, penalties=1), RoundRow("4", 2, lie=Lie.TEE)]
    placed = place_shots(links, hole, rows)
    assert placed.shots[1].position_hole == placed.shots[0].position_hole


def test_a_shot_without_a_place_is_refused_with_its_line(links: PlanRequest) -> None:
    hole = links.course.hole("4")
    with pytest.raises(OptionError, match="line 7, hole 4: does not say where"):
        place_shots(links, hole, [RoundRow("4", 6), RoundRow("4", 7, lie=Lie.SAND)])
    swapped = RoundRow("4", 8, place_lonlat=(46.1, -30.2))
    with pytest.raises(OptionError, match=r"line 8: .* longitude comes first"):
        place_shots(links, hole, [swapped])
    with pytest.raises(OptionError, match="has no hole 19"):
        round_accounts(links, {"19": (RoundRow("19", 1),)})


def test_a_club_that_is_not_in_the_bag_is_said_and_still_adds_up(links: PlanRequest) -> None:
    rows = (
        RoundRow("12", 1, club="Trusty old cleek"),
        RoundRow("12", 2, lie=Lie.GREEN, to_pin_m=4.0, strokes=2),
    )
    found = round_accounts(links, {"12": rows})
    assert '"Trusty old cleek" is no club of the bag' in found.notes[0]
    assert found.holes[0].shots[0].kept is None
    assert found.gained == pytest.approx(found.expected - 3)
    assert found.swings == ()


# -- keeping --------------------------------------------------------------------------------------


def test_every_shot_is_kept_at_once_and_found_again(
    links: PlanRequest, demo_rows, tmp_path: Path
) -> None:
    course = links.course
    with open_store(tmp_path / "store.sqlite") as store:
        card = new_card("Odile Marrow", course.name, "red", DAY)
        for rows in (demo_rows["1"], demo_rows["2"]):
            for row in rows:
                card = keep_round(store, with_row(card, row), course=course)
                (again,) = rounds_of(store, "Odile Marrow", course.name)
                assert again.id == card.id
                assert again.total == card.total
        for ref in ("1", "2"):
            for one, other in zip(card.rows[ref], again.rows[ref], strict=True):
                same = dataclasses.replace(other, line=one.line)
                assert same == one
        # Taking a shot back is saved, too, and fills nobody's list of things to undo.
        card = keep_round(store, without_last(card, "2"), course=course)
        (again,) = rounds_of(store, "Odile Marrow", course.name)
        assert len(again.shots("2")) == len(demo_rows["2"]) - 1
        with store.reading() as work:
            assert undo_entries(work) == []
        assert rounds_of(store, "Somebody Else", course.name) == ()


def test_the_plan_that_was_kept_is_kept_with_the_round(
    links: PlanRequest, demo_rows, found: RoundAccounts, tmp_path: Path
) -> None:
    from planner.store.rounds import rounds

    card = new_card("Odile Marrow", links.course.name, "red", DAY)
    card = dataclasses.replace(card, rows={ref: demo_rows[ref] for ref in ("4", "12")})
    with open_store(tmp_path / "store.sqlite") as store:
        keep_round(store, card, course=links.course, accounts=found.holes)
        with store.reading() as work:
            (saved,) = rounds(work)
    assert saved.strokes == found.score
    first = {shot.hole_ref: shot for shot in saved.shots if shot.number == 1}
    assert first["12"].plan_kept is False
    putts = {hole.ref: hole.putts for hole in saved.holes}
    assert putts["4"] == 2


def test_a_card_counts_strokes_and_penalties() -> None:
    card = new_card("A", "B", "red", DAY)
    card = with_row(card, RoundRow("1", 1, penalties=1))
    card = with_row(card, RoundRow("1", 2, lie=Lie.GREEN, outcome=HOLED, strokes=2))
    assert (card.strokes("1"), card.total, card.strokes("2")) == (4, 4, 0)
    assert without_last(without_last(card, "1"), "1").rows == {}
