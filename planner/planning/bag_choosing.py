"""Which clubs to carry, what each is worth, and what money or technique would bring."""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field

from planner.errors import OptionError
from planner.golfer.bag import CLUB_LIMIT, Bag
from planner.golfer.club import ClubKind
from planner.golfer.shot_outcome import ShotModel
from planner.golfer.techniques import Technique, techniques
from planner.golfer.what_if import only_clubs
from planner.planning.bag_bench import BagBench, hit_labels
from planner.planning.bag_rounds import round_names
from planner.planning.progress import Progress, SearchProgress
from planner.planning.request import PlanRequest
from planner.strategy.bag_bounds import BagProblem, ClubSet
from planner.strategy.bag_choice import BagChoice, Remembered, SearchState, choose_bag
from planner.strategy.bag_results import (
    NO_DIFFERENCE,
    BagAdvice,
    ClubWorth,
    MoneyRow,
    RatedBag,
)
from planner.strategy.bag_sketch import BagSketch
from planner.strategy.club_worth import (
    leave_one_out,
    redundant_pairs,
    shapley_values,
    worth_of_adding,
)
from planner.strategy.purchase_frontier import (
    Frontier,
    YearsOfUse,
    holding,
    purchase_frontier,
)
from planner.strategy.solution import Cancelled

__all__ = ["ChooseOptions", "choose_clubs"]

HALF_SET = 6
"""Clubs besides the putter of a half set: with fewer it is another game, and a sketch of a full
bag's game says little about it."""
MISSED_LITTLE, MISSED_MUCH = 0.03, 0.1
"""Strokes a round: of two clubs that stand in for each other either is missed for at most the
first, and both together for the second more [strokes]."""

HARDLY_EVER = 1e-3
"""Shots each time a hole is played below which a club makes no difference there: a better one
would save a few tenths of a stroke on each of them at most."""


@dataclass(frozen=True)
class ChooseOptions:
    """How clubs are chosen.

    Parameters
    ----------
    candidates
        Labels of the clubs in question; None is every club of the bag file.
    limit
        Most clubs, putters included.
    must, without
        Labels that must and must not be carried.
    budget
        Most money for clubs that are not carried now, in the bag's currency.
    use
        Years and rounds that money is spread over.
    shortlist
        Bags that are solved again on the cells of a plan; 0 leaves that out.
    technique
        Whether changes of technique are valued, too.
    """

    candidates: tuple[str, ...] | None = None
    limit: int = CLUB_LIMIT
    must: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    budget: float = math.inf
    use: YearsOfUse = field(default_factory=YearsOfUse)
    shortlist: int = 4
    technique: bool = True


def choose_clubs(
    requests: Sequence[PlanRequest],
    options: ChooseOptions | None = None,
    *,
    progress: Callable[[Progress], None] | None = None,
    found: Callable[[SearchState], None] | None = None,
    cancelled: threading.Event | None = None,
) -> BagAdvice:
    """Choose the clubs that score lowest over some courses.

    The search itself runs on sketches of the holes and is proven there; the bags that come out
    best are then solved again on fine cells.

    Parameters
    ----------
    requests
        Courses, tees and conditions, all with the same bag file; a round is their mean.
    options
        What may be chosen.
    progress
        Called as the work goes on, ``found`` with the best bag so far and the proven bound.
    cancelled
        Set by another thread to stop. Once the holes are sketched the best so far is returned.

    Raises
    ------
    OptionError
        An option cannot be used, or no allowed set can play.
    SolveError
        A hole cannot be solved.
    planner.strategy.solution.Cancelled
        ``cancelled`` was set before any bag was valued.
    """
    return _Chooser(
        requests, options or ChooseOptions(), progress, found, cancelled or threading.Event()
    ).advice()


