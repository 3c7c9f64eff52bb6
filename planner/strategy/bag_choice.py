"""The best set of clubs by branch and bound, for any value that more clubs never worsen.

First clubs are dropped greedily and swapped while that helps: usually the best set already. Then
the tree of sets to leave out is searched, most promising first: a node has the clubs still in
play and those that must stay; its children drop one club each and keep the clubs dropped by
their elder siblings. Bounds are those of :mod:`planner.strategy.bag_bounds`. The least bound of
the open nodes is proven whenever the search stops.
"""

from __future__ import annotations

import heapq
import itertools
import math
import threading
from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np

from planner.errors import OptionError
from planner.strategy.bag_bounds import (
    BagProblem,
    ClubSet,
    SetValue,
    pair_bound,
    single_bound,
)

__all__ = ["BagChoice", "ChoiceOptions", "Remembered", "SearchState", "choose_bag"]


@dataclass(frozen=True)
class ChoiceOptions:
    """How a choice is searched for.

    Parameters
    ----------
    tolerance
        Sets that cannot be better than the best found by more than this are not looked for
        [strokes].
    pairs_from
        Nodes that must lose at least so many clubs get the bound from pairs, too.
    most_evaluations
        Evaluations after which the search stops unproven.
    """

    tolerance: float = 1e-6
    pairs_from: int = 2
    most_evaluations: int = 200_000


@dataclass(frozen=True)
class SearchState:
    """How far a search is: best set so far with its value, proven bound, work done."""

    best: ClubSet
    value: float
    bound: float
    evaluations: int
    open_nodes: int
    stage: str

    @property
    def gap(self) -> float:
        """By how much a better set could at most be better [strokes]."""
        return max(self.value - self.bound, 0.0)


@dataclass(frozen=True)
class BagChoice:
    """Result of a search.

    Parameters
    ----------
    best, value
        Best set found and its value; of equal ones the cheapest found.
    bound
        No set is worth less.
    proven
        Whether the search came to its end: ``value - bound`` is then within the tolerance.
    evaluations, nodes
        Sets valued and nodes opened.
    runners_up
        Next best sets that were met, best first, with their values. Others as good may exist.
    """

    best: ClubSet
    value: float
    bound: float
    proven: bool
    evaluations: int
    nodes: int
    runners_up: tuple[tuple[ClubSet, float], ...]

    @property
    def gap(self) -> float:
        """By how much a better set could at most be better [strokes]."""
        return max(self.value - self.bound, 0.0)


class Remembered:
    """A set value that is worked out once for each set."""

    def __init__(self, value: SetValue) -> None:
        self._value = value
        self.known: dict[ClubSet, float] = {}

    def __call__(self, clubs: ClubSet) -> float:
        """Value of a set."""
        if clubs not in self.known:
            self.known[clubs] = self._value(clubs)
        return self.known[clubs]

    @property
    def evaluations(self) -> int:
        """How many sets were valued."""
        return len(self.known)


def choose_bag(
    problem: BagProblem,
    value: SetValue | Remembered,
    *,
    start: Iterable[ClubSet] = (),
    options: ChoiceOptions | None = None,
    report: Callable[[SearchState], None] | None = None,
    cancelled: threading.Event | None = None,
    runners_up: int = 10,
) -> BagChoice:
    """Find the set of least value that a problem allows.

    Parameters
    ----------
    problem
        What may be chosen.
    value
        Value of a set; more clubs must never be worse. One that remembers can be shared by
        searches.
    start
        Sets that may be good, such as the clubs carried now.
    options
        Tolerance and limits.
    report
        Called as the search goes on.
    cancelled
        Set by another thread to stop; the best set so far is returned, with its gap.
    runners_up
        How many other sets to name.

    Raises
    ------
    OptionError
        No set that is allowed can play.
    """
    search = _Search(problem, value, options or ChoiceOptions(), report, cancelled)
    return search.run(list(start), runners_up)


