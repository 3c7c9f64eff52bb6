"""Lie and rules area: two different things.

Carry and spread follow the *lie*; penalty and relief follow the *area of the course*
(Rules of Golf 2023, Rule 2.2). A map feature gives both.
"""

from __future__ import annotations

from enum import Enum, IntEnum


class Lie(IntEnum):
    """What the ball sits on. The value is the index of the lie in solver arrays."""

    TEE = 0
    FAIRWAY = 1
    ROUGH = 2
    DEEP_ROUGH = 3
    SAND = 4
    TREES = 5
    GREEN = 6

    @property
    def words(self) -> str:
        """The lie in trade words, lower case."""
        return self.name.lower().replace("_", " ")


class Area(Enum):
    """Area of the course (Rule 2.2), with out of bounds as the place outside."""

    TEEING = "teeing area"
    GENERAL = "general area"
    BUNKER = "bunker"
    YELLOW = "yellow penalty area"
    RED = "red penalty area"
    GREEN = "putting green"
    OUT = "out of bounds"


class Ground(IntEnum):
    """Kind of ground a map can show; the order is the paint order, later covers earlier.

    The order follows how mappers overlap features: outline and rough lie under woods,
    those under fairways, tees, water, bunkers and greens.
    """

    ROUGH = 0
    DEEP_ROUGH = 1
    TREES = 2
    FAIRWAY = 3
    TEE = 4
    YELLOW = 5
    RED = 6
    SAND = 7
    GREEN = 8
    OUT = 9

    @property
    def lie(self) -> Lie:
        """Lie of a ball at rest here. Balls in penalty areas and out of bounds are lifted."""
        return _LIE_OF_GROUND[self]

    @property
    def area(self) -> Area:
        """Area of the course of this ground."""
        return _AREA_OF_GROUND[self]

    @property
    def is_penalty_area(self) -> bool:
        """Whether Rule 17 applies to a ball here."""
        return self in (Ground.YELLOW, Ground.RED)


_LIE_OF_GROUND = {
    Ground.ROUGH: Lie.ROUGH,
    Ground.DEEP_ROUGH: Lie.DEEP_ROUGH,
    Ground.TREES: Lie.TREES,
    Ground.FAIRWAY: Lie.FAIRWAY,
    # A ball at rest on a teeing area other than the start lies on mown turf.
    Ground.TEE: Lie.FAIRWAY,
    Ground.YELLOW: Lie.ROUGH,
    Ground.RED: Lie.ROUGH,
    Ground.SAND: Lie.SAND,
    Ground.GREEN: Lie.GREEN,
    Ground.OUT: Lie.ROUGH,
}

_AREA_OF_GROUND = {
    Ground.ROUGH: Area.GENERAL,
    Ground.DEEP_ROUGH: Area.GENERAL,
    Ground.TREES: Area.GENERAL,
    Ground.FAIRWAY: Area.GENERAL,
    Ground.TEE: Area.GENERAL,
    Ground.YELLOW: Area.YELLOW,
    Ground.RED: Area.RED,
    Ground.SAND: Area.BUNKER,
    Ground.GREEN: Area.GREEN,
    Ground.OUT: Area.OUT,
}
