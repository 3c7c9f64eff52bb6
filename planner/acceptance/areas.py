"""All areas of the acceptance suite, and running them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from planner.acceptance import (
    ball_physics,
    club_facts,
    decision_problems,
    general_solvers,
    geodesy,
    handicapping,
    normal_geometry,
    open_maps,
    other_libraries,
    putting_data,
    ratings,
    rules_table,
    typical_scores,
)
from planner.acceptance.claim import Area, Check, Verdict
from planner.errors import OptionError

__all__ = ["AREAS", "LONG_LEFT_OUT", "AreaResult", "chosen_areas", "run_areas", "tally"]

AREAS: tuple[Area, ...] = (
    normal_geometry.AREA,
    geodesy.AREA,
    rules_table.AREA,
    handicapping.AREA,
    putting_data.AREA,
    ball_physics.AREA,
    club_facts.AREA,
    decision_problems.AREA,
    general_solvers.AREA,
    other_libraries.AREA,
    open_maps.AREA,
    typical_scores.AREA,
    ratings.AREA,
)
"""Quick areas first."""
LONG_LEFT_OUT = "takes long; left out of this run"


@dataclass(frozen=True)
class AreaResult:
    """An area with all its checks, those that were not run included."""

    area: Area
    checks: tuple[Check, ...]

    def count(self, verdict: Verdict) -> int:
        """Number of checks with a verdict."""
        return sum(check.verdict is verdict for check in self.checks)


def chosen_areas(keys: Sequence[str]) -> tuple[Area, ...]:
    """Areas by key, in their own order; all if none is named.

    Raises
    ------
    OptionError
        There is no such area.
    """
    known = [area.key for area in AREAS]
    unknown = [key for key in keys if key not in known]
    if unknown:
        raise OptionError(f"no area {', '.join(unknown)}; there are {', '.join(known)}")
    return tuple(area for area in AREAS if area.key in keys or not keys)


def run_areas(
    areas: Sequence[Area], *, long: bool, tell: Callable[[str], None] | None = None
) -> tuple[AreaResult, ...]:
    """Run every check of some areas; nothing that goes wrong stops the rest.

    Parameters
    ----------
    long
        Whether checks that take long are run too; else they are listed as not run.
    tell
        Called with a line about each area when it is done.
    """
    results = []
    for area in areas:
        result = AreaResult(
            area,
            tuple(
                Check.left_out(claim, LONG_LEFT_OUT)
                if claim.long and not long
                else Check.tried(claim)
                for claim in area.claims()
            ),
        )
        results.append(result)
        if tell is not None:
            tell(f"{area.title}: {tally(result)}")
    return tuple(results)


def tally(*results: AreaResult) -> str:
    """Checks that hold, miss and were not run, in words."""
    counts = {verdict: sum(one.count(verdict) for one in results) for verdict in Verdict}
    said = f"{counts[Verdict.HOLDS]} hold, {counts[Verdict.MISSES]} miss"
    not_run = counts[Verdict.NOT_RUN]
    return f"{said}, {not_run} not run" if not_run else said
