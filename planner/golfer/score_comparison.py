"""What comes of holding a golfer's scores to published ones."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Calibration", "Comparison", "Section"]


@dataclass(frozen=True)
class Comparison:
    """One published figure and ours.

    ``allowed`` is the largest difference held to, None where the figure is shown only;
    ``unit`` says what both are.
    """

    name: str
    published: float
    ours: float
    allowed: float | None
    unit: str

    @property
    def error(self) -> float:
        """Ours less the published figure."""
        return self.ours - self.published

    @property
    def meets(self) -> bool:
        """Whether the difference is allowed; what is only shown always is."""
        return self.allowed is None or abs(self.error) <= self.allowed


@dataclass(frozen=True)
class Section:
    """Comparisons with one source, and what has to be said of them."""

    title: str
    source: str
    golfer: str
    rows: tuple[Comparison, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Calibration:
    """All comparisons."""

    sections: tuple[Section, ...]

    @property
    def misses(self) -> tuple[Comparison, ...]:
        """Figures that are farther off than allowed."""
        return tuple(row for part in self.sections for row in part.rows if not row.meets)

    @property
    def held(self) -> int:
        """Number of figures that are held to a limit."""
        return sum(row.allowed is not None for part in self.sections for row in part.rows)
