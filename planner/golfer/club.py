"""Facts of one club, as a golfer can measure or read them off it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

__all__ = ["Club", "ClubKind", "MeasuredMishit", "MeasuredPattern"]


class ClubKind(StrEnum):
    """Kind of club; decides from which lies it may be used and how it misses."""

    DRIVER = "driver"
    WOOD = "wood"
    HYBRID = "hybrid"
    IRON = "iron"
    WEDGE = "wedge"
    PUTTER = "putter"

    @property
    def is_long(self) -> bool:
        """Whether the club has a wood's head: long shaft, low loft, swept off the turf."""
        return self in (ClubKind.DRIVER, ClubKind.WOOD, ClubKind.HYBRID)


@dataclass(frozen=True)
class MeasuredMishit:
    """One kind of mishit as measured.

    Parameters
    ----------
    name
        The golfer's word for it.
    share
        Share of all shots with the club, between 0 and 1.
    carry_m, offline_m
        Mean carry and mean offline (+ right) [m].
    carry_sd_m, offline_sd_m
        Standard deviations [m].
    """

    name: str
    share: float
    carry_m: float
    offline_m: float
    carry_sd_m: float
    offline_sd_m: float


@dataclass(frozen=True)
class MeasuredPattern:
    """Shot pattern of one club as measured; what is None comes from the skill model.

    Parameters
    ----------
    carry_m
        Mean carry of the stock shot [m].
    offline_m
        Mean offline of the stock shot [m], + right whichever hand the golfer plays.
    carry_sd_m, offline_sd_m
        Standard deviations of the stock shot [m].
    correlation
        Correlation of carry and offline in the stock shot.
    run_m
        Run on a normal fairway [m].
    shots
        Number of shots the pattern was measured on.
    mishits
        Kinds of mishit; an empty tuple says that there were none.
    fitted
        Whether it was fitted to a shot log, so that few shots count for less than the handicap.
    """

    carry_m: float
    offline_m: float | None = None
    carry_sd_m: float | None = None
    offline_sd_m: float | None = None
    correlation: float | None = None
    run_m: float | None = None
    shots: int | None = None
    mishits: tuple[MeasuredMishit, ...] | None = None
    fitted: bool = False

    @property
    def has_spread(self) -> bool:
        """Whether both standard deviations of the stock shot were measured."""
        return self.carry_sd_m is not None and self.offline_sd_m is not None


@dataclass(frozen=True)
class Club:
    """One club that a golfer carries or might carry.

    Parameters
    ----------
    label
        Unique name in the bag.
    kind
        Kind of club.
    loft
        Loft of the face [rad].
    length_m
        Length [m], or None if unknown.
    tee_only
        Whether the golfer hits it only from a tee.
    carried
        Whether it is in the bag now; otherwise it is a candidate.
    price, resale
        Money asked or paid, and money it would bring, in the bag's currency.
    pattern
        What was measured with it, or None.
    head_inertia_kg_m2
        Inertia of the head about the vertical axis through its centre of mass [kg m2], or None
        if unknown: how hard a strike beside the centre turns it.
    """

    label: str
    kind: ClubKind
    loft: float
    length_m: float | None = None
    tee_only: bool = False
    carried: bool = True
    price: float | None = None
    resale: float | None = None
    pattern: MeasuredPattern | None = None
    head_inertia_kg_m2: float | None = None
