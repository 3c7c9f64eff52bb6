"""Batches without a cluster: keys, going on, faults, and the table of results."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from planner.demo_data import demo_bag, demo_folder
from planner.errors import OptionError
from planner.planning import batch
from planner.planning.batch import (
    BAG_ENDINGS,
    MAP_ENDINGS,
    BatchFile,
    BatchOptions,
    Job,
    Outcome,
    Pair,
    Results,
    batch_files,
    make_pairs,
    plan_pair,
    program_digest,
    run_batch,
    serial,
)
from planner.planning.progress import Progress

OPTIONS = BatchOptions()
MAP = demo_folder() / "pebblecote.geojson"


def quick(jobs: Iterable[Job]) -> Iterator[Outcome]:
    for job in jobs:
        if b"broken" in job.bag_bytes:
            yield Outcome(job.pair.key, fault="bag is broken")
        else:
            yield Outcome(job.pair.key, job.bag_bytes + job.map_bytes, cpu_s=2.0, holes=9)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Two courses and three bags, which nobody reads."""
    for name in ("maps/a.geojson", "maps/deep/b.osm", "bags/1.toml", "bags/2.toml", "bags/3.toml"):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(name)
    return tmp_path


def pairs_in(folder: Path, options: BatchOptions = OPTIONS) -> list[Pair]:
    maps = batch_files([folder / "maps"], MAP_ENDINGS, "map")
    bags = batch_files([folder / "bags"], BAG_ENDINGS, "bag")
    return make_pairs(maps, bags, ["red", "white"], options)[0]


def states(folder: Path) -> list[str]:
    with (folder / "out" / batch.INDEX).open(encoding="utf-8") as file:
        return [row["state"] for row in csv.DictReader(file)]


def test_every_golfer_on_every_course_from_every_tee(folder: Path) -> None:
    pairs = pairs_in(folder)
    assert len({pair.key for pair in pairs}) == len(pairs) == 2 * 3 * 2
    assert [pair.map_file.path.name for pair in pairs[:6]] == ["a.geojson"] * 6


def test_a_file_named_twice_is_taken_once(folder: Path) -> None:
    again = [folder / "bags", folder / "bags" / "2.toml"]
    assert len(batch_files(again, BAG_ENDINGS, "bag")) == 3


def test_files_that_are_not_there_are_all_named(folder: Path) -> None:
    (folder / "empty").mkdir()
    with pytest.raises(OptionError, match=r"no\.toml.*empty: holds no bag"):
        batch_files([folder / "no.toml", folder / "empty"], BAG_ENDINGS, "bag")


