"""A claim: something published that the program can compute, and how near it has to come.

A claim is written down before it is computed. Its tolerance has a reason that does not look at
the program's figure, so that a miss is a fault of the model and never an invitation to widen the
tolerance.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from enum import Enum

__all__ = ["Area", "Check", "Claim", "Figure", "NotHereError", "Sense", "Verdict", "figure_text"]


class NotHereError(Exception):
    """Something a check needs is not part of this installation."""


Figure = float | str
"""A number, or words where a decision is compared."""

DIGITS = 5
"""Significant digits of a number that is shown."""


class Sense(Enum):
    """How a figure has to stand to the published one."""

    NEAR = "within"
    AT_MOST = "at most"
    AT_LEAST = "at least"
    SAME = "the same"


class Verdict(Enum):
    """What came of a check."""

    HOLDS = "holds"
    MISSES = "MISSES"
    NOT_RUN = "not run"


@dataclass(frozen=True)
class Claim:
    """One published value, not yet computed.

    Parameters
    ----------
    name
        What is compared; unique within its area.
    source
        Who published the value, or how it follows.
    published
        The published value; a function where a reference library has to work it out.
    measure
        Computes the program's value through public functions. An ``ImportError`` says that a
        library to compare with is not installed.
    unit
        Unit of both values.
    tolerance
        Greatest difference allowed, in ``unit``; what lies beyond a bound, for one-sided claims.
    reason
        Why the tolerance is what it is.
    sense
        How the figure has to stand to the published one.
    long
        Whether it takes more than a few seconds.
    known_miss
        Why it misses, where that is known and not mended yet; the check still counts as a miss.
    """

    name: str
    source: str
    published: Figure | Callable[[], Figure]
    measure: Callable[[], Figure] = field(repr=False)
    unit: str = ""
    tolerance: float = 0.0
    reason: str = ""
    sense: Sense = Sense.NEAR
    long: bool = False
    known_miss: str = ""

    def check(self) -> Check:
        """Compute the program's value and compare."""
        published = self.published() if callable(self.published) else self.published
        return Check(self, _figure(self.measure()), published=_figure(published))


@dataclass(frozen=True)
class Check:
    """A claim with the program's value.

    Parameters
    ----------
    ours
        The program's value; None where it was not computed, and ``fault`` says why.
    published
        The published value; None where a reference library was not run.
    broken
        Whether something went wrong rather than being left out.
    """

    claim: Claim
    ours: Figure | None
    fault: str = ""
    broken: bool = False
    published: Figure | None = None

    @staticmethod
    def left_out(claim: Claim, fault: str, *, broken: bool = False) -> Check:
        """A claim that was not computed, and why."""
        known = None if callable(claim.published) else _figure(claim.published)
        return Check(claim, None, fault, broken, known)

    @staticmethod
    def tried(claim: Claim) -> Check:
        """Check a claim so that whatever goes wrong is a miss that says so, for a report.

        Only what is not installed makes a check that was not run.
        """
        try:
            return claim.check()
        except ImportError as error:
            return Check.left_out(claim, f"not installed: {error.name or error}")
        except NotHereError as error:
            return Check.left_out(claim, str(error))
        except Exception as error:
            return Check.left_out(claim, f"{type(error).__name__}: {error}", broken=True)

    @property
    def difference(self) -> float | None:
        """Ours less the published value; None between words."""
        if isinstance(self.ours, float) and isinstance(self.published, float):
            return self.ours - self.published
        return None

    @property
    def verdict(self) -> Verdict:
        """Whether the claim holds."""
        if self.ours is None:
            return Verdict.MISSES if self.broken else Verdict.NOT_RUN
        difference, sense = self.difference, self.claim.sense
        if difference is None or sense is Sense.SAME:
            holds = self.ours == self.published
        elif not math.isfinite(difference):
            holds = False
        elif sense is Sense.AT_MOST:
            holds = difference <= self.claim.tolerance
        elif sense is Sense.AT_LEAST:
            holds = difference >= -self.claim.tolerance
        else:
            holds = abs(difference) <= self.claim.tolerance
        return Verdict.HOLDS if holds else Verdict.MISSES

    @property
    def allowed(self) -> str:
        """What is allowed, in words."""
        claim = self.claim
        if claim.sense in (Sense.NEAR, Sense.AT_MOST, Sense.AT_LEAST) and claim.tolerance:
            sign = {Sense.NEAR: "±", Sense.AT_MOST: "at most, +", Sense.AT_LEAST: "at least, -"}
            return f"{sign[claim.sense]}{figure_text(claim.tolerance)}"
        return claim.sense.value if claim.sense is not Sense.NEAR else "exactly"

    def line(self) -> str:
        """The check in one line, for a test's output."""
        ours = self.fault if self.ours is None else figure_text(self.ours)
        gap = "" if self.difference is None else f", difference {figure_text(self.difference)}"
        known = "" if self.published is None else figure_text(self.published)
        unit = f" {self.claim.unit}" if self.claim.unit else ""
        return (
            f"{self.claim.name}: published {known}{unit} "
            f"({self.claim.source}), ours {ours}{gap}, allowed {self.allowed}: {self.verdict.value}"
        )


@dataclass(frozen=True)
class Area:
    """Claims about one part of the program.

    Parameters
    ----------
    key
        Short word for the command line and for tests.
    title
        Heading.
    what
        How the figures are computed, a sentence or two.
    claims
        Lists the claims without computing anything.
    """

    key: str
    title: str
    what: str
    claims: Callable[[], tuple[Claim, ...]] = field(repr=False)


def _figure(value: Figure) -> Figure:
    return value if isinstance(value, str) else float(value)


def figure_text(figure: Figure) -> str:
    """A figure as it is shown."""
    if isinstance(figure, str):
        return figure
    if figure != 0.0 and (abs(figure) < 1e-3 or abs(figure) >= 1e7):
        return f"{figure:.{DIGITS}g}"
    text = f"{figure:.{DIGITS}g}" if abs(figure) < 10**DIGITS else f"{figure:.3f}"
    return "0" if text == "-0" else text
