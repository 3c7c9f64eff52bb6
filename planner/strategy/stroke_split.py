"""Splitting a difference into parts by taking its causes away, alone and together.

Take the golfer's mishits away and he saves some strokes; take his sideways spread away and he saves
others; take both away and he saves less than the sum, because a mishit that flies straight costs
little. So a part has no one size. Of every cause two are solved for: what it saves *alone*, all
others staying, and what it saves *last*, all others gone already. Its share is the mean of the
two. If causes meddle with one another in pairs only, these shares are the Shapley values and add
up to the whole difference; what three and more causes do together is kept apart and named::

    whole = rest + sum of shares + together

holds exactly, always. With the value of every set of causes the shares are the Shapley values
themselves and nothing is left over (L. S. Shapley 1953, "A value for n-person games").
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

__all__ = [
    "StrokePart",
    "StrokeSplit",
    "every_set",
    "shapley_split",
    "summed",
    "two_ended_sets",
    "two_ended_split",
]

Causes = frozenset[int]
"""Causes that are taken away, by their place in the list of names."""


@dataclass(frozen=True)
class StrokePart:
    """What one cause costs [strokes].

    Parameters
    ----------
    name
        The cause.
    alone
        Saved without this cause, all others staying.
    last
        Saved by taking this cause away after all others.
    share
        Its share of the whole difference.
    """

    name: str
    alone: float
    last: float
    share: float


@dataclass(frozen=True)
class StrokeSplit:
    """A score taken apart [strokes].

    Parameters
    ----------
    whole
        Expected score as things are.
    rest
        Expected score without any of the causes.
    parts
        The causes in their order.
    together
        Difference that belongs to no single cause nor pair.
    """

    whole: float
    rest: float
    parts: tuple[StrokePart, ...]
    together: float

    @property
    def overlap(self) -> float:
        """Strokes by which the causes, each alone, come to more than all at once.

        Positive where causes do the same harm twice.
        """
        return math.fsum(part.alone for part in self.parts) - (self.whole - self.rest)


def two_ended_sets(count: int) -> tuple[Causes, ...]:
    """Sets of causes whose value :func:`two_ended_split` needs; each once, ``2 count + 2`` or less.

    None of the causes comes first.
    """
    everything = frozenset(range(count))
    sets = [frozenset(), *(frozenset({i}) for i in range(count))]
    sets += [everything - {i} for i in range(count)]
    return tuple(dict.fromkeys([*sets, everything]))


def every_set(count: int) -> tuple[Causes, ...]:
    """All ``2**count`` sets of causes, small ones first."""
    return tuple(
        frozenset(chosen)
        for size in range(count + 1)
        for chosen in combinations(range(count), size)
    )


def two_ended_split(names: Sequence[str], without: Mapping[Causes, float]) -> StrokeSplit:
    """Split from the values without nothing, each cause, all but each, and all.

    Parameters
    ----------
    names
        The causes, each once.
    without
        Expected score with a set of causes taken away, at least for :func:`two_ended_sets`.
    """
    everything = frozenset(range(len(names)))
    whole, rest = without[frozenset()], without[everything]
    parts = []
    for i, name in enumerate(names):
        alone = whole - without[frozenset({i})]
        last = without[everything - {i}] - rest
        parts.append(StrokePart(name, alone, last, 0.5 * (alone + last)))
    return _split(whole, rest, parts)


def shapley_split(names: Sequence[str], without: Mapping[Causes, float]) -> StrokeSplit:
    """Split by Shapley values, from the value of every set of causes.

    The share of a cause is what it saves when taken away at its turn, on average over all orders
    of taking causes away.
    """
    count = len(names)
    everything = frozenset(range(count))
    whole, rest = without[frozenset()], without[everything]
    parts = []
    for i, name in enumerate(names):
        share = 0.0
        for before in every_set(count):
            if i not in before:
                orders = math.factorial(len(before)) * math.factorial(count - len(before) - 1)
                saved = without[before] - without[before | {i}]
                share += orders / math.factorial(count) * saved
        alone = whole - without[frozenset({i})]
        last = without[everything - {i}] - rest
        parts.append(StrokePart(name, alone, last, share))
    return _split(whole, rest, parts)


def summed(splits: Iterable[StrokeSplit]) -> StrokeSplit:
    """Split of a round from those of its holes, which name the same causes in the same order."""
    holes = tuple(splits)
    if not holes:
        raise ValueError("a round has at least one hole")
    names = [part.name for part in holes[0].parts]
    if any([part.name for part in hole.parts] != names for hole in holes):
        raise ValueError("every hole must be split by the same causes")
    parts = [
        StrokePart(
            name,
            math.fsum(hole.parts[i].alone for hole in holes),
            math.fsum(hole.parts[i].last for hole in holes),
            math.fsum(hole.parts[i].share for hole in holes),
        )
        for i, name in enumerate(names)
    ]
    return _split(
        math.fsum(hole.whole for hole in holes), math.fsum(hole.rest for hole in holes), parts
    )


def _split(whole: float, rest: float, parts: Sequence[StrokePart]) -> StrokeSplit:
    shares = math.fsum(part.share for part in parts)
    return StrokeSplit(whole, rest, tuple(parts), whole - rest - shares)
