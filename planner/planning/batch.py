"""Plans of many golfers on many courses, each kept under a key of all it depends on.

A key is a hash of the map's and the bag's bytes, tees, options and the program itself. So a batch
that was stopped, however it was, goes on where it was: what has a file is not planned again, and
nothing is taken for a plan that another version or another bag made.
"""

from __future__ import annotations

import csv
import functools
import hashlib
import io
import json
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import planner
from planner.ball.conditions import Conditions
from planner.course.hole import Course
from planner.course.reading import read_course
from planner.errors import OptionError, PlannerError, SolveError
from planner.golfer.bag import Bag, read_bag
from planner.planning.progress import Progress
from planner.planning.request import PlanRequest
from planner.planning.round_plan import plan_round
from planner.report.plan_json import plan_as_json
from planner.store.whole_file import whole_file

__all__ = [
    "BAG_ENDINGS",
    "MAP_ENDINGS",
    "BatchFile",
    "BatchOptions",
    "BatchReport",
    "Job",
    "Outcome",
    "Pair",
    "Results",
    "batch_files",
    "make_pairs",
    "plan_pair",
    "program_digest",
    "run_batch",
    "serial",
]

MAP_ENDINGS, BAG_ENDINGS = (".geojson", ".osm"), (".toml",)
ALL_TEES = "all"
_DECIDING = ("numerics", "ball", "course", "golfer", "strategy", "planning", "report")
"""Parts of the package that decide what a plan says."""
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "'")
"""Starts that spreadsheets take for a formula (OWASP, CSV injection), and the mark itself."""
INDEX = "results.csv"


@dataclass(frozen=True)
class BatchFile:
    """A map or a bag: where it is and the SHA-256 of its bytes."""

    path: Path
    digest: str


@dataclass(frozen=True)
class BatchOptions:
    """Options of every plan of a batch, as those of :class:`PlanRequest`."""

    holes: tuple[str, ...] = ()
    conditions: Conditions = field(default_factory=Conditions)
    aim_for: str = "strokes"
    give_up: float = 0.1
    local_rule_e5: bool = False
    preview: bool = False


@dataclass(frozen=True)
class Pair:
    """One golfer on one course from one set of tees; ``tee`` None is each hole's longest."""

    map_file: BatchFile
    bag_file: BatchFile
    tee: str | None
    key: str


@dataclass(frozen=True)
class Job:
    """A pair with the content of its files: all that is needed to plan it anywhere."""

    pair: Pair
    map_bytes: bytes
    bag_bytes: bytes
    options: BatchOptions
    program: str


@dataclass(frozen=True)
class Outcome:
    """What became of a job: the result file's bytes, or the fault."""

    key: str
    content: bytes = b""
    fault: str = ""
    unsolved: bool = False
    cpu_s: float = 0.0
    holes: int = 0


@dataclass(frozen=True)
class BatchReport:
    """What a batch did.

    ``failed`` are pairs with their faults; ``cpu_s`` is processor time of the planned ones and
    ``wall_s`` how long it took [s].
    """

    there: int
    planned: int
    failed: tuple[tuple[Pair, str], ...]
    unsolved: bool
    holes: int
    cpu_s: float
    wall_s: float


Runner = Callable[[Iterable[Job]], Iterator[Outcome]]
"""Plans jobs, in whatever order; takes them one by one, as it has room."""


