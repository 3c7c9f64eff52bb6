"""Start the page's server with what every first visit needs: ``python -m planner.page.start run``.

The libraries are loaded before the server answers. Maps and bags of the demo are read, and the hole
that is shown first is solved, while the browser is still opening.
"""

from __future__ import annotations

import threading
from dataclasses import replace

from planner.demo_data import DEMO_TEES
from planner.page.access import SERVER, is_public
from planner.page.inputs import bag_of, demo_bags, demo_maps, map_report, uploaded_file
from planner.page.solving import hole_desks
from planner.planning.request import PlanRequest, request_key

__all__ = ["first_request", "get_ready", "main"]


def main() -> None:
    """Load the page, then serve it as Streamlit's own command would."""
    from streamlit.web.cli import main as streamlit

    import planner.page.site  # noqa: F401

    threading.Thread(target=get_ready, name="get ready", daemon=True).start()
    streamlit(prog_name="streamlit")


def first_request() -> PlanRequest | None:
    """What the page asks for when nothing was chosen; None if the demo cannot be used."""
    maps = [map_report(uploaded_file(p.name, p.read_bytes())).course for p in demo_maps().values()]
    found = demo_bags()
    bags = [bag_of(uploaded_file(p.name, p.read_bytes())).bag for p in found.values()]
    if not maps or maps[0] is None or not bags or bags[0] is None:
        return None
    course, usual = maps[0], DEMO_TEES.get(next(iter(found)))
    tee = usual if usual in course.tee_names else course.tee_names[0]
    request = PlanRequest(course, bags[0], tee=tee)
    return replace(request, threads=1) if is_public() else request


def get_ready() -> None:
    """Read the demo and solve the hole that is shown first; a fault is told to who opens it."""
    request = first_request()
    if request is None:
        return
    ref = request.course.holes[0].ref
    with hole_desks().asked(f"{request_key(request)}/{ref}", SERVER, request, ref) as future:
        future.exception()


if __name__ == "__main__":
    main()
