"""One pass over a map file that finds every problem and builds the course if it can."""

from __future__ import annotations

import os
from dataclasses import dataclass, replace
from pathlib import Path

from planner.course.features import RawFeature
from planner.course.findings import WHOLE_FILE, Finding, FindingLog
from planner.course.geojson import features_of_geojson
from planner.course.hole import Course
from planner.course.hole_building import course_of
from planner.course.location import placed_features
from planner.course.map_features import map_features
from planner.course.map_limits import MAX_FEATURES, MAX_FILE_MB, within_limits
from planner.course.osm_xml import features_of_osm_xml
from planner.course.projection import crs_centred_on

NO_SOURCE = (
    "the map names no source",
    'none is shown with plans; if it comes from OpenStreetMap, they must show "© OpenStreetMap '
    'contributors, ODbL": write that into the file as its "attribution"',
)
"""What is said of a map whose source is unknown (the credit is what its licence asks for)."""


@dataclass(frozen=True)
class MapReport:
    """Everything to know about a map file.

    Parameters
    ----------
    source
        File name as given.
    findings
        All problems and notes, errors first.
    course
        The course, or None if the map cannot be used.
    """

    source: str
    findings: tuple[Finding, ...]
    course: Course | None

    @property
    def usable(self) -> bool:
        """Whether a plan can be made from the map."""
        return self.course is not None


def report_on(path: Path) -> MapReport:
    """Read a map file and report on it; what the file holds never raises."""
    log = FindingLog()
    course = None
    features, attribution = raw_features(path, log)
    if len(features) > MAX_FEATURES:
        problem = f"{len(features):,} features, more than {MAX_FEATURES:,}"
        log.error(WHOLE_FILE, problem, "export only the course and its surroundings")
    if features and not log.has_errors:
        placed, centre = placed_features(features, log)
        if centre is not None and within_limits(placed, log):
            if not attribution:
                log.assume("note", WHOLE_FILE, *NO_SOURCE)
            crs_proj = crs_centred_on(*centre)
            course = course_of(*map_features(placed, crs_proj, log), crs_proj, attribution, log)
            if course is not None and not course.name:
                course = replace(course, name=path.stem)
    elif not features and not log.has_errors:
        log.error(WHOLE_FILE, "no feature can be used", "draw or export the course again")
    log.close()
    rank = {"error": 0, "warning": 1, "note": 2}
    findings = tuple(sorted(log.findings, key=lambda finding: rank[finding.severity]))
    return MapReport(str(path), findings, None if log.has_errors else course)


def raw_features(path: Path, log: FindingLog) -> tuple[list[RawFeature], str]:
    """Features of a map file as they are in it, and the source that it names."""
    try:
        size = os.stat(path).st_size
        if path.is_dir():
            log.error(WHOLE_FILE, "a folder, not a file", "give the map file in it")
            return [], ""
        if size > MAX_FILE_MB * 1_000_000:
            log.error(
                WHOLE_FILE,
                f"{size / 1e6:.0f} MB, more than {MAX_FILE_MB} MB",
                "export only the course and its surroundings",
            )
            return [], ""
        with path.open("rb") as stream:
            head = stream.read(256).lstrip(b"\xef\xbb\xbf \t\r\n")
            stream.seek(0)
            if head.startswith((b"<", b"\xff\xfe<", b"\xfe\xff\x00<")):
                return features_of_osm_xml(stream, log)
            content = stream.read()
    except OSError as fault:
        log.error(WHOLE_FILE, f"cannot be read ({fault.strerror or fault})", "check the path")
        return [], ""
    if not content.strip():
        log.error(WHOLE_FILE, "the file is empty", "export the course again")
        return [], ""
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        log.error(WHOLE_FILE, "not UTF-8 text", "save it as GeoJSON or .osm XML in UTF-8")
        return [], ""
    return features_of_geojson(text, log)
