"""What is erased is gone: from every table, from undo, and from the bytes of the file."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import func, select

from planner.errors import StoreError
from planner.planning.saved_work import delete_saved, undo_last, undoable
from planner.store.backup import back_up, check_store, kept_before_restore, restore
from planner.store.bags import save_bag
from planner.store.erasing import erase_golfer, erase_owner
from planner.store.golfers import save_golfer
from planner.store.opening import Store
from planner.store.schema import METADATA
from planner.store.shots import save_shots

from .builders import GOLFER, NOTHING, bag_file, contents, fill, shots

OTHER = "Jory Blakenhurst"


def bytes_around(store: Store) -> bytes:
    """Every byte in the store's folder but of the test's own files."""
    assert store.location.file is not None
    return b"".join(path.read_bytes() for path in store.location.file.parent.glob("store*"))


def row_count(store: Store) -> int:
    with store.engine.connect() as connection:
        return sum(
            connection.execute(select(func.count()).select_from(table)).scalar_one()
            for table in METADATA.tables.values()
            if table.name != "applied_step"
        )


def busy_history(store: Store, owner: str = "local") -> None:
    """Golfer saved, replaced, deleted, undone and saved again."""
    fill(store, owner)
    with store.writing(owner) as work:
        save_bag(work, bag_file(carry=201), source="bag")
    delete_saved(store, "golfer", GOLFER, owner=owner)
    undo_last(store, owner=owner)
    delete_saved(store, "golfer", GOLFER, owner=owner)
    fill(store, owner)
    fill(store, owner, OTHER)


def test_golfer_is_erased_without_a_trace(file_store: Store) -> None:
    busy_history(file_store)
    assert GOLFER.encode() in bytes_around(file_store)
    assert erase_golfer(file_store, GOLFER) == 2
    left = bytes_around(file_store)
    assert GOLFER.encode() not in left
    assert GOLFER.split()[1].encode() not in left
    assert OTHER.encode() in left
    assert [one.name for one in contents(file_store)["golfers"]] == [OTHER]
    assert [len(contents(file_store)[name]) for name in ("bags", "rounds", "plans")] == [1, 1, 1]
    assert undoable(file_store) == []
    check_store(file_store)


def test_golfer_is_erased_on_either_database(store: Store) -> None:
    busy_history(store)
    erase_golfer(store, GOLFER)
    assert [one.name for one in contents(store)["golfers"]] == [OTHER]
    with store.engine.connect() as connection:
        for table in METADATA.tables.values():
            for row in connection.execute(select(table)):
                assert GOLFER not in str(tuple(row))


def test_everything_is_erased_for_one_owner(store: Store) -> None:
    fill(store, "ben")
    before = contents(store, "ben")
    rows = row_count(store)
    busy_history(store, "ann")
    erase_owner(store, "ann")
    assert contents(store, "ann") == NOTHING
    assert contents(store, "ben") == before
    assert row_count(store) == rows
    assert undoable(store, owner="ann") == []


def test_other_deletes_can_still_be_undone(store: Store) -> None:
    fill(store)
    fill(store, golfer=OTHER)
    delete_saved(store, "bag", "plain bag", golfer=GOLFER)
    delete_saved(store, "bag", "plain bag", golfer=OTHER)
    erase_golfer(store, GOLFER)
    assert [entry.what for entry in undoable(store)] == ['deleting bag "plain bag"']
    undo_last(store)
    assert [one.name for one in contents(store)["bags"]] == ["plain bag"]


def test_kept_copy_of_a_restore_is_erased_too(file_store: Store, tmp_path: Path) -> None:
    fill(file_store)
    back_up(file_store, tmp_path / "copy.sqlite")
    restore(file_store.location, tmp_path / "copy.sqlite")
    assert kept_before_restore(tmp_path / "store.sqlite").exists()
    erase_golfer(file_store, GOLFER)
    assert GOLFER.encode() not in bytes_around(file_store)


def test_file_gives_its_room_back(file_store: Store, tmp_path: Path) -> None:
    empty = (tmp_path / "store.sqlite").stat().st_size
    with file_store.writing() as work:
        save_shots(work, save_golfer(work, GOLFER).id, "season", shots(20_000))
    erase_golfer(file_store, GOLFER)
    assert (tmp_path / "store.sqlite").stat().st_size == empty


def test_unknown_golfer_is_said(store: Store) -> None:
    fill(store)
    before = contents(store)
    with pytest.raises(StoreError, match=f'no golfer "{OTHER}"'):
        erase_golfer(store, OTHER)
    assert contents(store) == before


def test_erasing_beside_a_reader_says_what_is_left(file_store: Store) -> None:
    fill(file_store)
    with file_store.reading() as work:
        work.connection.exec_driver_sql("SELECT * FROM golfer").all()
        with pytest.raises(StoreError, match=r"close it|writing to it"):
            erase_golfer(file_store, GOLFER)
    assert contents(file_store)["golfers"] == []
    with pytest.raises(StoreError, match="traces were wiped"):
        erase_golfer(file_store, GOLFER)
    assert GOLFER.encode() not in bytes_around(file_store)


def test_deleting_is_not_erasing(file_store: Store) -> None:
    with file_store.writing() as work:
        save_golfer(work, GOLFER)
    delete_saved(file_store, "golfer", GOLFER)
    assert GOLFER.encode() in bytes_around(file_store)
