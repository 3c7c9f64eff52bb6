"""Start the page's server with what every first visit needs: ``python -m planner.page.start run``.

What solves is loaded first: the demo's map and bag are read, and the hole that is shown first is
solved, while the rest of the page is loaded and the browser opens. The next start finds it solved.
"""

from __future__ import annotations

import threading
from dataclasses import replace
from pathlib import Path

from planner.demo_data import DEMO_TEES
from planner.page.access import SERVER, is_public
from planner.page.inputs import InputFile, bag_of, demo_bags, demo_maps, map_report, uploaded_file
from planner.page.ready_hole import keep_ready, kept_ready
from planner.page.solving import hole_desks
from planner.planning.request import PlanRequest, request_key

__all__ = ["first_request", "get_ready", "main"]


def main() -> None:
    """Load the page, then serve it as Streamlit's own command would."""
    threading.Thread(target=get_ready, name="get ready", daemon=True).start()
    from streamlit.web.cli import main as streamlit

    import planner.page.site  # noqa: F401

    streamlit(prog_name="streamlit")


def first_request() -> PlanRequest | None:
    """What the page asks for when nothing was chosen; None if the demo cannot be used."""
    maps, bags = demo_maps(), demo_bags()
    if not maps or not bags:
        return None
    course = map_report(_file(next(iter(maps.values())))).course
    bag = bag_of(_file(next(iter(bags.values())))).bag
    if course is None or bag is None:
        return None
    usual = DEMO_TEES.get(next(iter(bags)))
    tee = usual if usual in course.tee_names else course.tee_names[0]
    request = PlanRequest(course, bag, tee=tee)
    return replace(request, threads=1) if is_public() else request


def get_ready() -> None:
    """Read the demo and solve the hole that is shown first; a fault is told to who opens it."""
    request = first_request()
    if request is None:
        return
    ref = request.course.holes[0].ref
    key = f"{request_key(request)}/{ref}"
    kept = kept_ready(key)
    if kept is not None:
        hole_desks().put(key, kept)
        _read_demo()
        return
    with hole_desks().asked(key, SERVER, request, ref) as future:
        _read_demo()
        if future.exception() is None:
            keep_ready(key, future.result())


def _read_demo() -> None:
    """Read the demo's maps and bags, whose names stand in the lists."""
    for path in demo_maps().values():
        map_report(_file(path))
    for path in demo_bags().values():
        bag_of(_file(path))


def _file(path: Path) -> InputFile:
    return uploaded_file(path.name, path.read_bytes())


if __name__ == "__main__":
    main()
