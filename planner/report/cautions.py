"""What every plan ends with, on paper, on the page and in the terminal."""

from __future__ import annotations

__all__ = ["CAUTIONS"]

CAUTIONS = (
    "This is advice made before play. Local rules, the weather and the course's staff come before "
    "it.",
    "Lightning, people ahead and water come first: wait, or take the safe way round.",
    "Rule 4.3a: during a round no device may recommend a club or a line from where the ball lies. "
    "Read the plan before you start.",
)
"""Caution lines (Rules of Golf 2023 for the last), in the order in which they are shown."""
