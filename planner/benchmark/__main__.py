"""Command line of the benchmark: ``python -m planner.benchmark --help``."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from planner.errors import PlannerError

if TYPE_CHECKING:
    from planner.benchmark.result_table import ResultTable

PARTS = {
    "speed": "one hole, 18 holes, start of the program, peak memory",
    "plain": "rate of evaluated actions against a plain Monte Carlo of the same error",
    "bags": "the choice of 13 clubs among 17 and among 20, proven, over 18 holes",
    "target": "playing for a target, in multiples of one solve",
    "agreement": "the exact chances of every score against the plan played ball by ball",
    "convergence": "V(tee) of one hole for several cells and bearing steps",
    "sources": "which step the difference from the reference comes from",
    "accuracy": "V(tee) against much finer lattices, minutes a hole",
}
"""What can be measured, quick parts first."""
PIPE_WIDTH = 110


def parser() -> argparse.ArgumentParser:
    """Return the parser of the command line."""
    found = argparse.ArgumentParser(
        prog="python -m planner.benchmark",
        description="Measure the solver on the demo course. It asserts nothing.",
        epilog="Parts: " + "; ".join(f"{name}: {words}" for name, words in PARTS.items()) + ".",
    )
    found.add_argument(
        "parts", nargs="*", metavar="PART", help=f"any of {', '.join(PARTS)}; all if none is given"
    )
    found.add_argument(
        "--golfer",
        action="append",
        metavar="NAME",
        help="demo golfer, may be repeated (wren_halvard; also odile_marrow for the longer parts)",
    )
    found.add_argument(
        "--holes",
        type=_refs,
        default=("4", "9", "12"),
        metavar="REFS",
        help='holes of accuracy, sources, target and agreement, such as "4,9,12", or all (4,9,12)',
    )
    found.add_argument(
        "--hole", default="9", metavar="REF", help="hole of convergence and plain (9)"
    )
    found.add_argument(
        "--cell", type=_positive, default=0.7, metavar="M", help="cell of the reference (0.7)"
    )
    found.add_argument(
        "--patch-ratio", type=_whole, default=2, metavar="N", help="its patch cells a cell (2)"
    )
    found.add_argument(
        "--bearing-step",
        type=_positive,
        default=1.0,
        metavar="DEG",
        help="its bearing step; short swings have twice that (1)",
    )
    found.add_argument("--threads", type=_whole, default=2, metavar="N", help="threads (2)")
    found.add_argument(
        "--repeats", type=_whole, default=5, metavar="N", help="runs of the timed hole (5)"
    )
    found.add_argument(
        "--balls", type=_whole, default=400_000, metavar="N", help="balls of agreement (400000)"
    )
    found.add_argument(
        "--actions", type=_whole, default=100, metavar="N", help="actions compared by plain (100)"
    )
    found.add_argument("--seed", type=int, default=1, metavar="N", help="seed of all draws (1)")
    found.add_argument(
        "--markdown", type=Path, metavar="FILE", help="write the tables as Markdown, too"
    )
    return found


def parts_of(names: Sequence[str]) -> tuple[str, ...]:
    """Parts asked for, in the order of :data:`PARTS`; all if none is named.

    Raises
    ------
    ValueError
        There is no such part.
    """
    unknown = [name for name in names if name not in PARTS]
    if unknown:
        raise ValueError(f"no part {', '.join(unknown)}; there are {', '.join(PARTS)}")
    return tuple(name for name in PARTS if name in names or not names)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line; return its exit code."""
    reader = parser()
    given = reader.parse_args(arguments)
    try:
        parts = parts_of(given.parts)
    except ValueError as error:
        reader.error(str(error))
    from rich.console import Console

    console = Console(highlight=False)
    if not console.is_terminal:
        console.width = max(console.width, PIPE_WIDTH)
    texts: list[str] = []
    try:
        for part in parts:
            for table in _measured(part, given):
                console.print(table.rich())
                texts.append(table.markdown())
                # Written after every table: the later ones take long.
                if given.markdown is not None:
                    given.markdown.write_text("\n".join(texts), encoding="utf-8")
    except (PlannerError, OSError) as error:
        print(f"planner.benchmark: {error}", file=sys.stderr)
        return 1
    return 0


def _measured(part: str, given: argparse.Namespace) -> Iterator[ResultTable]:
    import numpy as np

    from planner.benchmark import accuracy, action_rate, solved_hole
    from planner.benchmark.agreement import agreement
    from planner.benchmark.bag_search import bag_search
    from planner.benchmark.speed import speed
    from planner.benchmark.target_cost import target_cost

    single = part in ("speed", "plain", "bags", "target")
    names = given.golfer or (["wren_halvard"] if single else ["wren_halvard", "odile_marrow"])
    reference = accuracy.Reference(
        given.cell, given.patch_ratio, given.bearing_step, 2 * given.bearing_step
    )
    for name in names:
        golfer = solved_hole.player(name)
        (hole,) = solved_hole.chosen_holes(golfer.course, [given.hole])
        holes = solved_hole.chosen_holes(golfer.course, given.holes)
        threads = given.threads
        if part == "speed":
            yield from speed(golfer, threads=threads, repeats=given.repeats)
        elif part == "plain":
            rng = np.random.default_rng(given.seed)
            yield action_rate.action_rate(
                golfer, hole, actions=given.actions, balls=given.balls, rng=rng
            )
        elif part == "bags":
            yield bag_search(golfer, threads=threads)
        elif part == "target":
            yield target_cost(golfer, holes)
        elif part == "agreement":
            yield agreement(
                golfer, holes, balls=given.balls, threads=threads, seed=given.seed, tell=_tell
            )
        elif part == "convergence":
            yield accuracy.convergence(golfer, hole, threads=threads, tell=_tell)
        elif part == "sources":
            yield accuracy.sources(golfer, holes, reference, threads=threads, tell=_tell)
        else:
            yield accuracy.accuracy(golfer, holes, reference, threads=threads, tell=_tell)


def _tell(line: str) -> None:
    print(line, file=sys.stderr, flush=True)


def _refs(text: str) -> tuple[str, ...]:
    refs = tuple(part.strip() for part in text.split(",") if part.strip())
    if not refs:
        raise argparse.ArgumentTypeError("name at least one hole, or all")
    return () if refs == ("all",) else refs


def _positive(text: str) -> float:
    value = float(text)
    if not 0.0 < value < float("inf"):
        raise argparse.ArgumentTypeError(f"{text} is not a number above 0")
    return value


def _whole(text: str) -> int:
    value = int(text)
    if value < 1:
        raise argparse.ArgumentTypeError(f"{text} is not a whole number above 0")
    return value


if __name__ == "__main__":
    raise SystemExit(main())
