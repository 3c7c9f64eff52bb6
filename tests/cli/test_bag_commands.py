"""``planner compare`` and ``planner choose``: options, exit codes, and one real run of each."""

from __future__ import annotations

import json
import os
import signal
import threading
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from planner.cli.app import app
from planner.cli.bag_commands import _named_bags, _stopped_by_keyboard
from planner.cli.run import ExitCode
from planner.demo_data import demo_bag, demo_folder
from planner.errors import OptionError
from planner.golfer.bag import read_bag
from planner.planning import bag_choosing, bag_comparison
from planner.planning.bag_choosing import ChooseOptions

MAP = str(demo_folder() / "pebblecote.geojson")
BAG = str(demo_bag("odile"))


def run(*arguments: str) -> Result:
    return CliRunner().invoke(app, list(arguments))


def said(text: str) -> str:
    return " ".join(text.split())


def test_bags_are_compared(tmp_path: Path) -> None:
    out = tmp_path / "bags.json"
    result = run(
        "compare", MAP, "--bag", BAG, "--tees", "red", "--holes", "5",
        "--swap", "3 wood=9 wood", "--json", str(out),
    )  # fmt: skip
    assert result.exit_code == ExitCode.OK, result.output
    assert "9 wood for 3 wood" in result.output
    content = json.loads(out.read_text())
    assert [bag["name"] for bag in content["bags"]] == ["Odile, as carried", "9 wood for 3 wood"]
    assert len(content["differences"]) == 1


def test_clubs_are_chosen(tmp_path: Path) -> None:
    out = tmp_path / "choice.json"
    result = run(
        "choose", MAP, "--bag", BAG, "--tees", "red", "--holes", "5", "--limit", "5",
        "--candidates", "5 hybrid,7 iron,9 iron,Sand wedge,Gap wedge,Lob wedge",
        "--without", "Gap wedge", "--no-technique", "--shortlist", "0", "--json", str(out),
    )  # fmt: skip
    assert result.exit_code == ExitCode.OK, result.output
    content = json.loads(out.read_text())
    assert len(content["best"]["clubs"]) == 4
    assert "Gap wedge" in content["left_out"]
    assert content["proven"]
    assert "Proven" in said(result.output)


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """What reaches the use cases, which then stop."""
    calls: list[Any] = []

    def stop(*arguments: Any, **_: Any) -> None:
        calls.append(arguments)
        raise OptionError("stopped by the test")

    monkeypatch.setattr(bag_choosing, "choose_clubs", stop)
    monkeypatch.setattr(bag_comparison, "compare_bags", stop)
    return calls


def test_options_reach_the_choice(asked: list[Any]) -> None:
    run(
        "choose", MAP, "--bag", BAG, "--must", "Driver,7 iron", "--without", "3 wood",
        "--budget", "200", "--years", "5", "--rounds", "25", "--limit", "12", "--preview",
    )  # fmt: skip
    ((requests, options),) = asked
    assert isinstance(options, ChooseOptions)
    assert options.must == ("Driver", "7 iron")
    assert options.without == ("3 wood",)
    assert options.budget == 200.0
    assert (options.use.years, options.use.rounds_a_year) == (5.0, 25.0)
    assert options.limit == 12
    assert requests[0].preview


def test_tees_go_to_the_maps_in_order(asked: list[Any]) -> None:
    links = str(demo_folder() / "tarrowick.geojson")
    run("choose", MAP, links, "--bag", BAG, "--tees", "red", "--tees", "white", "--holes", "1-3")
    ((requests, _),) = asked
    assert [request.tee for request in requests] == ["red", "white"]
    result = run("choose", MAP, "--bag", BAG, "--tees", "red", "--tees", "white")
    assert result.exit_code == ExitCode.USAGE
    assert "--tees: given 2 times for 1 maps" in said(result.output)


def test_one_map_may_be_played_in_several_winds(asked: list[Any]) -> None:
    run(
        "choose", MAP, MAP, "--bag", BAG, "--tees", "red", "--wind", "calm",
        "--wind", "6 m/s from W", "--firmness", "1.5", "--altitude", "0", "--altitude", "800",
    )  # fmt: skip
    ((requests, _),) = asked
    assert [request.tee for request in requests] == ["red", "red"]
    assert [request.conditions.wind_speed for request in requests] == [0.0, 6.0]
    assert [request.conditions.altitude_m for request in requests] == [0.0, 800.0]
    assert [request.conditions.firmness for request in requests] == [1.5, 1.5]
    result = run("choose", MAP, "--bag", BAG, "--wind", "calm", "--wind", "calm")
    assert result.exit_code == ExitCode.USAGE
    assert "--wind: given 2 times for 1 maps" in said(result.output)


def test_swaps_make_bags() -> None:
    bag = read_bag(demo_bag("odile"))
    own, swapped, fewer, more = _named_bags(
        [bag], ["3 wood=9 wood, 8 iron=Gap wedge", "3 wood=", "=Lob wedge"], []
    )
    assert own.name == "Odile, as carried"
    assert swapped.name == "9 wood for 3 wood, Gap wedge for 8 iron"
    assert set(swapped.clubs) - set(own.clubs) == {"9 wood", "Gap wedge"}
    assert set(own.clubs) - set(fewer.clubs) == {"3 wood"}
    assert set(more.clubs) - set(own.clubs) == {"Lob wedge"}
    (_, only) = _named_bags([bag], [], ["Driver,Sand wedge"])
    assert only.clubs == ("Driver", "Sand wedge")


@pytest.mark.parametrize(
    ("swap", "words"),
    [
        ("3 wood", "write"),
        ("9 wood=3 wood", "not carried"),
        ("3 wod=9 wood", 'did you mean "3 wood"'),
    ],
)
def test_a_swap_that_cannot_be_is_explained(swap: str, words: str) -> None:
    result = run("compare", MAP, "--bag", BAG, "--swap", swap)
    assert result.exit_code == ExitCode.USAGE
    assert words in said(result.output)


def test_one_bag_alone_is_not_compared() -> None:
    result = run("compare", MAP, "--bag", BAG)
    assert result.exit_code == ExitCode.USAGE
    assert "another" in result.output


def test_an_interrupt_asks_the_search_to_stop() -> None:
    if threading.current_thread() is not threading.main_thread():
        pytest.skip("signals reach the main thread only")
    before = signal.getsignal(signal.SIGINT)
    with _stopped_by_keyboard() as stop:
        assert not stop.is_set()
        os.kill(os.getpid(), signal.SIGINT)
        assert stop.wait(2.0)
    assert signal.getsignal(signal.SIGINT) is before
