"""Commands with long work find out before it that ``--json`` cannot be written."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner

from planner.cli.app import app
from planner.cli.run import ExitCode

DEMO = Path(__file__).resolve().parents[2] / "courses_demo"
MAP = str(DEMO / "tarrowick.geojson")
BAG = ["--bag", str(DEMO / "bags" / "odile_marrow.toml")]


@pytest.mark.parametrize(
    ("command", "work"),
    [
        (["compare", MAP, *BAG, "--swap", "3 wood="], "bag_comparison.compare_bags"),
        (["choose", MAP, *BAG], "bag_choosing.choose_clubs"),
        (["target", MAP, *BAG, "--target", "95"], "target.target_plan"),
        (["practice", MAP, *BAG], "practice.practice_plan"),
        (
            ["log", str(DEMO / "rounds" / "odile_marrow.csv"), MAP, *BAG],
            "round_logging.round_accounts",
        ),
        (["calibrate"], "calibration.calibrate"),
    ],
    ids=lambda one: one[0] if isinstance(one, list) else "",
)
def test_a_missing_folder_is_told_before_the_work(
    command: list[str], work: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def must_not(*_: object, **__: object) -> None:
        raise AssertionError("worked before it looked")

    monkeypatch.setattr(f"planner.planning.{work}", must_not)
    result = CliRunner().invoke(app, [*command, "--json", str(tmp_path / "none" / "x.json")])
    assert result.exit_code == ExitCode.USAGE, result.output
    assert "there is no folder" in result.output