class _Stop(Exception):  # noqa: N818 - a signal, not an error
    """The search is to end."""


class _Search:
    def __init__(
        self,
        problem: BagProblem,
        value: SetValue | Remembered,
        options: ChoiceOptions,
        report: Callable[[SearchState], None] | None,
        cancelled: threading.Event | None,
    ) -> None:
        self.problem, self.options = problem, options
        self.memory = value if isinstance(value, Remembered) else Remembered(value)
        self.before = self.memory.evaluations
        self.report, self.cancelled = report, cancelled
        self.best: ClubSet | None = None
        self.least = math.inf
        self.bound = -math.inf
        self.nodes = 0
        self.open: list[tuple[float, int, ClubSet, ClubSet]] = []
        self.met: dict[ClubSet, float] = {}

    @property
    def evaluations(self) -> int:
        return self.memory.evaluations - self.before

    def value(self, clubs: ClubSet) -> float:
        if clubs not in self.memory.known:
            if self.cancelled is not None and self.cancelled.is_set():
                raise _Stop
            if self.evaluations >= self.options.most_evaluations:
                raise _Stop
        found = self.memory(clubs)
        if clubs not in self.met and self.problem.allows(clubs):
            self.met[clubs] = found
            cheaper = found == self.least and (
                self.best is None or self.problem.cost(clubs) < self.problem.cost(self.best)
            )
            if found < self.least or cheaper:
                self.best, self.least = clubs, found
        return found

    def tell(self, stage: str) -> None:
        if self.report is not None and self.best is not None:
            self.report(
                SearchState(
                    self.best,
                    self.least,
                    min(self.bound, self.least),
                    self.evaluations,
                    len(self.open),
                    stage,
                )
            )

    def run(self, start: list[ClubSet], runners_up: int) -> BagChoice:
        proven = False
        try:
            self.bound = self.value(self.problem.everything)
            for clubs in start:
                if self.problem.allows(clubs):
                    self.value(clubs)
            self.tell("start")
            if math.isfinite(self.bound):
                self._swap(self._greedy())
            self._branch()
            proven = True
        except _Stop:
            pass
        if self.best is None or not math.isfinite(self.least):
            if proven or not math.isfinite(self.bound):
                raise OptionError(
                    "no allowed set of clubs can play these holes; allow more clubs or money"
                )
            raise OptionError("stopped before any allowed set of clubs was found")
        if proven:
            self.bound = max(self.bound, self.least - self.options.tolerance)
        others = sorted(
            ((clubs, found) for clubs, found in self.met.items() if clubs != self.best),
            key=lambda one: (one[1], self.problem.cost(one[0]), sorted(one[0])),
        )
        self.tell("done")
        return BagChoice(
            self.best,
            self.least,
            min(self.bound, self.least),
            proven,
            self.evaluations,
            self.nodes,
            tuple((clubs, found) for clubs, found in others[:runners_up] if math.isfinite(found)),
        )

    # -- a good set first -------------------------------------------------------------------

    def _greedy(self) -> ClubSet:
        """Drop the club that is missed least until the set is allowed, then fill it up."""
        problem = self.problem
        clubs = problem.everything
        while not problem.allows(clubs):
            free = sorted(clubs - problem.forced_in)
            crowded = len(clubs) > problem.limit
            if not crowded:
                free = [club for club in free if problem.price.get(club, 0.0) > 0.0] or free
            now = self.value(clubs)

            def missed(
                club: str, clubs: ClubSet = clubs, now: float = now, crowded: bool = crowded
            ) -> tuple[float, str]:
                lost = self.value(clubs - {club}) - now
                price = problem.price.get(club, 0.0)
                return (lost if crowded or price <= 0.0 else lost / price, club)

            clubs -= {min(free, key=missed)}
            self.tell("dropping clubs")
        while more := [
            club for club in sorted(problem.everything - clubs) if problem.allows(clubs | {club})
        ]:
            clubs |= {min(more, key=lambda club: self.value(clubs | {club}))}
        self.value(clubs)
        return clubs

    def _swap(self, clubs: ClubSet) -> None:
        """Exchange clubs, one for one or one for two, while that helps."""
        if self.best is not None and self.least < self.value(clubs):
            clubs = self.best
        problem = self.problem
        improved = True
        while improved:
            improved = False
            here = self.value(clubs)
            outside = sorted(problem.everything - clubs)
            inside = sorted(clubs - problem.forced_in)
            found, where = here, clubs
            for new in outside:
                for old in inside:
                    other = (clubs - {old}) | {new}
                    if problem.allows(other) and self.value(other) < found - 1e-12:
                        found, where = self.value(other), other
            if where == clubs and math.isfinite(problem.budget):
                for new in outside:
                    for first, second in itertools.combinations(inside, 2):
                        other = (clubs - {first, second}) | {new}
                        single = problem.allows((clubs - {first}) | {new})
                        if not single and problem.allows(other) and self.value(other) < found:
                            found, where = self.value(other), other
            if found < here - 1e-12:
                clubs, improved = where, True
            self.tell("swapping clubs")

    # -- the proof --------------------------------------------------------------------------

    def _branch(self) -> None:
        count = itertools.count()
        root = self.problem.everything
        self._push(self.value(root), next(count), root, self.problem.forced_in)
        while self.open:
            bound, _, clubs, kept = heapq.heappop(self.open)
            self.bound = max(self.bound, min(bound, self.least))
            if bound >= self.least - self.options.tolerance:
                # Nodes come in order of their bounds: none that is left can be better.
                self.open.clear()
                break
            self.nodes += 1
            try:
                self._open(bound, clubs, kept, count)
            except _Stop:
                # What is not finished is still open.
                heapq.heappush(self.open, (bound, next(count), clubs, kept))
                raise
            self.tell("proving")
        self.bound = max(self.bound, self.least - self.options.tolerance)

    def _push(self, bound: float, number: int, clubs: ClubSet, kept: ClubSet) -> None:
        if bound < self.least - self.options.tolerance:
            heapq.heappush(self.open, (bound, number, clubs, kept))

    def _open(
        self, bound: float, clubs: ClubSet, kept: ClubSet, count: itertools.count[int]
    ) -> None:
        problem = self.problem
        removals = problem.least_removals(clubs, kept)
        if removals is None:
            return
        if removals == 0:
            self.value(clubs)
            return
        limit = self.least - self.options.tolerance
        # A club without which the set is too dear stays, whatever else goes.
        singles = {club: self.value(clubs - {club}) for club in sorted(clubs - kept)}
        free = sorted((c for c in singles if singles[c] < limit), key=lambda c: (singles[c], c))
        kept = clubs - frozenset(free)
        removals = problem.least_removals(clubs, kept)
        if removals is None:
            return
        bound = max(bound, single_bound([singles[c] for c in free], removals))
        if bound >= limit:
            return
        if removals >= self.options.pairs_from:
            bound = max(bound, self._pairs(clubs, free, singles, removals))
            if bound >= self.least - self.options.tolerance:
                return
        # Dearest first: its subtree keeps nothing yet but is the first to be bounded away, and
        # every later child has one club less that may go.
        for i, club in enumerate(reversed(free)):
            child, stays = clubs - {club}, kept | frozenset(free[len(free) - i :])
            still = problem.least_removals(child, stays)
            if still is None:
                continue
            least = max(bound, singles[club])
            if still == 0:
                self.value(child)
                continue
            self._push(least, next(count), child, stays)

    def _pairs(
        self, clubs: ClubSet, free: list[str], singles: dict[str, float], removals: int
    ) -> float:
        n = len(free)
        pairs = np.zeros((n, n))
        for i in range(n):
            pairs[i, i] = singles[free[i]]
            for j in range(i):
                pairs[i, j] = pairs[j, i] = self.value(clubs - {free[i], free[j]})
        return pair_bound(pairs, removals)
