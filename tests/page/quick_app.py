"""Entry for the browser tests: the real page with the stand-in instead of the solver."""

from __future__ import annotations

import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parents[1])]

import bag_stand_in  # noqa: E402
import stand_in  # noqa: E402

from planner.page import bags_page, kept_plans, site, solving  # noqa: E402

solving.open_hole = stand_in.open_hole
solving.plan_round = stand_in.plan_round
kept_plans.plan_as_json = stand_in.plan_as_json
bags_page.choose_clubs = bag_stand_in.choose_clubs
bags_page.compare_bags = bag_stand_in.compare_bags
site.run()
