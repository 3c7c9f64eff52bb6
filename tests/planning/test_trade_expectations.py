"""What the trade expects of clubs (common practice, no source) comes out of the model by itself.

Two test golfers whose clubs are all predicted: a high handicap with a steep delivery that takes
loft off, and a fast, shallow scratch swing. Strokes are a round's, from the back nine of the demo
course counted twice.
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from planner.course.reading import read_course
from planner.demo_data import demo_folder
from planner.golfer.bag import Bag, Delivery, Golfer
from planner.golfer.club import Club, ClubKind
from planner.golfer.techniques import techniques
from planner.planning.bag_bench import BagBench
from planner.planning.request import PlanRequest
from planner.strategy.bag_bounds import BagProblem, ClubSet
from planner.strategy.bag_choice import Remembered, choose_bag
from planner.units import MPS_PER_MPH, RAD_PER_DEG

pytestmark = pytest.mark.slow

HOLES = tuple(str(number) for number in range(10, 19))
D, W, H, I, G = (  # noqa: E741
    ClubKind.DRIVER, ClubKind.WOOD, ClubKind.HYBRID, ClubKind.IRON, ClubKind.WEDGE
)  # fmt: skip
LOFTS = {
    "Driver": (D, 10.5), "3 wood": (W, 15.0), "5 wood": (W, 18.0), "7 wood": (W, 21.0),
    "3 hybrid": (H, 19.0), "4 hybrid": (H, 22.0), "5 hybrid": (H, 25.0),
    "3 iron": (I, 20.0), "4 iron": (I, 23.0), "5 iron": (I, 26.0), "6 iron": (I, 29.0),
    "7 iron": (I, 33.0), "8 iron": (I, 37.0), "9 iron": (I, 41.5), "Pitching wedge": (G, 46.0),
    "Gap wedge": (G, 50.0), "Second gap wedge": (G, 51.0), "Sand wedge": (G, 56.0),
    "Lob wedge": (G, 60.0),
}  # fmt: skip
SHORT = frozenset(
    {
        "Driver", "6 iron", "7 iron", "8 iron", "9 iron", "Pitching wedge", "Gap wedge",
        "Sand wedge", "Lob wedge",
    }
)  # fmt: skip
FULL = SHORT | {"4 hybrid", "5 hybrid"}


@dataclass
class Worth:
    """A test golfer's bags: their value, and that of a technique with the short bag."""

    value: Remembered
    bench: BagBench

    def of(self, club: str, bag: ClubSet) -> float:
        """Strokes a round that a further club saves."""
        return self.value(bag - {club}) - self.value(bag | {club})

    def fewer_mishits(self) -> float:
        """Strokes a round saved by half of all mishits with full swings."""
        change = next(
            one for one in techniques(self.bench.bag, sorted(FULL)) if "all mishits" in one.name
        )
        assert change.model_after is not None
        now = self.bench.models_of(FULL)
        then = [change.model_after(model) for model in now]
        before, after = self.bench.values([now, then], preview=True, said="technique")
        return 2.0 * (before - after)


def worth_for(index: float, speed_mph: float, attack_deg: float, taken_off_deg: float) -> Worth:
    delivery = Delivery(
        "7 iron", speed_mph * MPS_PER_MPH, attack_deg * RAD_PER_DEG, taken_off_deg * RAD_PER_DEG
    )
    clubs = tuple(
        Club(label, kind, loft * RAD_PER_DEG, tee_only=kind is D, carried=label in FULL)
        for label, (kind, loft) in LOFTS.items()
    )
    bag = Bag("test", Golfer("test", index, delivery=delivery), clubs)
    course = read_course(demo_folder() / "tarrowick.geojson")
    tee = "red" if index > 10 else "white"
    bench = BagBench([PlanRequest(course, bag, tee=tee, holes=HOLES)], tuple(LOFTS))
    sketch = bench.sketch()
    return Worth(Remembered(lambda clubs: 2.0 * sketch(clubs)), bench)


@pytest.fixture(scope="module")
def steep() -> Worth:
    return worth_for(26.0, 68.0, -6.0, 4.0)


@pytest.fixture(scope="module")
def fast() -> Worth:
    return worth_for(0.0, 90.0, -2.5, 2.0)


@pytest.mark.parametrize("bag", [SHORT, FULL], ids=["without long clubs", "with hybrids"])
def test_steep_a_five_wood_is_worth_more_than_a_three_wood(steep: Worth, bag: ClubSet) -> None:
    assert steep.of("5 wood", bag) > steep.of("3 wood", bag) > 0.0


@pytest.mark.parametrize("number", [3, 4, 5])
def test_steep_hybrids_are_worth_more_than_the_irons_beside_them(steep: Worth, number: int) -> None:
    hybrid, iron = (steep.of(f"{number} {kind}", SHORT) for kind in ("hybrid", "iron"))
    assert hybrid > 2.0 * iron


def test_a_second_wedge_of_nearly_the_same_loft_is_worth_next_to_nothing(
    steep: Worth, fast: Worth
) -> None:
    for golfer in (steep, fast):
        first = golfer.of("Gap wedge", FULL)
        second = golfer.of("Second gap wedge", FULL)
        assert 0.0 <= second < 0.3 * first
        assert second < 0.08


def test_steep_fewer_mishits_save_more_than_any_purchase(steep: Worth, fast: Worth) -> None:
    best = max(steep.of(club, FULL) for club in set(LOFTS) - FULL)
    assert steep.fewer_mishits() > 5.0 * best
    # A scratch swing has few mishits to lose: less than a third of that.
    assert fast.fewer_mishits() < steep.fewer_mishits() / 3.0


def test_fast_and_shallow_the_answers_differ(steep: Worth, fast: Worth) -> None:
    assert fast.of("3 wood", FULL) > fast.of("5 wood", FULL)
    # No hybrid is worth half as much again as the iron beside it.
    for number in (3, 4):
        hybrid, iron = (fast.of(f"{number} {kind}", SHORT) for kind in ("hybrid", "iron"))
        assert hybrid < 1.5 * iron
    chosen = {
        name: choose_bag(BagProblem(tuple(LOFTS), 13), one.value).best
        for name, one in (("steep", steep), ("fast", fast))
    }
    assert "3 wood" in chosen["fast"]
    assert "3 wood" not in chosen["steep"]
