"""The command line: exit codes, what is said and where, and what is not imported for the help."""

from __future__ import annotations

import contextlib
import json
import signal
import subprocess
import sys
import threading
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from planner import __version__, demo_data
from planner.cli.app import app
from planner.cli.plan_commands import AimFor
from planner.cli.run import ExitCode
from planner.errors import SolveError
from planner.planning import round_plan
from planner.planning.progress import Progress
from planner.planning.request import AIMS_FOR, PlanRequest
from planner.report.cautions import CAUTIONS

ROOT = Path(__file__).resolve().parents[2]
MAP = str(ROOT / "courses_demo" / "pebblecote.geojson")
RAW_MAP = str(ROOT / "courses_demo" / "mossquern.osm")
BAG = str(ROOT / "courses_demo" / "bags" / "odile_marrow.toml")
HEAVY = {
    "altair",
    "geopandas",
    "numba",
    "numpy",
    "pandas",
    "pyproj",
    "reportlab",
    "scipy",
    "shapely",
    "streamlit",
}


def run(*arguments: str) -> Result:
    return CliRunner().invoke(app, list(arguments))


def said(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[PlanRequest]:
    """Requests that reach the planner, which then stops."""
    requests: list[PlanRequest] = []

    def stop(request: PlanRequest, **_: Any) -> None:
        requests.append(request)
        raise SolveError("stopped by the test")

    monkeypatch.setattr(round_plan, "plan_round", stop)
    return requests


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, dict[str, Any]]:
    """What one real plan of two holes prints and writes."""
    out = tmp_path_factory.mktemp("plan") / "plan.json"
    result = run(
        "plan",
        MAP,
        "--bag",
        BAG,
        "--holes",
        "1,3",
        "--tees",
        "red",
        "--preview",
        "--json",
        str(out),
    )
    assert result.exit_code == ExitCode.OK, result.output
    return result.stdout, json.loads(out.read_text(encoding="utf-8"))


def test_help_needs_nothing_heavy() -> None:
    code = (
        "import sys\n"
        "from planner.cli.app import main\n"
        "sys.argv = ['planner', '--help']\n"
        "try:\n    main()\n"
        "except SystemExit as stop:\n    assert not stop.code\n"
        "print('MODULES', *{name.split('.')[0] for name in sys.modules})\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(done.stdout.split("MODULES")[1].split())
    assert "typer" in loaded
    assert loaded & HEAVY == set()


def test_version() -> None:
    assert run("--version").stdout == f"planner {__version__}\n"


def test_aims_are_those_of_the_planner() -> None:
    assert tuple(aim.value for aim in AimFor) == AIMS_FOR


def test_check_of_a_usable_map() -> None:
    result = run("check", RAW_MAP)
    assert result.exit_code == ExitCode.OK
    text = said(result.stdout)
    assert "warning way/7701014: hole 3: no par -> par 4 from its length of 380 m" in text
    assert "usable. Mossquern Common, 6 holes" in text
    assert all(caution in text for caution in CAUTIONS)
    assert "Map: Invented course, drawn for this project" in text


def test_check_of_an_unusable_map(tmp_path: Path) -> None:
    broken = tmp_path / "broken.geojson"
    broken.write_text("{", encoding="utf-8")
    result = run("check", str(broken))
    assert result.exit_code == ExitCode.UNUSABLE
    assert "error file: not JSON" in said(result.stdout)


def test_check_as_json() -> None:
    result = run("check", RAW_MAP, "--json", "-")
    content = json.loads(result.stdout)
    assert content["usable"] is True
    assert {"severity", "feature_id", "problem", "remedy_or_assumption"} == set(
        content["findings"][0]
    )
    assert content["cautions"] == list(CAUTIONS)


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        (["plan", "no_such.geojson", "--bag", BAG], ExitCode.UNUSABLE, "no_such.geojson"),
        (["plan", MAP, "--bag", "no_such.toml"], ExitCode.UNUSABLE, "no_such.toml"),
        (["plan", MAP], ExitCode.USAGE, "--bag"),
        (["plan", MAP, "--bag", BAG, "--holes", "12"], ExitCode.USAGE, 'no hole "12"'),
        (["plan", MAP, "--bag", BAG, "--wind", "gale"], ExitCode.USAGE, "5 m/s from SW"),
        (["plan", MAP, "--bag", BAG, "--wind", "90 m/s from N"], ExitCode.USAGE, "wind_speed"),
        (["plan", MAP, "--bag", BAG, "--temperature", "hot"], ExitCode.USAGE, "59 F"),
        (["plan", MAP, "--bag", BAG, "--aim-for", "glory"], ExitCode.USAGE, "glory"),
        (["plan", MAP, "--bag", BAG, "--json", "no/such/x.json"], ExitCode.USAGE, "no folder"),
        (["plan", MAP, "--bag", BAG, "--tees", "mauve"], ExitCode.USAGE, "mauve"),
        (["plan", MAP, "--bag", BAG, "--clubs", "Drivr"], ExitCode.USAGE, "Driver"),
        (["demo", "--golfer", "nobody"], ExitCode.USAGE, "odile_marrow"),
        (["dance"], ExitCode.USAGE, "dance"),
    ],
)
def test_faults_have_a_text_and_a_code(arguments: list[str], code: ExitCode, says: str) -> None:
    result = run(*arguments)
    assert result.exit_code == code, result.output
    assert says in result.stderr
    assert "Traceback" not in result.output
    assert result.stdout == ""


