"""Batches on real worker processes, some of which are killed."""

from __future__ import annotations

import csv
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from planner.demo_data import demo_folder
from planner.errors import OptionError
from planner.planning.batch import (
    BAG_ENDINGS,
    MAP_ENDINGS,
    BatchOptions,
    Results,
    batch_files,
    make_pairs,
    run_batch,
)

pytest.importorskip("distributed", reason="dask is not installed: pip install 'planner[batch]'")
psutil = pytest.importorskip("psutil")

from planner.planning.batch_cluster import Cluster  # noqa: E402

pytestmark = [
    pytest.mark.filterwarnings("default"),  # of Dask, not of this package
    pytest.mark.skipif(sys.platform == "win32", reason="needs SIGKILL"),
]
ROOT = Path(__file__).resolve().parents[2]
MAP = demo_folder() / "pebblecote.geojson"
TEES = ("red", "yellow")
WAIT_S = 400.0


def test_workers_plan_and_say_what_is_wrong(tmp_path: Path) -> None:
    """Every job here has a fault, so that nothing is solved and the way there and back remains."""
    bags = tmp_path / "bags"
    bags.mkdir()
    for number in range(12):
        (bags / f"{number}.toml").write_text(f"format = {number + 2}\n")
    options = BatchOptions()
    pairs, _ = make_pairs(
        batch_files([MAP], MAP_ENDINGS, "map"),
        batch_files([bags], BAG_ENDINGS, "bag"),
        [],
        options,
    )
    with Cluster(workers=1) as cluster:
        assert cluster.cores == 1
        report = run_batch(pairs, options, Results(tmp_path / "out"), cluster)
    assert report.planned == 0
    assert len(report.failed) == 12
    for pair, fault in report.failed:
        assert pair.bag_file.path.name in fault


def test_a_scheduler_that_does_not_answer_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("planner.planning.batch_cluster.CONNECT_S", 0.5)
    with (
        pytest.raises(OptionError, match="no answer"),
        Cluster("tcp://127.0.0.1:9"),
    ):
        pass


# -- the command, with workers that are killed --------------------------------------------------


@contextmanager
def running(folder: Path) -> Iterator[subprocess.Popen[str]]:
    """``planner batch`` over the demo golfers, in a process group of its own."""
    command = [sys.executable, "-c", "from planner.cli.app import main; main()", "batch"]
    command += [str(MAP), "--bag", str(demo_folder() / "bags"), "--out", str(folder)]
    command += ["--holes", "2", "--preview", "--workers", "2"]
    command += [part for tee in TEES for part in ("--tees", tee)]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    process = subprocess.Popen(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=environment,
        start_new_session=True,
    )
    try:
        yield process
    finally:
        if process.poll() is None:
            os.killpg(process.pid, signal.SIGKILL)
        process.communicate()


def wait_until(what: Callable[[], bool], why: str) -> None:
    end = time.monotonic() + WAIT_S
    while not what():
        assert time.monotonic() < end, why
        time.sleep(0.02)


def planned(folder: Path) -> dict[str, tuple[bytes, int]]:
    """Results by name: content and time of writing."""
    found = folder.glob("??/*.json")
    return {one.name: (one.read_bytes(), one.stat().st_mtime_ns) for one in found}


def workers_of(process: subprocess.Popen[str]) -> list[int]:
    """Worker processes, the resource tracker left out."""
    found = []
    for child in psutil.Process(process.pid).children(recursive=True):
        try:
            command = " ".join(child.cmdline())
        except psutil.Error:
            continue
        if "spawn_main" in command:
            found.append(child.pid)
    return found


def states(folder: Path) -> list[str]:
    with (folder / "results.csv").open(encoding="utf-8") as file:
        return [row["state"] for row in csv.DictReader(file)]


def some_planned(process: subprocess.Popen[str], folder: Path) -> None:
    wait_until(lambda: len(planned(folder)) >= 2 or process.poll() is not None, "nothing planned")
    assert process.poll() is None, process.communicate()


@pytest.mark.slow
def test_killed_workers_lose_nothing(tmp_path: Path) -> None:
    count = len(TEES) * len(list((demo_folder() / "bags").glob("*.toml")))
    # A worker is killed at work: the others do its job again.
    first = tmp_path / "first"
    with running(first) as process:
        some_planned(process, first)
        os.kill(workers_of(process)[0], signal.SIGKILL)
        said, faults = process.communicate(timeout=WAIT_S)
        assert process.returncode == 0, faults
    assert f"{count} rounds planned, 0 were there already" in said
    assert "rounds an hour and core" in said
    assert states(first) == ["planned"] * count
    whole = planned(first)
    assert len(whole) == count
    # The one who asked is killed: his workers end, and what was planned stays as it is.
    second = tmp_path / "second"
    with running(second) as process:
        some_planned(process, second)
        workers = workers_of(process)
        assert workers
        os.kill(process.pid, signal.SIGKILL)
        process.wait()
        wait_until(lambda: not any(map(psutil.pid_exists, workers)), "workers outlive the batch")
    before = planned(second)
    assert 2 <= len(before) < count
    with running(second) as process:
        said, faults = process.communicate(timeout=WAIT_S)
        assert process.returncode == 0, faults
    assert f"{count - len(before)} rounds planned, {len(before)} were there already" in said
    after = planned(second)
    assert {name: after[name] for name in before} == before
    assert {name: content for name, (content, _) in after.items()} == {
        name: content for name, (content, _) in whole.items()
    }


@pytest.mark.slow
def test_an_interrupt_ends_it_cleanly(tmp_path: Path) -> None:
    with running(tmp_path) as process:
        some_planned(process, tmp_path)
        workers = workers_of(process)
        # As a terminal does: to all of the group.
        os.killpg(process.pid, signal.SIGINT)
        _, faults = process.communicate(timeout=WAIT_S)
    assert process.returncode == 130, faults
    assert faults.strip() == "planner: interrupted"
    wait_until(lambda: not any(map(psutil.pid_exists, workers)), "workers outlive the batch")
    found = states(tmp_path)
    assert found.count("planned") == len(planned(tmp_path)) >= 2
    assert found.count("missing") == len(found) - found.count("planned") > 0
