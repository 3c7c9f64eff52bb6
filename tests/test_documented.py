"""The README names every command, option, exit code and bag key, and its bag can be read."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest
import typer

from planner.cli.app import app
from planner.cli.run import ExitCode
from planner.golfer import bag
from planner.report.cautions import CAUTIONS

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
TOP_COMMANDS = getattr(typer.main.get_command(app), "commands")  # noqa: B009 - not in its type
GROUPS = {name: one for name, one in TOP_COMMANDS.items() if hasattr(one, "commands")}
COMMANDS = {name: one for name, one in TOP_COMMANDS.items() if name not in GROUPS} | {
    f"{group} {name}": one for group, few in GROUPS.items() for name, one in few.commands.items()
}
"""Every command, those of a group with its name before theirs."""
TABLE_READERS = {"text", "number", "whole", "flag", "choice", "metres", "table", "rows"}


def bag_keys() -> set[str]:
    """Every key the bag reader asks its tables for."""
    tree = ast.parse(Path(bag.__file__).read_text(encoding="utf-8"))
    return {
        node.args[0].value
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and node.func.attr in TABLE_READERS
        and node.args
        and isinstance(node.args[0], ast.Constant)
        and isinstance(node.args[0].value, str)
    }


def test_the_commands_are_those_that_were_meant() -> None:
    assert set(TOP_COMMANDS) == {
        "demo",
        "plan",
        "check",
        "convert",
        "page",
        "card",
        "sheet",
        "golfers",
        "handicap",
        "fit",
        "practice",
        "round",
        "log",
        "compare",
        "choose",
        "batch",
        "target",
        "store",
        "acceptance",
        "calibrate",
    }
    assert set(GROUPS) == {"store"}
    assert set(GROUPS["store"].commands) == {
        "save",
        "list",
        "get",
        "delete",
        "undo",
        "erase",
        "export",
        "import",
        "backup",
        "restore",
        "verify",
    }


@pytest.mark.parametrize("command", sorted(COMMANDS))
def test_command_and_its_options_are_in_the_readme(command: str) -> None:
    assert f"`planner {command}" in README
    options = {
        name
        for parameter in COMMANDS[command].params
        for name in (*parameter.opts, *parameter.secondary_opts)
        if name.startswith("--") and name != "--help"
    }
    # Where a switch goes both ways the README names the side that is not the default.
    missing = {
        name
        for name in options
        if f"`{name}`" not in README
        and f"`{name} " not in README
        and name.replace("--", "--no-", 1) not in README
        and name.replace("--no-", "--", 1) not in README
    }
    assert missing == set()


@pytest.mark.parametrize("code", list(ExitCode))
def test_exit_code_is_in_the_readme_and_the_help(code: ExitCode) -> None:
    assert f"| {code.value} | {code.meaning} |" in README
    for command in (*COMMANDS.values(), *GROUPS.values()):
        assert f"{code.value} {code.meaning}" in command.epilog


@pytest.mark.parametrize("key", sorted(bag_keys()))
def test_bag_key_is_in_the_readme(key: str) -> None:
    assert f"`{key}`" in README or f"`[{key}]`" in README or f".{key}]`" in README


def test_some_bag_keys_were_found() -> None:
    assert {"format", "handicap_index", "speed_mph", "label", "carry_sd", "share"} <= bag_keys()


def test_bag_of_the_readme_can_be_read(tmp_path: Path) -> None:
    blocks = re.findall(r"```toml\n(.*?)```", README, re.DOTALL)
    assert blocks
    for block in blocks:
        path = tmp_path / "bag.toml"
        path.write_text(block, encoding="utf-8")
        assert bag.read_bag(path).carried()


def test_cautions_are_in_the_readme() -> None:
    said = " ".join(README.split())
    assert all(caution in said for caution in CAUTIONS)


def test_files_named_in_the_readme_exist() -> None:
    named = re.findall(r"\]\(([^)#:]+)\)", README)
    assert named
    assert [name for name in named if not (ROOT / name).exists()] == []


def test_readme_names_no_command_or_option_that_is_not_there() -> None:
    named = set(re.findall(r"`planner ([a-z]+)", README)) | set(
        re.findall(r"bin/planner ([a-z]+)", README)
    )
    assert named <= set(TOP_COMMANDS)
    for group, few in GROUPS.items():
        assert set(re.findall(rf"planner {group} ([a-z]+)", README)) <= set(few.commands)
    options = {
        name
        for command in COMMANDS.values()
        for parameter in command.params
        for name in (*parameter.opts, *parameter.secondary_opts)
    }
    assert set(re.findall(r"(?<!\S)`?(--[a-z][a-z0-9-]+)", README)) <= options | {
        "--help",
        "--version",
    }


@pytest.mark.parametrize("manual", ["README.md", "DEVELOPERS.md", "courses_demo/README.md"])
def test_manuals_name_no_file_that_is_not_there(manual: str) -> None:
    text = (ROOT / manual).read_text(encoding="utf-8")
    named = set(re.findall(r"`([\w./-]*\w\.(?:py|toml|geojson|osm|svg|md))`", text))
    folders = (ROOT / "planner", ROOT / "tests", ROOT / "courses_demo")
    there = {
        path.relative_to(ROOT).as_posix()
        for folder in folders
        for path in folder.rglob("*")
        if path.is_file()
    } | {"app.py", "pyproject.toml", "README.md", "DEVELOPERS.md"}
    missing = {name for name in named if not any(f"/{path}".endswith(f"/{name}") for path in there)}
    assert missing == set()


def test_developers_manual_names_every_part() -> None:
    manual = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    files = [path for path in (ROOT / "planner").rglob("*.py") if path.name != "__init__.py"]
    assert files
    assert [path.name for path in files if f"{path.stem}" not in manual] == []