class Results:
    """Folder of results, a file for each key, written as a whole or not at all."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise OptionError(f"--out {folder}: cannot be made: {error.strerror}") from None

    def path(self, key: str) -> Path:
        """File of a key."""
        return self.folder / key[:2] / f"{key}.json"

    def has(self, key: str) -> bool:
        """Whether a key has its result."""
        return self.path(key).is_file()

    def write(self, key: str, content: bytes) -> None:
        """Keep a result; it is on the disk when this returns.

        Raises
        ------
        StoreError
            It cannot be written.
        """
        path = self.path(key)
        path.parent.mkdir(exist_ok=True)
        with whole_file(path, overwrite=True) as beside:
            beside.write_bytes(content)

    def write_index(self, pairs: Sequence[Pair], faults: dict[str, str]) -> None:
        """Write the table of all pairs: which files make which result, or why there is none."""
        out = io.StringIO()
        table = csv.writer(out, lineterminator="\n")
        table.writerow(["map", "bag", "tees", "state", "result", "fault"])
        for pair in pairs:
            there = self.has(pair.key)
            state = "planned" if there else "failed" if pair.key in faults else "missing"
            result = str(self.path(pair.key).relative_to(self.folder)) if there else ""
            names = (str(pair.map_file.path), str(pair.bag_file.path), pair.tee or "longest")
            cells = (*names, state, result, "" if there else faults.get(pair.key, ""))
            table.writerow([f"'{cell}" if cell.startswith(_FORMULA) else cell for cell in cells])
        with whole_file(self.folder / INDEX, overwrite=True) as beside:
            beside.write_text(out.getvalue(), encoding="utf-8")


def batch_files(paths: Sequence[Path], endings: tuple[str, ...], what: str) -> list[BatchFile]:
    """Files named, and those of folders named, in order of names, each content once.

    Raises
    ------
    OptionError
        There is none, or one cannot be read; names all such.
    """
    found: dict[str, BatchFile] = {}
    problems: list[str] = []
    for path in paths:
        inside = sorted(p for p in path.rglob("*") if p.suffix.lower() in endings)
        if path.is_dir() and not inside:
            problems.append(f"{path}: holds no {what} ({', '.join(endings)})")
        for one in inside if path.is_dir() else [path]:
            try:
                with one.open("rb") as file:
                    digest = hashlib.file_digest(file, "sha256").hexdigest()
            except OSError as error:
                problems.append(f"{one}: cannot be read: {error.strerror}")
                continue
            found.setdefault(digest, BatchFile(one, digest))
    if problems:
        raise OptionError("; ".join(problems))
    return list(found.values())


@functools.cache
def program_digest() -> str:
    """Digest of the version and of the source that decides what a plan says."""
    package = Path(planner.__file__).parent
    digest = hashlib.sha256(planner.__version__.encode())
    for part in _DECIDING:
        for path in sorted((package / part).rglob("*.py")):
            digest.update(path.relative_to(package).as_posix().encode() + b"\0")
            digest.update(path.read_bytes() + b"\0")
    return digest.hexdigest()


def make_pairs(
    maps: Sequence[BatchFile],
    bags: Sequence[BatchFile],
    tees: Sequence[str],
    options: BatchOptions,
) -> tuple[list[Pair], dict[str, str]]:
    """Every golfer on every course from all tees asked for, and maps that cannot be used.

    ``tees`` are names; none for each hole's longest, and ``"all"`` for every set of a course.
    Pairs of one course follow one another, so that it is seldom read again.
    """
    pairs: list[Pair] = []
    faults: dict[str, str] = {}
    for one in maps:
        names: Sequence[str | None] = tees or (None,)
        if ALL_TEES in tees:
            try:
                names = read_course(one.path).tee_names
            except PlannerError as error:
                faults[str(one.path)] = str(error)
                continue
        for tee in names:
            pairs += [Pair(one, bag, tee, _key(one, bag, tee, options)) for bag in bags]
    return pairs, faults


def _key(one: BatchFile, bag: BatchFile, tee: str | None, options: BatchOptions) -> str:
    # The names of the files are in the key too: titles come from them where the files have none.
    names = (one.path.name, bag.path.name)
    parts = (program_digest(), one.digest, bag.digest, *names, repr(tee), repr(options))
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()[:40]


def plan_pair(job: Job) -> Outcome:
    """Plan a job on one core; whatever is wrong with it becomes its outcome."""
    key = job.pair.key
    if job.program != program_digest():
        return Outcome(key, fault="the worker runs another version of planner than the batch")
    start = time.process_time()
    try:
        course = _course(job.pair.map_file.path.name, job.map_bytes)
        options = job.options
        request = PlanRequest(
            course,
            _bag(job.pair.bag_file.path.name, job.bag_bytes),
            tee=job.pair.tee,
            holes=options.holes,
            conditions=options.conditions,
            aim_for=options.aim_for,
            give_up=options.give_up,
            local_rule_e5=options.local_rule_e5,
            preview=options.preview,
            threads=1,
        )
        plan = plan_round(request)
        unsolved = [hole.hole.ref for hole in plan.holes if not hole.converged]
        if unsolved:
            raise SolveError(f"not converged on hole {', '.join(unsolved)}")
    except PlannerError as error:
        text = " ".join(str(error).split())
        return Outcome(key, fault=text, unsolved=isinstance(error, SolveError))
    content = {
        "batch_key": key,
        "program": job.program,
        "map_sha256": job.pair.map_file.digest,
        "bag_sha256": job.pair.bag_file.digest,
        **plan_as_json(plan),
    }
    text = json.dumps(content, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    cpu_s = time.process_time() - start
    return Outcome(key, text.encode() + b"\n", cpu_s=cpu_s, holes=len(plan.holes))


@functools.lru_cache(maxsize=4)
def _course(name: str, content: bytes) -> Course:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        path.write_bytes(content)
        return read_course(path)


def _bag(name: str, content: bytes) -> Bag:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        path.write_bytes(content)
        return read_bag(path)


def serial(jobs: Iterable[Job]) -> Iterator[Outcome]:
    """Plan jobs one after the other here."""
    return map(plan_pair, jobs)


def run_batch(
    pairs: Sequence[Pair],
    options: BatchOptions,
    results: Results,
    runner: Runner,
    *,
    progress: Callable[[Progress], None] | None = None,
) -> BatchReport:
    """Plan the pairs that have no result yet; each is kept as soon as it is there.

    Whatever ends this, an interrupt too, leaves every result that was kept, and a table of all.

    Raises
    ------
    StoreError
        A result cannot be written.
    """
    start = time.monotonic()
    missing = {pair.key: pair for pair in pairs if not results.has(pair.key)}
    there = len({pair.key for pair in pairs}) - len(missing)
    faults: dict[str, str] = {}
    planned = holes = 0
    cpu_s, unsolved = 0.0, False

    def tell() -> None:
        if progress is not None:
            failed = f", {len(faults)} failed" if faults else ""
            text = f"{planned} rounds planned{failed}"
            progress(Progress(there + planned + len(faults), there + len(missing), text))

    def jobs() -> Iterator[Job]:
        for pair in missing.values():
            try:
                map_bytes, bag_bytes = _content(pair.map_file), _content(pair.bag_file)
            except OptionError as error:
                faults[pair.key] = str(error)
                continue
            yield Job(pair, map_bytes, bag_bytes, options, program_digest())

    tell()
    try:
        for outcome in runner(jobs()):
            if outcome.fault:
                faults[outcome.key] = outcome.fault
                unsolved = unsolved or outcome.unsolved
            else:
                results.write(outcome.key, outcome.content)
                planned, holes = planned + 1, holes + outcome.holes
                cpu_s += outcome.cpu_s
            tell()
    finally:
        results.write_index(pairs, faults)
    return BatchReport(
        there=there,
        planned=planned,
        failed=tuple((missing[key], fault) for key, fault in faults.items()),
        unsolved=unsolved,
        holes=holes,
        cpu_s=cpu_s,
        wall_s=time.monotonic() - start,
    )


def _content(file: BatchFile) -> bytes:
    try:
        content = file.path.read_bytes()
    except OSError as error:
        raise OptionError(f"{file.path}: cannot be read: {error.strerror}") from None
    if hashlib.sha256(content).hexdigest() != file.digest:
        raise OptionError(f"{file.path}: was changed while the batch ran; run it again")
    return content
