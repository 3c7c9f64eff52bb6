"""Patterns written into a bag file: read back as the same numbers, all else as it was."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.demo_data import demo_bag, demo_bag_names
from planner.errors import BagFileError
from planner.golfer.bag import bag_from_text, bag_text
from planner.golfer.bag_writing import with_patterns
from planner.golfer.club import ClubKind, MeasuredMishit, MeasuredPattern
from planner.units import DistanceUnit


def pattern(unit: DistanceUnit, mishits: int | None, run: bool) -> MeasuredPattern:
    metres = unit.to_metres
    kinds = tuple(
        MeasuredMishit(f"kind {i}", 0.1234, metres(61.7), metres(-3.3), metres(9.1), metres(8.2))
        for i in range(mishits or 0)
    )
    return MeasuredPattern(
        metres(123.4),
        metres(-2.3),
        metres(8.7),
        metres(11.9),
        -0.123,
        metres(7.3) if run else None,
        37,
        None if mishits is None else kinds,
    )


@pytest.mark.parametrize("stem", demo_bag_names())
@settings(max_examples=8, deadline=None)
@given(st.data())
def test_a_written_bag_reads_back_identically(stem: str, data: st.DataObject) -> None:
    text = bag_text(demo_bag(stem))
    bag = bag_from_text(text, source=stem)
    new = {
        club.label: pattern(
            bag.unit, data.draw(st.sampled_from([None, 0, 1, 2, 3])), data.draw(st.booleans())
        )
        for club in bag.clubs
        if club.kind is not ClubKind.PUTTER and data.draw(st.booleans())
    }
    written = with_patterns(text, new)
    again = bag_from_text(written, source=stem)
    assert again.clubs == tuple(
        dataclasses.replace(club, pattern=new.get(club.label, club.pattern)) for club in bag.clubs
    )
    assert (again.name, again.golfer, again.currency, again.unit) == (
        bag.name,
        bag.golfer,
        bag.currency,
        bag.unit,
    )
    # Comments stay, in their order.
    comments = [line for line in text.splitlines() if line.startswith("#")]
    assert comments
    assert [line for line in written.splitlines() if line.startswith("#")] == comments


def test_a_comment_stays_above_its_club() -> None:
    text = bag_text(demo_bag("odile"))
    unit = DistanceUnit.METRES
    written = with_patterns(
        text, {"Driver": pattern(unit, 1, True), "7 wood": pattern(unit, 0, True)}
    )
    assert 'not hit yet.\n[[club]]\nlabel = "Light driver"' in written
    assert 'a carry, no more.\n[[club]]\nlabel = "9 wood"' in written


def test_nothing_new_is_the_same_text() -> None:
    text = bag_text(demo_bag("bram"))
    assert with_patterns(text, {}) == text


@pytest.mark.parametrize(
    "club",
    [
        '[[club]]\nlabel = "7 iron"\nkind = "iron"\nloft_deg = 33\npattern.carry = 140\n',
        '[[club]]\nlabel = "7 iron"\nkind = "iron"\nloft_deg = 33\npattern = { carry = 140 }\n',
        'club = [{label="7 iron", kind="iron", loft_deg=33, pattern={carry=140, mishit=[]}}]\n',
        '[[club]]\nlabel = "7 iron"\nkind = "iron"\nloft_deg = 33\n[club.pattern]\ncarry=140\n'
        "mishit = [{name='a', share=0.1, carry=3, carry_sd=2, offline_sd=2}]",
    ],
)
def test_other_ways_to_write_a_pattern(club: str) -> None:
    putter = '[[club]]\nlabel = "P"\nkind = "putter"\n'
    text = (
        club.replace("}}]", '}}, {label="P", kind="putter"}]')
        if "club = [" in club
        else (f"{club}\n{putter}")
    )
    wanted = pattern(DistanceUnit.METRES, 2, False)
    bag = bag_from_text(with_patterns(text, {"7 iron": wanted}), source="x")
    assert [club.pattern for club in bag.clubs] == [wanted, None]


def test_what_cannot_be_written() -> None:
    wanted = pattern(DistanceUnit.METRES, 1, False)
    with pytest.raises(BagFileError, match='no club "8 iron"'):
        with_patterns('[[club]]\nlabel = "7 iron"\n', {"8 iron": wanted})
    with pytest.raises(BagFileError, match="not TOML"):
        with_patterns("[[club", {"8 iron": wanted})
