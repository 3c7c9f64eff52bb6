"""Courses: the bytes of their maps, found by content."""

from __future__ import annotations

import hashlib

from sqlalchemy import select

from planner.errors import StoreError
from planner.store.opening import Work
from planner.store.records import MAX_SOURCE_BYTES, SavedCourse
from planner.store.rows import add_thing, things
from planner.store.schema import course

__all__ = ["add_course", "course_key", "course_source", "courses", "save_course"]


def course_key(source: bytes) -> str:
    """SHA-256 of a map's bytes in hexadecimal."""
    return hashlib.sha256(source).hexdigest()


def courses(work: Work) -> list[SavedCourse]:
    """Every course, oldest first."""
    return things(work, course, SavedCourse)


def course_source(work: Work, one: SavedCourse) -> bytes:
    """Bytes of a course's map.

    Raises
    ------
    StoreError
        The course is not there any more.
    """
    own = (course.c.owner == work.owner) & (course.c.id == one.id)
    found = work.connection.execute(select(course.c.source).where(own)).scalar_one_or_none()
    if found is None:
        raise StoreError(f'course "{one.name}" is not saved any more')
    return bytes(found)


def save_course(work: Work, source: bytes, *, name: str, file_name: str) -> SavedCourse:
    """Save a map; one with the same bytes is kept as it is.

    Parameters
    ----------
    work
        Transaction.
    source
        The map's bytes.
    name
        Name of the course.
    file_name
        Name of the map's file; its ending says how to read it.
    """
    key = course_key(source)
    there = things(work, course, SavedCourse, course.c.key == key)
    if there:
        return there[0]
    made = SavedCourse(key=key, name=name, file_name=file_name)
    add_course(work, made, source)
    return made


def add_course(work: Work, made: SavedCourse, source: bytes) -> None:
    """Insert a course with its map's bytes."""
    if len(source) > MAX_SOURCE_BYTES:
        raise StoreError(
            f"{made.file_name}: has {len(source):,} bytes; {MAX_SOURCE_BYTES:,} are allowed; "
            "nothing was saved"
        )
    add_thing(work, course, made, source=source)