def test_unsolvable_hole(asked: list[PlanRequest]) -> None:
    result = run("plan", MAP, "--bag", BAG)
    assert result.exit_code == ExitCode.UNSOLVED
    assert result.stderr == "planner: stopped by the test\n"
    assert asked[0].holes == tuple("123456789")


def test_interruption_is_clean(monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: Any, **__: Any) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(round_plan, "plan_round", interrupted)
    result = run("plan", MAP, "--bag", BAG)
    assert result.exit_code == ExitCode.INTERRUPTED
    assert result.stderr == "planner: interrupted\n"


@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
def test_interrupted_solve_ends_soon_and_quietly() -> None:
    code = (
        "import signal, sys\n"
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "from planner.planning import round_plan\n"
        "from planner.cli.app import main\n"
        "planned = round_plan.plan_round\n"
        "def say_and_plan(request, **options):\n"
        "    print('planning', file=sys.stderr, flush=True)\n"
        "    return planned(request, **options)\n"
        "round_plan.plan_round = say_and_plan\n"
        "sys.argv = ['planner', 'demo']\n"
        "main()\n"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    stopper = threading.Timer(120, process.kill)
    stopper.start()
    assert process.stderr is not None
    assert process.stderr.readline() == "planning\n"
    process.send_signal(signal.SIGINT)
    output, complaint = process.communicate()
    stopper.cancel()
    assert process.returncode == ExitCode.INTERRUPTED
    assert complaint == "planner: interrupted\n"
    assert output == ""


@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
def test_an_interrupt_that_gets_lost_is_noticed_later(monkeypatch: pytest.MonkeyPatch) -> None:
    def loses_it(_: PlanRequest, *, progress: Callable[[Progress], None], **__: Any) -> None:
        with contextlib.suppress(KeyboardInterrupt):
            signal.raise_signal(signal.SIGINT)
        progress(Progress(1, 9, "hole 1"))

    monkeypatch.setattr(round_plan, "plan_round", loses_it)
    # A shell starts what runs in its background with interrupts ignored.
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    result = run("plan", MAP, "--bag", BAG)
    now = signal.signal(signal.SIGINT, before)
    assert result.exit_code == ExitCode.INTERRUPTED
    assert result.stderr == "planner: interrupted\n"
    assert now is signal.default_int_handler


def test_options_reach_the_planner(asked: list[PlanRequest]) -> None:
    run(
        "plan",
        MAP,
        "--bag",
        BAG,
        *("--tees", "red", "--holes", "2-4", "--aim-for", "penalties", "--give-up", "0.3"),
        *("--wind", "5 m/s from E", "--temperature", "50 F", "--altitude", "1000 ft"),
        *("--firmness", "1.5", "--green-speed", "11", "--rough", "8"),
        *("--clubs", "Driver,7 iron", "--clubs", "Putter", "--local-rule-e5", "--preview"),
    )
    (request,) = asked
    assert request.tee == "red"
    assert request.holes == ("2", "3", "4")
    assert (request.aim_for, request.give_up) == ("penalties", 0.3)
    assert request.clubs == ("Driver", "7 iron", "Putter")
    assert request.local_rule_e5
    assert request.preview
    weather = request.conditions
    assert weather.wind_from == pytest.approx(1.5707963)
    assert weather.wind_speed == 5.0
    assert weather.temperature_c == pytest.approx(10.0)
    assert weather.altitude_m == pytest.approx(304.8)
    assert (weather.firmness, weather.green_speed_ft) == (1.5, 11.0)
    assert weather.rough_length_m == pytest.approx(0.08)


@pytest.mark.parametrize(
    ("golfer", "bag_name"), [("", "Odile"), ("wren", "Wren"), ("Bram", "Bram")]
)
def test_demo_plans_the_demo_course(asked: list[PlanRequest], golfer: str, bag_name: str) -> None:
    run("demo", "--golfer", golfer)
    assert len(asked[0].holes) == 18
    assert bag_name in asked[0].bag.golfer.name
    assert asked[0].tee in demo_data.DEMO_TEES.values()


def test_plan_prints_every_hole_and_ends_with_cautions(
    planned: tuple[str, dict[str, Any]],
) -> None:
    text = said(planned[0])
    for part in ("Hole 1, Sandmartin, par 3", "Hole 3, Thimble, par 3", "Usual leave", "All 6"):
        assert part in text
    assert text.index("Other choices from the tee") < text.index("Before you play")
    assert text.endswith("Map: Invented course, drawn for this project")
    assert "\x1b" not in planned[0]
    assert "\u00a0" not in planned[0]
    assert all(line == line.rstrip() for line in planned[0].splitlines())


def test_plan_as_json(planned: tuple[str, dict[str, Any]]) -> None:
    content = planned[1]
    assert content["cautions"] == list(CAUTIONS)
    assert content["golfer"] == "Odile Marrow"
    assert len(content["holes"]) == 2


def test_page_passes_port_and_address(monkeypatch: pytest.MonkeyPatch) -> None:
    commands: list[list[str]] = []

    def pretend(command: list[str], **_: Any) -> subprocess.CompletedProcess[str]:
        commands.append(command)
        return subprocess.CompletedProcess(command, 0)

    monkeypatch.setattr(subprocess, "run", pretend)
    result = run("page", "--port", "8600", "--address", "0.0.0.0", "--no-browser")
    assert result.exit_code == ExitCode.OK
    (command,) = commands
    assert command[1:4] == ["-m", "planner.page.start", "run"]
    assert Path(command[4]).name == "app.py"
    assert {"--server.port=8600", "--server.address=0.0.0.0", "--server.headless=true"} <= set(
        command
    )


def test_an_installed_page_has_everything_it_needs() -> None:
    # The page's own settings count if they lie in .streamlit beside its script.
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    packed = project["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"]
    for name in ("app.py", ".streamlit", "courses_demo"):
        assert (demo_data.app_file().parent / name).exists()
        assert packed[name] == f"planner/_demo/{name}"


def test_closed_pipe_ends_quietly() -> None:
    code = "from planner.cli.app import main; main()"
    process = subprocess.Popen(
        [sys.executable, "-c", code, "check", RAW_MAP, "--json", "-"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.close()
    stopper = threading.Timer(60, process.kill)
    stopper.start()
    complaint = process.stderr.read()
    assert process.wait() == ExitCode.READER_GONE
    stopper.cancel()
    process.stderr.close()
    assert complaint == b""
