"""Deletes can be undone, one after the other, and leave what was there."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.errors import StoreError
from planner.planning.saved_work import delete_saved, list_saved, undo_last, undoable
from planner.store import journal
from planner.store.bags import bags, save_bag
from planner.store.courses import save_course
from planner.store.golfers import save_golfer
from planner.store.listing import KIND_NAMES
from planner.store.opening import Store
from planner.store.plans import save_plan
from planner.store.shots import save_shots

from .builders import GOLFER, MAP, NOTHING, bag_file, contents, fill, plan_content, shots

CALLED = {
    "golfer": GOLFER,
    "bag": "plain bag",
    "course": "Grasmoor",
    "shots": "range",
    "round": "2026-05-02 Grasmoor",
    "plan": "Grasmoor, red tees",
    "draft": "Grasmoor",
}


@pytest.fixture
def new_owner() -> Iterator[str]:
    return (f"owner {number}" for number in itertools.count())


@pytest.mark.parametrize("kind", KIND_NAMES)
def test_delete_and_undo(store: Store, kind: str) -> None:
    fill(store)
    before = contents(store)
    delete_saved(store, kind, CALLED[kind])
    assert contents(store) != before
    assert list_saved(store, (kind,)) == []
    assert undo_last(store).what == f'deleting {kind} "{CALLED[kind]}"'
    assert contents(store) == before
    with pytest.raises(StoreError, match="nothing to undo"):
        undo_last(store)


def test_golfer_goes_with_all_that_is_his(store: Store) -> None:
    fill(store)
    delete_saved(store, "golfer", GOLFER)
    assert {kind.kind for kind in list_saved(store)} == {"course", "draft"}


def test_deletes_are_undone_newest_first(store: Store) -> None:
    fill(store)
    states = [contents(store)]
    for kind in ("bag", "plan", "golfer", "course", "draft"):
        delete_saved(store, kind, CALLED[kind])
        states.append(contents(store))
    assert states.pop() == NOTHING
    while states:
        undo_last(store)
        assert contents(store) == states.pop()


def test_owners_undo_their_own(store: Store) -> None:
    fill(store, "ann")
    fill(store, "ben")
    before = contents(store, "ann")
    delete_saved(store, "bag", "plain bag", owner="ann")
    with pytest.raises(StoreError, match="nothing to undo"):
        undo_last(store, owner="ben")
    with pytest.raises(StoreError, match="no bag"):
        delete_saved(store, "bag", contents(store, "ben")["bags"][0].id, owner="ann")
    undo_last(store, owner="ann")
    assert contents(store, "ann") == before


def test_replacing_can_be_undone(store: Store) -> None:
    fill(store)
    before = contents(store)
    with store.writing() as work:
        one = save_golfer(work, GOLFER)
        save_bag(work, bag_file(carry=200), source="bag")
        save_shots(work, one.id, "range", shots(3))
        save_plan(work, plan_content("fedcba9876543210"))
    after = contents(store)
    assert [len(after[name]) for name in ("bags", "shot logs", "plans")] == [1, 1, 1]
    assert [entry.what for entry in undoable(store)] == [
        'replacing plan "Grasmoor, red tees"',
        'replacing shots "range"',
        'replacing bag "plain bag"',
    ]
    for _ in range(3):
        undo_last(store)
    assert contents(store) == before


def test_name_given_away_meanwhile_stays(store: Store) -> None:
    fill(store)
    delete_saved(store, "bag", "plain bag")
    with store.writing() as work:
        save_bag(work, bag_file(carry=210), source="bag")
    undo_last(store)
    with store.reading() as work:
        assert {one.name: "210" in one.text for one in bags(work)} == {
            "plain bag": True,
            "plain bag (2)": False,
        }


def test_golfer_saved_anew_meanwhile_stays(store: Store) -> None:
    fill(store)
    with store.writing() as work:
        save_golfer(work, f"{GOLFER} (2)")
    delete_saved(store, "golfer", GOLFER)
    fill(store)
    undo_last(store)
    names = [one.name for one in list_saved(store, ("golfer",))]
    assert sorted(names) == [GOLFER, f"{GOLFER} (2)", f"{GOLFER} (3)"]
    assert len(list_saved(store, ("bag", "round", "plan", "shots"))) == 8


def test_course_saved_anew_meanwhile_is_the_same(store: Store) -> None:
    fill(store)
    delete_saved(store, "course", "Grasmoor")
    with store.writing() as work:
        save_course(work, MAP, name="Grasmoor", file_name="again.geojson")
    undo_last(store)
    assert [one.file_name for one in contents(store)["courses"]] == ["again.geojson"]


def test_oldest_deletes_are_forgotten(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(journal, "KEPT_ENTRIES", 3)
    for carry in range(200, 206):
        with store.writing() as work:
            save_bag(work, bag_file(carry=carry), source="bag")
    assert len(undoable(store)) == 3
    with store.reading() as work:
        kept = work.connection.exec_driver_sql("SELECT COUNT(*) FROM bag").scalar_one()
    assert kept == 4
    for carry in (204, 203, 202):
        undo_last(store)
        assert f"carry = {carry}" in contents(store)["bags"][0].text


@given(steps=st.lists(st.sampled_from(["replace", "undo", "undo", *KIND_NAMES]), max_size=10))
@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_undo_goes_back_through_any_history(
    file_store: Store, new_owner: Iterator[str], steps: list[str]
) -> None:
    owner = next(new_owner)
    fill(file_store, owner)
    states = [contents(file_store, owner)]
    for number, step in enumerate(steps):
        if step == "undo":
            if len(states) > 1:
                states.pop()
                undo_last(file_store, owner=owner)
        elif step == "replace":
            if states[-1]["bags"]:
                with file_store.writing(owner) as work:
                    save_bag(work, bag_file(carry=150 + number), source="bag")
                states.append(contents(file_store, owner))
        elif list_saved(file_store, (step,), owner=owner):
            delete_saved(file_store, step, CALLED[step], owner=owner)
            states.append(contents(file_store, owner))
        assert contents(file_store, owner) == states[-1]
        assert len(undoable(file_store, owner=owner)) == len(states) - 1
