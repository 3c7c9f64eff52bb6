"""Errors raised by the package, and the one place where their tree is drawn.

::

    PlannerError                 anything a person can mend; its text says how
    ├── InputFileError           a file cannot be used; names file and every problem
    │   ├── CourseMapError       the course map
    │   ├── BagFileError         the bag
    │   ├── ShotLogError         a shot log
    │   ├── ScoreFileError       a list of scores for a handicap
    │   └── ArchiveError         what was exported from a store
    ├── OptionError              an option or argument has an unusable value
    ├── BusyError                too much waits already; says for whom
    ├── StoreError               the store cannot do it; says what was kept
    └── SolveError               a solve cannot start or gave an unusable result

Programming mistakes stay ``ValueError`` and ``TypeError``.
"""

from __future__ import annotations

from collections.abc import Sequence

__all__ = [
    "ArchiveError",
    "BagFileError",
    "BusyError",
    "CourseMapError",
    "InputFileError",
    "OptionError",
    "PlannerError",
    "ScoreFileError",
    "ShotLogError",
    "SolveError",
    "StoreError",
]


class PlannerError(Exception):
    """Base of every error that a person can mend; the text says how."""


class InputFileError(PlannerError):
    """A file cannot be used.

    Parameters
    ----------
    source
        File name as the user gave it.
    problems
        One line for each problem, each naming the row, key or feature and the remedy.
    """

    def __init__(self, source: str, problems: Sequence[str]) -> None:
        self.source = source
        self.problems = tuple(problems)
        super().__init__("\n".join(f"{source}: {problem}" for problem in self.problems))


class CourseMapError(InputFileError):
    """A course map cannot be used."""


class BagFileError(InputFileError):
    """A bag file cannot be used."""


class ShotLogError(InputFileError):
    """A shot log cannot be used."""


class ScoreFileError(InputFileError):
    """A list of scores cannot be used."""


class ArchiveError(InputFileError):
    """An exported archive cannot be used."""


class StoreError(PlannerError):
    """The store cannot do what was asked; the text says why and what was kept."""


class BusyError(PlannerError):
    """Too much work is waiting already; the text says whose, and what to do."""


class OptionError(PlannerError):
    """An option or argument has an unusable value."""


class SolveError(PlannerError):
    """A solve cannot start, or gave a result that must not be shown."""
