"""``planner store``: from files and back, with clear words and exit codes."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from planner.cli.app import app
from planner.cli.run import ExitCode
from planner.course.reading import read_course
from planner.errors import InputFileError, OptionError
from planner.golfer.bag import read_bag
from planner.golfer.shot_log_reading import read_shot_log
from planner.planning.saved_work import content_of, open_bag, open_course, save_file
from planner.store.courses import save_course
from planner.store.listing import KIND_NAMES
from planner.store.opening import Store, open_store
from planner.store.rounds import rounds

from .builders import DEMO, GOLFER, bag_file, fill, plan_content

BAG = DEMO / "bags" / "odile_marrow.toml"
MAP = DEMO / "pebblecote.geojson"
SHOTS = DEMO / "shots" / "odile_marrow.csv"


@pytest.fixture(autouse=True)
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    file = tmp_path / "data" / "store.sqlite"
    monkeypatch.setenv("PLANNER_STORE", str(file))
    return file


def run(*arguments: str | Path, says: str = "", code: int = ExitCode.OK) -> Result:
    result = CliRunner().invoke(app, ["store", *map(str, arguments)])
    assert result.exit_code == code, result.output
    assert says in " ".join(result.output.split())
    assert "Traceback" not in result.output
    return result


def listed(*kinds: str) -> list[str]:
    result = run("list", *kinds, "--json", "-")
    return [f"{one['kind']} {one['name']}" for one in json.loads(result.stdout)["things"]]


def test_files_go_in_and_come_out(tmp_path: Path) -> None:
    plan = tmp_path / "plan.json"
    plan.write_text(json.dumps(plan_content(golfer="Odile Marrow")))
    run("save", BAG, MAP, plan, says='saved bag "Odile, as carried"')
    rows = read_shot_log(SHOTS)
    said = run("save", SHOTS, "--golfer", "Odile Marrow", "--name", "spring").stdout.splitlines()
    assert said[0] == 'saved shots "spring"'
    assert said[1] == "Rows that were left out:"
    assert len(said) >= 2 + len(rows.rejected) > 2
    assert listed() == [
        "golfer Odile Marrow",
        "bag Odile, as carried",
        "course Pebblecote Short Course",
        "shots spring",
        "plan Grasmoor, red tees",
    ]
    assert listed("bag", "plan") == ["bag Odile, as carried", "plan Grasmoor, red tees"]
    out = tmp_path / "out"
    run("get", "bag", "odile, AS carried", "--out", out, says="written to")
    assert out.read_bytes() == BAG.read_bytes()
    run("get", "course", "Pebblecote Short Course", "--out", out, says="is there already", code=1)
    run("get", "course", "Pebblecote Short Course", "--out", out, "--overwrite")
    assert out.read_bytes() == MAP.read_bytes()
    assert json.loads(run("get", "plan", "Grasmoor, red tees").stdout) == json.loads(
        plan.read_text()
    )
    table = run("get", "shots", "spring").stdout.splitlines()
    assert table[0].startswith("club,source_row,carry_m")
    assert len(table) == 1 + len(rows.log)


def test_saved_things_are_read_as_the_files_are(tmp_path: Path) -> None:
    with open_store(tmp_path / "s.sqlite") as store:
        for path in (BAG, MAP, DEMO / "mossquern.osm"):
            save_file(store, path)
        assert open_bag(store, "Odile, as carried") == read_bag(BAG)
        for name, path in (
            ("Pebblecote Short Course", MAP),
            ("Mossquern Common", DEMO / "mossquern.osm"),
        ):
            kept, read = open_course(store, name), read_course(path)
            assert (kept.name, kept.attribution) == (read.name, read.attribution)
            assert [hole.ref for hole in kept.holes] == [hole.ref for hole in read.holes]
            for one, other in zip(kept.holes, read.holes, strict=True):
                assert one.line_hole.equals_exact(other.line_hole)


def test_name_of_an_imported_map_reaches_no_other_folder(tmp_path: Path) -> None:
    evil = tmp_path / "evil.geojson"
    with open_store(tmp_path / "s.sqlite") as store:
        with store.writing() as work:
            name = f"..{'/..' * 20}{evil}"
            save_course(work, MAP.read_bytes(), name="Pebblecote", file_name=name)
        assert open_course(store, "Pebblecote").holes
    assert not evil.exists()


def test_deletes_are_undone(tmp_path: Path) -> None:
    run("save", BAG)
    run("delete", "golfer", "Odile Marrow", says="planner store undo brings it back")
    assert listed() == []
    run("list", says='Undo would take back: deleting golfer "Odile Marrow"')
    run("undo", says='undone: deleting golfer "Odile Marrow"')
    assert len(listed()) == 2
    run("undo", says="nothing to undo", code=ExitCode.UNUSABLE)


def test_export_import_backup_and_restore(tmp_path: Path, place: Path) -> None:
    run("save", BAG, MAP)
    before = run("list", "--json", "-").stdout
    run("export", tmp_path / "all.zip", says="1 golfers, 1 bags, 1 courses")
    run("backup", tmp_path / "copy.sqlite", says="written to")
    run("erase", "--everything", "--yes", says="erased everything")
    assert listed() == []
    run("import", tmp_path / "all.zip", says="added 3, there already 0, replaced 0")
    assert run("list", "--json", "-").stdout == before
    run("delete", "bag", "Odile, as carried")
    run("restore", tmp_path / "copy.sqlite", says=f"what was there is in {place}.before-restore")
    assert run("list", "--json", "-").stdout == before
    run("verify", says="sound")


def test_erasing_is_asked_first(place: Path) -> None:
    run("save", BAG)
    asked = CliRunner().invoke(app, ["store", "erase", "--everything"], input="n\n")
    assert asked.exit_code == ExitCode.USAGE
    assert "nothing was erased" in asked.output
    assert len(listed()) == 2
    run("erase", says="either --golfer NAME or --everything", code=ExitCode.USAGE)
    run("erase", "--golfer", "x", "--everything", says="either", code=ExitCode.USAGE)
    run("erase", "--golfer", "Odile Marrow", "--yes", says='erased everything of "Odile Marrow"')
    assert listed() == []
    assert b"Odile" not in place.read_bytes()


def test_owners_are_apart() -> None:
    run("save", BAG, "--owner", "ann")
    assert listed() == []
    run("list", "--owner", "ann", says="Odile, as carried")


@pytest.mark.parametrize(
    ("arguments", "says", "code"),
    [
        (["save", "no_such.toml"], "no_such.toml: does not exist", ExitCode.UNUSABLE),
        (["save", "no_such.json"], "no_such.json: cannot be read", ExitCode.UNUSABLE),
        (["save", "no_such.geojson"], "no_such.geojson", ExitCode.UNUSABLE),
        (["save", "thing.exe"], "what is it?", ExitCode.USAGE),
        (["save", str(SHOTS)], "add --golfer NAME", ExitCode.USAGE),
        (["get", "bag", "x"], 'no bag "x" is saved', ExitCode.UNUSABLE),
        (["get", "putter", "x"], "choose one of golfer, bag", ExitCode.USAGE),
        (["list", "putter"], "choose one of golfer, bag", ExitCode.USAGE),
        (["delete", "plan", "x"], 'no plan "x" is saved', ExitCode.UNUSABLE),
        (["import", "no_such.zip"], "does not exist", ExitCode.UNUSABLE),
        (["restore", "no_such"], "is no file; name a backup", ExitCode.UNUSABLE),
        (["list", "--store", "mysql://x/y"], "mysql:// is not supported", ExitCode.USAGE),
        (["list", "--owner", ""], "owner must be", ExitCode.USAGE),
        (["list", "--store", "/"], "cannot be opened", ExitCode.UNUSABLE),
    ],
)
def test_faults_have_a_text_and_a_code(arguments: list[str], says: str, code: int) -> None:
    run(*arguments, says=says, code=code)


def test_names_cannot_dress_up_the_screen(tmp_path: Path) -> None:
    evil = tmp_path / "evil.toml"
    evil.write_text(bag_file("x \\u001b[2J"), encoding="utf-8")
    assert "\x1b" not in run("save", evil, says="control character", code=ExitCode.UNUSABLE).output
    evil.write_text(bag_file("[bold]x[/bold] =cmd"), encoding="utf-8")
    assert "[bold]x[/bold]" in run("save", evil).output + run("list").output


def test_a_golfer_is_no_file(file_store: Store) -> None:
    fill(file_store)
    with pytest.raises(OptionError, match="get his bags"):
        content_of(file_store, "golfer", GOLFER)
    for kind in set(KIND_NAMES) - {"golfer"}:
        called = {
            "course": "Grasmoor",
            "draft": "Grasmoor",
            "bag": "plain bag",
            "shots": "range",
        }.get(kind)
        with file_store.reading() as work:
            called = called or {"round": rounds(work)[0].name, "plan": "Grasmoor, red tees"}[kind]
        assert content_of(file_store, kind, called)[1]


def test_json_that_is_neither_plan_nor_map(file_store: Store, tmp_path: Path) -> None:
    odd = tmp_path / "odd.json"
    odd.write_text("[" * 100_000)
    with pytest.raises(InputFileError, match=r"odd\.json"):
        save_file(file_store, odd)


def test_help_needs_no_database() -> None:
    code = (
        "import sys\nfrom planner.cli.app import app\n"
        "try:\n    app(['store', '--help'])\nfinally:\n"
        "    print([name for name in ('sqlalchemy', 'sqlite3', 'numpy') if name in sys.modules])\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False, timeout=60
    )
    assert done.stdout.strip().endswith("[]")
