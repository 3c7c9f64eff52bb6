"""Entry for tests of many visitors: a stand-in whose numbers depend on the golfer."""

from __future__ import annotations

import sys
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parents[1])]

import stand_in  # noqa: E402

from planner.page import site, solving  # noqa: E402

SOLVE_S = 0.2


def open_hole(request: Any, ref: str, *, cancelled: Any = None) -> Any:
    """Take a while, and put a tenth of the golfer's index on every number."""
    time.sleep(SOLVE_S)
    desk = stand_in.StandInDesk(request, ref)
    more = request.bag.golfer.handicap_index / 10.0
    plan = desk.plan
    best = replace(plan.best, expected_strokes=plan.best.expected_strokes + more)
    desk.plan = replace(plan, best=best, expected_strokes=best.expected_strokes)
    return desk


solving.open_hole = open_hole
site.run()
