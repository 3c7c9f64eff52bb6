"""How far long work is, said to whoever waits for it."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Progress"]


@dataclass(frozen=True)
class Progress:
    """How far a plan is: ``done`` of ``total`` holes, and what is happening."""

    done: int
    total: int
    text: str
