"""How far a hole's value is from what much finer lattices give, and which step it comes from."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from planner.benchmark.result_table import ResultTable
from planner.benchmark.solved_hole import Player, SolvedHole, finer, solve
from planner.course.hole import Hole
from planner.strategy.hole_tables import TableOptions
from planner.strategy.solution import SolveOptions

Tell = Callable[[str], None]

CELLS_M = (4.0, 3.0, 2.0, 1.5)
BEARING_STEPS_DEG = (3.0, 2.0, 1.5, 1.0)
"""Cells [m] and bearing steps of the convergence table."""


@dataclass(frozen=True)
class Reference:
    """Lattices that stand for the exact value.

    Parameters
    ----------
    cell
        Base cell [m].
    patch_ratio
        Patch cells along a base cell.
    bearing_step_deg, patch_bearing_step_deg
        Bearing steps.
    """

    cell: float = 0.7
    patch_ratio: int = 2
    bearing_step_deg: float = 1.0
    patch_bearing_step_deg: float = 2.0

    def options(self, usual: TableOptions) -> TableOptions:
        """Table options of the reference: every bearing has tables and averages of its own."""
        found = finer(
            usual,
            cell=self.cell,
            patch_ratio=self.patch_ratio,
            bearing_step_deg=self.bearing_step_deg,
            patch_bearing_step_deg=self.patch_bearing_step_deg,
        )
        return replace(found, bearing_ratio=1, patch_bearing_ratio=1)

    @property
    def words(self) -> str:
        """The reference in words."""
        return (
            f"{self.cell:g} m cells, {self.cell / self.patch_ratio:g} m round the pin, "
            f"bearings {self.bearing_step_deg:g} degrees apart, "
            f"{self.patch_bearing_step_deg:g} for short swings"
        )


def usual_words(options: TableOptions) -> str:
    """The lattices of a plan in words."""
    return Reference(
        options.grid.cell,
        options.grid.patch_ratio,
        math.degrees(options.bearing_step),
        math.degrees(options.patch_bearing_step),
    ).words


def accuracy(
    golfer: Player, holes: Sequence[Hole], reference: Reference, *, threads: int, tell: Tell
) -> ResultTable:
    """Compare V(tee) of holes with a reference; minutes a hole."""
    usual = golfer.table_options(threads=threads)
    rows, differences = [], []
    for hole in holes:
        ours = solve(golfer, hole, usual)
        exact = solve(golfer, hole, reference.options(usual))
        difference = ours.tee_value - exact.tee_value
        differences.append(difference)
        length = f"{hole.length_from(golfer.tee_of(hole)):.0f}"
        cells = [hole.ref, length, _value(ours), _value(exact), f"{difference:+.4f}"]
        rows.append([*cells, _seconds(ours), _seconds(exact)])
        tell(f"{golfer.name} hole {hole.ref}: {difference:+.4f}, {_seconds(exact)} s")
    largest = max(map(abs, differences))
    mean = sum(differences) / len(differences)
    notes = [
        f"Ours: {usual_words(usual)}. Reference: {reference.words}.",
        f"Largest difference {largest:.4f}, mean {mean:+.4f} strokes. {NOT_CONVERGED}",
    ]
    heading = ("hole", "m", "ours", "reference", "difference", "ours s", "reference s")
    title = f"Expected strokes from the tee against a reference: {golfer.name}, {golfer.tee} tees"
    return ResultTable(title, heading, rows, notes)


def sources(
    golfer: Player, holes: Sequence[Hole], reference: Reference, *, threads: int, tell: Tell
) -> ResultTable:
    """Change of V(tee) when one step alone becomes that of the reference."""
    usual = golfer.table_options(threads=threads)
    rows = []
    for hole in holes:
        ours = solve(golfer, hole, usual)
        rows.append([f"hole {hole.ref} as planned", _value(ours), "", _seconds(ours)])
        for name, options, asked in single_changes(usual, reference):
            changed = solve(golfer, hole, options, asked)
            difference = changed.tee_value - ours.tee_value
            cells = [f"  {name}", _value(changed), f"{difference:+.4f}", _seconds(changed)]
            rows.append(cells)
            tell(f"{golfer.name} hole {hole.ref}, {name}: {difference:+.4f}")
    notes = [
        f"As planned: {usual_words(usual)}. Every other row changes one thing only. {NOT_CONVERGED}"
    ]
    heading = ("changed", "value", "change", "s")
    title = f"What the difference comes from: {golfer.name}, {golfer.tee} tees"
    return ResultTable(title, heading, rows, notes)


def single_changes(
    usual: TableOptions, reference: Reference
) -> list[tuple[str, TableOptions, SolveOptions]]:
    """Solves that differ from the usual one in one thing each."""
    plain = SolveOptions()
    ratio = usual.grid.patch_ratio
    patch = usual.grid.cell / ratio
    less = max(1, ratio - 1)
    bearing, patch_bearing = reference.bearing_step_deg, reference.patch_bearing_step_deg
    changes = [
        (
            f"base cells {less * patch:.3g} m, patch as it is",
            finer(usual, cell=less * patch, patch_ratio=less),
            plain,
        ),
        (
            f"patch cells {patch / 2:.3g} m, base as it is",
            finer(usual, patch_ratio=2 * ratio),
            plain,
        ),
        (f"bearings {bearing:g} deg", finer(usual, bearing_step_deg=bearing), plain),
        (
            f"short swings' bearings {patch_bearing:g} deg",
            finer(usual, patch_bearing_step_deg=patch_bearing),
            plain,
        ),
        (
            "tables for every bearing",
            replace(usual, bearing_ratio=1, patch_bearing_ratio=1),
            plain,
        ),
        ("components less decimated", usual, replace(plain, level_ratio=2 * plain.level_ratio)),
        ("tolerance a tenth", usual, replace(plain, tolerance=0.1 * plain.tolerance)),
        ("double precision", usual, replace(plain, double_precision=True)),
    ]
    grid = usual.grid
    wider = replace(
        grid,
        patch_half_width=grid.patch_half_width + 12.0,
        inner_half_width=grid.inner_half_width + 12.0,
    )
    return [*changes, ("patch 12 m wider on each side", replace(usual, grid=wider), plain)]


def convergence(
    golfer: Player,
    hole: Hole,
    *,
    cells: Sequence[float] = CELLS_M,
    steps_deg: Sequence[float] = BEARING_STEPS_DEG,
    threads: int,
    tell: Tell,
) -> ResultTable:
    """V(tee) of one hole for every pair of a cell [m] and a bearing step."""
    usual = golfer.table_options(threads=threads)
    rows = []
    for cell in cells:
        row = [f"{cell:g} m"]
        for step in steps_deg:
            options = finer(
                usual, cell=cell, bearing_step_deg=step, patch_bearing_step_deg=2 * step
            )
            found = solve(golfer, hole, options)
            row.append(_value(found))
            tell(f"{golfer.name} hole {hole.ref}, {cell:g} m, {step:g} deg: {row[-1]}")
        rows.append(row)
    notes = [
        f"Patch cells are the cell over {usual.grid.patch_ratio}; short swings' bearings lie "
        f"twice as far apart. {NOT_CONVERGED}"
    ]
    heading = ("cell", *(f"{step:g} deg" for step in steps_deg))
    title = f"Expected strokes from the tee of hole {hole.ref}: {golfer.name}, {golfer.tee} tees"
    return ResultTable(title, heading, rows, notes)


NOT_CONVERGED = "A ? marks a solve that stopped unconverged."


def _value(solved: SolvedHole) -> str:
    return f"{solved.tee_value:.4f}" + ("" if solved.solution.converged else "?")


def _seconds(solved: SolvedHole) -> str:
    return f"{solved.tables_s + solved.solve_s:.1f}"