class _Chooser:
    def __init__(
        self,
        requests: Sequence[PlanRequest],
        options: ChooseOptions,
        progress: Callable[[Progress], None] | None,
        found: Callable[[SearchState], None] | None,
        cancelled: threading.Event,
    ) -> None:
        if not requests:
            raise OptionError("no course: name at least one map")
        self.requests, self.options = requests, options
        self.progress, self.found, self.cancelled = progress, found, cancelled
        bag = self.bag = requests[0].bag
        asked = options.candidates
        if asked is not None:
            asked = (*asked, *options.must)
        self.labels = hit_labels(bag, asked)
        self.putters = _putters(bag)
        self.problem = BagProblem(
            self.labels,
            options.limit - max(len(self.putters), 1),
            frozenset(hit_labels(bag, options.must)),
            frozenset(hit_labels(bag, options.without)) & frozenset(self.labels),
            {
                club.label: club.price
                for club in bag.clubs
                if club.label in self.labels and not club.carried and club.price
            },
            options.budget,
        )
        carried = frozenset(hit_labels(bag, [c.label for c in bag.clubs if c.carried]))
        self.carried = carried & self.problem.everything
        # What is carried now may be too much, or partly out of question: then there is no present.
        self.is_legal = self.problem.allows(self.carried) and carried == self.carried
        self.changes = techniques(bag, sorted(self.carried)) if options.technique else ()
        self.bench = BagBench(requests, self.labels, progress, cancelled)

    def advice(self) -> BagAdvice:
        begun = time.perf_counter()
        sketch = self.bench.sketch()
        prepared = time.perf_counter() - begun
        known = Remembered(sketch)
        begun = time.perf_counter()
        choice = choose_bag(
            self.problem,
            known,
            start=[self.carried],
            report=self._tell_search,
            cancelled=self.cancelled,
            runners_up=max(self.options.shortlist, 1) + 20,
        )
        searched = time.perf_counter() - begun
        each = searched / max(choice.evaluations, 1)
        rated, now = self._rated(choice, sketch, known)
        best = min(rated, key=lambda bag: (bag.fine, bag.searched))
        if math.isnan(best.fine):
            best = rated[0]
        error = _error([*rated, *([now] if now is not None else [])])
        equal = tuple(
            bag
            for bag in rated
            if bag is not best and _value(bag, best) - _value(best, best) <= error
        )
        frontier, money = self._money(known)
        least = min(HALF_SET, len(best.clubs) - 1)
        return BagAdvice(
            golfer=self.bag.golfer.name,
            rounds=round_names(self.requests, self.bag.unit),
            candidates=self.labels,
            putter=self.putters,
            limit=self.problem.limit,
            now=now,
            best=best,
            equal=equal,
            error=error,
            bound=choice.bound,
            proven=choice.proven,
            evaluations=choice.evaluations,
            seconds_each=each,
            prepared_s=prepared,
            searched_s=searched,
            worths=self._worths(best.clubs, sketch, known, least),
            pairs=redundant_pairs(known, best.clubs, nothing=MISSED_LITTLE, something=MISSED_MUCH),
            frontier=frontier.points if self.problem.price else (),
            frontier_proven=frontier.proven,
            money=tuple(sorted((*money, *self._techniques()), key=lambda row: -row.saved)),
            use=self.options.use,
            currency=self.bag.currency,
            least=least,
            notes=self._notes(),
        )

    # -- parts ------------------------------------------------------------------------------

    def _rated(
        self, choice: BagChoice, sketch: BagSketch, known: Remembered
    ) -> tuple[list[RatedBag], RatedBag | None]:
        """Bags that came out best, and the present one, solved again where there is time."""
        # Clubs the search found no use for make copies of a bag: one of each kind is enough.
        listed: list[ClubSet] = []
        values: list[float] = []
        for clubs, value in ((choice.best, choice.value), *choice.runners_up):
            if len(listed) < max(self.options.shortlist, 1) and value not in values:
                listed.append(clubs)
                values.append(value)
        every = [*listed, *([self.carried] if self.is_legal else [])]
        fine = {clubs: math.nan for clubs in every}
        if self.options.shortlist > 0:
            try:
                values = self.bench.values(
                    [self.bench.models_of(clubs) for clubs in fine],
                    preview=self.requests[0].preview,
                    said=f"{len(fine)} bags again",
                    same=[_played(sketch, clubs) for clubs in fine],
                )
                fine = dict(zip(fine, values, strict=True))
            except Cancelled:
                # Half a list cannot be compared.
                pass
        rated = [
            RatedBag(clubs, known(clubs), fine[clubs], self.problem.cost(clubs)) for clubs in every
        ]
        return rated[: len(listed)], rated[-1] if self.is_legal else None

    def _worths(
        self, bag: ClubSet, sketch: BagSketch, known: Remembered, least: int
    ) -> tuple[ClubWorth, ...]:
        missed = leave_one_out(known, bag)
        uses = {use.club: use for use in sketch.uses(bag)}
        ordered = [club for club in self.labels if club in bag]
        shares = {}
        if not self.cancelled.is_set():
            self._tell("sharing the worth of the clubs")
            values = shapley_values(known, ordered, least=least, cancelled=self.cancelled)
            shares = {one.club: one for one in values}
        found = [
            ClubWorth(
                club,
                True,
                missed[club],
                None,
                shares[club].strokes if club in shares else math.nan,
                shares[club].standard_error if club in shares else math.nan,
                uses[club],
            )
            for club in sorted(ordered, key=lambda club: -missed[club])
        ]
        for club in self.labels:
            if club not in bag:
                saved, out = worth_of_adding(
                    known, bag, club, limit=self.problem.limit, fixed=self.problem.forced_in
                )
                found.append(ClubWorth(club, False, saved, out, math.nan, math.nan, None))
        return tuple(found)

    def _money(self, known: Remembered) -> tuple[Frontier, list[MoneyRow]]:
        """Frontier of strokes against money, and every single purchase by itself."""
        problem = self.problem
        if not problem.price or self.cancelled.is_set():
            return Frontier((), True, 0.0, 0), []
        self._tell("strokes against money")
        frontier = purchase_frontier(problem, known, cancelled=self.cancelled)
        resale = {
            club.label: club.resale
            for club in self.bag.clubs
            if club.label in problem.price and club.resale is not None
        }
        rows = []
        base = self._without_buying(known)
        bought = [frozenset({club}) for club in problem.price if club not in problem.forced_out]
        bought += [point.bought for point in frontier.points if len(point.bought) > 1]
        for clubs in bought:
            value = self._with_buying(known, clubs)
            if value is None or base is None:
                continue
            saved = base - value
            rows.append(
                MoneyRow(
                    ", ".join(club for club in self.labels if club in clubs),
                    saved,
                    False,
                    holding(clubs, saved, price=problem.price, resale=resale, use=self.options.use),
                )
            )
        return frontier, rows

    def _without_buying(self, known: Remembered) -> float | None:
        return self._with_buying(known, frozenset())

    def _with_buying(self, known: Remembered, clubs: ClubSet) -> float | None:
        """Best value if exactly ``clubs`` may be bought; None if that is not allowed."""
        problem = self.problem
        others = frozenset(problem.price) - clubs
        if others & problem.forced_in or problem.cost(clubs) > problem.budget:
            return None
        try:
            one = BagProblem(
                problem.candidates,
                problem.limit,
                problem.forced_in,
                problem.forced_out | others,
                problem.price,
                problem.budget,
            )
            return choose_bag(one, known, cancelled=self.cancelled).value
        except OptionError:
            return None

    def _techniques(self) -> list[MoneyRow]:
        """What changes of technique save with the present clubs."""
        if not self.changes or not self.is_legal or self.cancelled.is_set():
            return []
        jobs = [self.bench.models_of(self.carried)]
        jobs += [self._changed(change) for change in self.changes]
        try:
            base, *values = self.bench.values(jobs, preview=True, said="technique")
        except Cancelled:
            return []
        return [
            self._change_row(change, base - value)
            for change, value in zip(self.changes, values, strict=True)
        ]

    def _change_row(self, change: Technique, saved: float) -> MoneyRow:
        """What a change saves; of another putter also what those on offer would cost."""
        offered = [
            club
            for club in self.bag.clubs
            if club.kind is ClubKind.PUTTER and not club.carried and club.price
        ]
        if not change.putter or not offered:
            return MoneyRow(change.name, saved, not change.putter, None)
        putter = min(offered, key=lambda club: club.price or 0.0)
        label = putter.label
        held = holding(
            frozenset({label}),
            saved,
            price={label: putter.price or 0.0},
            resale={} if putter.resale is None else {label: putter.resale},
            use=self.options.use,
        )
        return MoneyRow(f"{label}, if it is {change.name}", saved, False, held)

    def _changed(self, change: Technique) -> list[ShotModel]:
        models = self.bench.models
        if change.bag_after is not None:
            models = self.bench.models_for(change.bag_after(self.bag))
        models = [only_clubs(model, self.carried) for model in models]
        if change.model_after is not None:
            models = [change.model_after(model) for model in models]
        return models

    def _notes(self) -> tuple[str, ...]:
        notes = list(dict.fromkeys(note for model in self.bench.models for note in model.notes))
        unpriced = [
            club.label
            for club in self.bag.clubs
            if club.label in self.labels and not club.carried and not club.price
        ]
        if unpriced and self.problem.price:
            notes.append(f"without a price, so taken to be owned: {', '.join(unpriced)}")
        if not self.putters:
            notes.append("the bag names no putter; one place is kept for it")
        return (*self.bag.findings, *notes)

    # -- saying -----------------------------------------------------------------------------

    def _tell(self, text: str) -> None:
        if self.progress is not None:
            self.progress(Progress(0, 0, text))

    def _tell_search(self, state: SearchState) -> None:
        if self.found is not None:
            self.found(state)
        if self.progress is not None:
            self.progress(
                SearchProgress(
                    0,
                    0,
                    f"{state.stage}: best {state.value:.3f}, proven {state.bound:.3f}, "
                    f"{state.evaluations} bags",
                    tuple(club for club in self.labels if club in state.best),
                    state.value,
                    state.bound,
                    state.evaluations,
                )
            )


def _putters(bag: Bag) -> tuple[str, ...]:
    """Putters that are carried, or the first of them if none is."""
    every = [club for club in bag.clubs if club.kind is ClubKind.PUTTER]
    carried = [club.label for club in every if club.carried]
    return tuple(carried or [club.label for club in every[:1]])


def _played(sketch: BagSketch, clubs: ClubSet) -> list[ClubSet]:
    """Clubs that a bag plays on each hole: bags that play the same clubs there play it alike."""
    found = []
    for uses in sketch.hole_uses(clubs):
        shots: dict[int, float] = {}
        for use in uses:
            shots[use.club] = shots.get(use.club, 0.0) + use.shots
        found.append(frozenset(sketch.clubs[i] for i, n in shots.items() if n >= HARDLY_EVER))
    return found


def _value(bag: RatedBag, best: RatedBag) -> float:
    return bag.searched if math.isnan(best.fine) else bag.fine


def _error(rated: Collection[RatedBag]) -> float:
    """How far apart the search and the fine solves see two bags, at most."""
    off = [bag.fine - bag.searched for bag in rated if not math.isnan(bag.fine)]
    return max([NO_DIFFERENCE, *([max(off) - min(off)] if off else [])])
