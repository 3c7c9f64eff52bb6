"""What was found wrong or missing on a map, gathered while it is read."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

Severity = Literal["error", "warning", "note"]


@dataclass(frozen=True)
class Finding:
    """One thing to know about a map.

    Parameters
    ----------
    severity
        ``"error"``: the map cannot be used; ``"warning"``: something was left out or is
        probably not as the mapper meant it; ``"note"``: how the map was read.
    feature_id
        The map's own id of the feature, or the whole ``"file"``.
    problem
        What is wrong or missing.
    remedy_or_assumption
        What to do, or what was assumed instead.
    """

    severity: Severity
    feature_id: str
    problem: str
    remedy_or_assumption: str

    def __str__(self) -> str:
        """Feature, problem and remedy in one line, without the severity."""
        return f"{self.feature_id}: {self.problem}; {self.remedy_or_assumption}"


WHOLE_FILE = "file"
"""``feature_id`` of findings about the file as a whole."""
MAX_SHOWN = 2000
"""Warnings and notes that are told one by one; of the rest their number is."""
MAX_WORDS = 400
"""Characters of a feature's id or of a sentence about it; what a map repeats may be longer."""


@dataclass
class FindingLog:
    """Findings in the order in which they were made; the one mutable thing while reading."""

    findings: list[Finding] = field(default_factory=list)
    assumptions: list[str] = field(default_factory=list)
    unsaid: int = 0
    _said: set[Finding] = field(default_factory=set)
    _assumed: set[str] = field(default_factory=set)

    def error(self, feature_id: str, problem: str, remedy: str) -> None:
        """Record that the map cannot be used."""
        self._add("error", feature_id, problem, remedy)

    def warning(self, feature_id: str, problem: str, remedy: str) -> None:
        """Record something left out or probably wrong."""
        self._add("warning", feature_id, problem, remedy)

    def note(self, feature_id: str, problem: str, remedy: str) -> None:
        """Record how the map was read."""
        self._add("note", feature_id, problem, remedy)

    def assume(self, severity: Severity, feature_id: str, problem: str, assumption: str) -> None:
        """Record what was filled in where the map is silent; it also goes to the plan."""
        finding = self._add(severity, feature_id, problem, assumption)
        if str(finding) not in self._assumed and len(self._assumed) < MAX_SHOWN:
            self._assumed.add(str(finding))
            self.assumptions.append(str(finding))

    @property
    def has_errors(self) -> bool:
        """Whether any finding makes the map unusable."""
        return any(finding.severity == "error" for finding in self.findings)

    def _add(self, severity: Severity, feature_id: str, problem: str, remedy: str) -> Finding:
        finding = Finding(severity, _short(feature_id), _short(problem), _short(remedy))
        if finding in self._said:
            return finding
        self._said.add(finding)
        if severity != "error" and len(self.findings) >= MAX_SHOWN:
            self.unsaid += 1
        else:
            self.findings.append(finding)
        return finding

    def close(self) -> None:
        """Say how much was not told; called once, after everything else."""
        if self.unsaid:
            text = f"{self.unsaid:,} more warnings and notes like these"
            self.findings.append(Finding("note", WHOLE_FILE, text, "mend the first ones"))


def _short(text: str) -> str:
    return text if len(text) <= MAX_WORDS else text[: MAX_WORDS - 3] + "..."