def test_a_key_depends_on_all_that_decides(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    keys = {pair.key for pair in pairs_in(folder)}
    assert keys == {pair.key for pair in pairs_in(folder)}
    for other in (
        replace(OPTIONS, holes=("1",)),
        replace(OPTIONS, conditions=replace(OPTIONS.conditions, firmness=1.5)),
        replace(OPTIONS, aim_for="penalties"),
        replace(OPTIONS, give_up=0.2),
        replace(OPTIONS, local_rule_e5=True),
        replace(OPTIONS, preview=True),
    ):
        assert not keys & {pair.key for pair in pairs_in(folder, other)}
    monkeypatch.setattr(batch, "program_digest", lambda: "another program")
    assert not keys & {pair.key for pair in pairs_in(folder)}
    monkeypatch.undo()
    (folder / "bags" / "1.toml").write_text("changed")
    assert len(keys & {pair.key for pair in pairs_in(folder)}) == 8
    (folder / "maps" / "a.geojson").write_text("changed")
    assert len(keys & {pair.key for pair in pairs_in(folder)}) == 4


def test_a_batch_goes_on_where_it_was(folder: Path) -> None:
    pairs, results = pairs_in(folder), Results(folder / "out")

    def cut_off(jobs: Iterable[Job]) -> Iterator[Outcome]:
        for number, outcome in enumerate(quick(jobs)):
            if number == 5:
                raise KeyboardInterrupt
            yield outcome

    with pytest.raises(KeyboardInterrupt):
        run_batch(pairs, OPTIONS, results, cut_off)
    assert sorted(states(folder)) == ["missing"] * 7 + ["planned"] * 5
    before = {pair.key: results.path(pair.key).stat().st_mtime_ns for pair in pairs[:5]}
    said: list[Progress] = []
    report = run_batch(pairs, OPTIONS, results, quick, progress=said.append)
    assert (report.there, report.planned, report.failed) == (5, 7, ())
    assert (report.holes, report.cpu_s) == (63, 14.0)
    assert before == {key: results.path(key).stat().st_mtime_ns for key in before}
    assert [(one.done, one.total) for one in said] == [(done, 12) for done in range(5, 13)]
    assert states(folder) == ["planned"] * 12
    for pair in pairs:
        wanted = pair.bag_file.path.read_bytes() + pair.map_file.path.read_bytes()
        assert results.path(pair.key).read_bytes() == wanted
    again = run_batch(pairs, OPTIONS, results, quick)
    assert (again.there, again.planned) == (12, 0)


def test_faults_of_one_do_not_stop_the_rest_and_are_tried_again(folder: Path) -> None:
    (folder / "bags" / "2.toml").write_text("broken")
    pairs, results = pairs_in(folder), Results(folder / "out")
    report = run_batch(pairs, OPTIONS, results, quick)
    assert (report.planned, len(report.failed)) == (8, 4)
    assert {pair.bag_file.path.name for pair, _ in report.failed} == {"2.toml"}
    assert states(folder).count("failed") == 4
    (folder / "bags" / "2.toml").write_text("mended")
    mended = run_batch(pairs_in(folder), OPTIONS, results, quick)
    assert (mended.there, mended.planned, mended.failed) == (8, 4, ())


def test_a_file_that_changes_meanwhile_fails_its_pairs_only(folder: Path) -> None:
    pairs = pairs_in(folder)
    (folder / "bags" / "3.toml").write_text("another")
    report = run_batch(pairs, OPTIONS, Results(folder / "out"), quick)
    assert report.planned == 8
    assert {fault.partition(": ")[2] for _, fault in report.failed} == {
        "was changed while the batch ran; run it again"
    }


def test_the_table_holds_no_formula(folder: Path) -> None:
    one = BatchFile(Path("=1+1.geojson"), "0")
    pair = Pair(one, BatchFile(Path("@sum.toml"), "1"), "-red", "f" * 40)
    Results(folder / "out").write_index([pair], {pair.key: "+fault"})
    with (folder / "out" / batch.INDEX).open(encoding="utf-8") as file:
        cells = list(csv.reader(file))[1]
    assert cells == ["'=1+1.geojson", "'@sum.toml", "'-red", "failed", "", "'+fault"]


def job_of(bag: Path, tee: str | None, program: str = "") -> Job:
    (map_file,) = batch_files([MAP], MAP_ENDINGS, "map")
    (bag_file,) = batch_files([bag], BAG_ENDINGS, "bag")
    options = BatchOptions(holes=("2",), preview=True)
    ((pair,), _) = make_pairs([map_file], [bag_file], [tee] if tee else [], options)
    contents = (MAP.read_bytes(), bag.read_bytes())
    return Job(pair, *contents, options, program or program_digest())


def test_a_job_is_planned_as_the_round_is() -> None:
    from planner.course.reading import read_course
    from planner.golfer.bag import read_bag
    from planner.planning.request import PlanRequest
    from planner.planning.round_plan import plan_round
    from planner.report.plan_json import plan_as_json

    bag = demo_bag("odile_marrow")
    job = job_of(bag, "red")
    (outcome,) = serial([job])
    assert outcome.fault == ""
    assert outcome.cpu_s > 0.0
    assert outcome.holes == 1
    request = PlanRequest(
        read_course(MAP), read_bag(bag), tee="red", holes=("2",), preview=True, threads=1
    )
    said: dict[str, Any] = json.loads(outcome.content)
    assert said.pop("batch_key") == job.pair.key
    assert said.pop("program") == program_digest()
    assert said.pop("map_sha256") == job.pair.map_file.digest
    assert said.pop("bag_sha256") == job.pair.bag_file.digest
    assert said == json.loads(json.dumps(plan_as_json(plan_round(request))))


def test_what_is_wrong_with_a_job_is_its_outcome(tmp_path: Path) -> None:
    assert 'no tees "plaid"' in plan_pair(job_of(demo_bag("odile_marrow"), "plaid")).fault
    broken = tmp_path / "broken.toml"
    broken.write_text("format = 9")
    assert "broken.toml" in plan_pair(job_of(broken, None)).fault
    other = job_of(demo_bag("odile_marrow"), None, program="older")
    assert "another version" in plan_pair(other).fault


def test_all_tees_are_those_of_the_course(tmp_path: Path) -> None:
    bad = tmp_path / "bad.geojson"
    bad.write_text("{}")
    maps = batch_files([MAP, bad], MAP_ENDINGS, "map")
    bags = batch_files([demo_bag("odile_marrow")], BAG_ENDINGS, "bag")
    pairs, faults = make_pairs(maps, bags, ["all"], OPTIONS)
    from planner.course.reading import read_course

    assert tuple(pair.tee for pair in pairs) == read_course(MAP).tee_names
    assert list(faults) == [str(bad)]
