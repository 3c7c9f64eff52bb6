"""How far long work is, said to whoever waits for it."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Progress", "SearchProgress"]


@dataclass(frozen=True)
class Progress:
    """How far a plan is: ``done`` of ``total`` holes, and what is happening."""

    done: int
    total: int
    text: str


@dataclass(frozen=True)
class SearchProgress(Progress):
    """How far a search is: the best found so far, and what is proven.

    Parameters
    ----------
    best
        Clubs of the best set so far, in the order of the candidates.
    value
        Its expected strokes a round.
    bound
        No set is worth less.
    evaluations
        Sets valued until now.
    """

    best: tuple[str, ...]
    value: float
    bound: float
    evaluations: int
