"""``planner compare`` and ``planner choose``: bags against each other, and the bag to carry."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeVar

import typer

from planner.cli import typed
from planner.cli.arguments import HolesOption, JsonOption, UnitsOption
from planner.cli.plan_options import (
    GreenSpeedOption,
    LocalRuleE5Option,
    RoughOption,
    plan_request,
)
from planner.cli.run import (
    STANDARD_OUTPUT,
    check_json_folder,
    exit_codes,
    print_parts,
    progress_bar,
    write_json,
)
from planner.errors import OptionError

if TYPE_CHECKING:
    from planner.golfer.bag import Bag
    from planner.planning.bag_comparison import NamedBag
    from planner.planning.request import PlanRequest

__all__ = ["choose", "compare"]

Value = TypeVar("Value")

MapsArgument = Annotated[
    list[Path], typer.Argument(metavar="MAP...", help="Course maps; a round is their mean.")
]
BagsOption = Annotated[
    list[Path], typer.Option("--bag", metavar="BAG", help="Bag file (TOML); once for each file.")
]
OneBagOption = Annotated[Path, typer.Option("--bag", metavar="BAG", help="Bag file (TOML).")]
TeesOfMapsOption = Annotated[
    list[str] | None,
    typer.Option("--tees", help="Tee set: one for all maps, or once for each map in order."),
]
WindsOption = Annotated[
    list[str] | None,
    typer.Option("--wind", help='Such as "5 m/s from SW": one for all maps, or one for each.'),
]
TemperaturesOption = Annotated[
    list[str] | None,
    typer.Option(
        "--temperature", help='Such as "15" or "59 F": one for all maps, or one for each.'
    ),
]
AltitudesOption = Annotated[
    list[str] | None,
    typer.Option("--altitude", help='"120 m" or "400 ft": one for all maps, or one for each.'),
]
FirmnessesOption = Annotated[
    list[float] | None,
    typer.Option(
        "--firmness",
        min=0.3,
        max=2.0,
        help="Turf, 1 normal: one for all maps, or one for each.",
    ),
]
CoarseOption = Annotated[
    bool, typer.Option("--preview/--fine", help="Coarse cells, or those of a plan: slower.")
]


def compare(
    map_files: MapsArgument,
    bag: BagsOption,
    swap: Annotated[
        list[str] | None,
        typer.Option(help='A bag with "3 wood=5 wood" exchanged; "3 wood=" leaves it out.'),
    ] = None,
    clubs: Annotated[
        list[str] | None,
        typer.Option(help='A bag of these clubs of the first file, "Driver,7 iron,...".'),
    ] = None,
    tees: TeesOfMapsOption = None,
    holes: HolesOption = "all",
    wind: WindsOption = None,
    temperature: TemperaturesOption = None,
    altitude: AltitudesOption = None,
    firmness: FirmnessesOption = None,
    green_speed: GreenSpeedOption = 9.0,
    rough: RoughOption = 5.0,
    local_rule_e5: LocalRuleE5Option = False,
    units: UnitsOption = None,
    preview: CoarseOption = True,
    json_out: JsonOption = None,
) -> None:
    """Compare bags: score, penalties and spread, hole by hole, and how surely they differ."""
    with exit_codes():
        from planner.planning.bag_comparison import compare_bags, merged_bag
        from planner.planning.bag_reading import read_bag_file
        from planner.report.bag_json import comparison_as_json
        from planner.report.bag_text import comparison_parts

        check_json_folder(json_out)
        files = [read_bag_file(path) for path in bag]
        whole = merged_bag(files)
        requests = _requests(
            map_files,
            bag[0],
            tees,
            holes,
            wind=wind,
            temperature=temperature,
            altitude=altitude,
            firmness=firmness,
            green_speed=green_speed,
            rough=rough,
            local_rule_e5=local_rule_e5,
            preview=preview,
        )
        named = _named_bags(files, swap or [], clubs or [])
        with progress_bar() as report:
            result = compare_bags(_with_bag(requests, whole), named, progress=report)
        if json_out is not None:
            write_json(json_out, comparison_as_json(result))
        if json_out != STANDARD_OUTPUT:
            print_parts(*comparison_parts(result, units or whole.unit))


def choose(
    map_files: MapsArgument,
    bag: OneBagOption,
    candidates: Annotated[
        list[str] | None,
        typer.Option(help="Clubs in question; all of the bag file if not given."),
    ] = None,
    limit: Annotated[
        int, typer.Option(min=2, max=40, help="Most clubs, the putter included.")
    ] = 14,
    must: Annotated[list[str] | None, typer.Option(help="Clubs that must be carried.")] = None,
    without: Annotated[list[str] | None, typer.Option(help="Clubs that must stay out.")] = None,
    budget: Annotated[
        float | None, typer.Option(min=0.0, help="Most money for clubs not carried now.")
    ] = None,
    years: Annotated[
        float, typer.Option(min=0.5, max=30.0, help="Years a bought club is kept.")
    ] = 3.0,
    rounds: Annotated[float, typer.Option(min=1.0, max=400.0, help="Rounds a year.")] = 40.0,
    shortlist: Annotated[
        int, typer.Option(min=0, max=12, help="Best bags to solve again in full.")
    ] = 3,
    technique: Annotated[
        bool, typer.Option("--technique/--no-technique", help="Value changes of technique too.")
    ] = True,
    tees: TeesOfMapsOption = None,
    holes: HolesOption = "all",
    wind: WindsOption = None,
    temperature: TemperaturesOption = None,
    altitude: AltitudesOption = None,
    firmness: FirmnessesOption = None,
    green_speed: GreenSpeedOption = 9.0,
    rough: RoughOption = 5.0,
    local_rule_e5: LocalRuleE5Option = False,
    units: UnitsOption = None,
    preview: Annotated[
        bool, typer.Option("--preview/--fine", help="Short list on coarse cells, or a plan's.")
    ] = False,
    json_out: JsonOption = None,
) -> None:
    """Choose the clubs to carry, and say what each is worth in strokes and money."""
    with exit_codes():
        from planner.planning.bag_choosing import ChooseOptions, choose_clubs
        from planner.report.bag_json import advice_as_json
        from planner.report.bag_text import advice_parts
        from planner.strategy.purchase_frontier import YearsOfUse

        check_json_folder(json_out)
        requests = _requests(
            map_files,
            bag,
            tees,
            holes,
            wind=wind,
            temperature=temperature,
            altitude=altitude,
            firmness=firmness,
            green_speed=green_speed,
            rough=rough,
            local_rule_e5=local_rule_e5,
            preview=preview,
        )
        options = ChooseOptions(
            candidates=typed.club_labels(candidates),
            limit=limit,
            must=typed.club_labels(must) or (),
            without=typed.club_labels(without) or (),
            budget=float("inf") if budget is None else budget,
            use=YearsOfUse(years, rounds),
            shortlist=shortlist,
            technique=technique,
        )
        with progress_bar() as report, _stopped_by_keyboard() as cancelled:
            advice = choose_clubs(requests, options, progress=report, cancelled=cancelled)
        if json_out is not None:
            write_json(json_out, advice_as_json(advice))
        if json_out != STANDARD_OUTPUT:
            print_parts(*advice_parts(advice, units or requests[0].bag.unit))


def _requests(
    map_files: list[Path],
    bag: Path,
    tees: list[str] | None,
    holes: str,
    *,
    wind: list[str] | None,
    temperature: list[str] | None,
    altitude: list[str] | None,
    firmness: list[float] | None,
    green_speed: float,
    rough: float,
    local_rule_e5: bool,
    preview: bool,
) -> list[PlanRequest]:
    """One request for each map named; a map may be named again with other tees or weather."""
    count = len(map_files)
    sets: list[str | None] = [*tees] if tees else [None]
    rows = zip(
        map_files,
        _for_each("--tees", sets, count),
        _for_each("--wind", wind or ["calm"], count),
        _for_each("--temperature", temperature or ["15"], count),
        _for_each("--altitude", altitude or ["0"], count),
        _for_each("--firmness", firmness or [1.0], count),
        strict=True,
    )
    return [
        plan_request(
            path,
            bag,
            tee,
            holes,
            wind=winds,
            temperature=warmth,
            altitude=height,
            firmness=turf,
            green_speed=green_speed,
            rough=rough,
            local_rule_e5=local_rule_e5,
            preview=preview,
        )
        for path, tee, winds, warmth, height, turf in rows
    ]


def _for_each(option: str, given: list[Value], maps: int) -> list[Value]:
    """What was given once for all maps, or for each of them in order."""
    if len(given) not in (1, maps):
        raise OptionError(
            f"{option}: given {len(given)} times for {maps} maps; give it once, or for each map"
        )
    return given * maps if len(given) == 1 else given


def _with_bag(requests: list[PlanRequest], bag: Bag) -> list[PlanRequest]:
    from dataclasses import replace

    return [replace(request, bag=bag) for request in requests]


def _named_bags(files: list[Bag], swaps: list[str], sets: list[str]) -> list[NamedBag]:
    """Bags to compare: what each file carries, then exchanges in the first, then sets of clubs."""
    from planner.planning.bag_comparison import NamedBag

    first = files[0]
    carried = tuple(club.label for club in first.carried())
    found = [NamedBag(one.name, tuple(club.label for club in one.carried())) for one in files]
    for text in swaps:
        clubs = list(carried)
        for part in text.split(","):
            old, equals, new = (piece.strip() for piece in part.partition("="))
            if not equals:
                raise OptionError(
                    f'--swap "{part.strip()}": write "3 wood=5 wood", "3 wood=" to leave it out or '
                    '"=5 wood" to add one'
                )
            if old:
                label = first.club(old).label
                if label not in clubs:
                    raise OptionError(f'--swap "{part.strip()}": the {label} is not carried')
                clubs.remove(label)
            if new:
                clubs.append(first.club(new).label)
        found.append(NamedBag(_swap_name(text), tuple(clubs)))
    for text in sets:
        labels = typed.club_labels([text]) or ()
        found.append(NamedBag(f"set of {len(labels)}: {text}", labels))
    return found


def _swap_name(text: str) -> str:
    parts = []
    for part in text.split(","):
        old, _, new = (piece.strip() for piece in part.partition("="))
        parts.append(f"{new} for {old}" if old and new else f"with {new}" if new else f"no {old}")
    return ", ".join(parts)


@contextmanager
def _stopped_by_keyboard() -> Iterator[threading.Event]:
    """Event that an interrupt sets, so that the best so far is shown; a second one ends all."""
    import signal

    from planner.strategy.solution import Cancelled

    stop = threading.Event()
    before = signal.getsignal(signal.SIGINT)

    def interrupt(_number: int, _frame: object) -> None:
        stop.set()
        signal.signal(signal.SIGINT, before)

    if threading.current_thread() is threading.main_thread():
        signal.signal(signal.SIGINT, interrupt)
    try:
        yield stop
    except Cancelled:
        raise KeyboardInterrupt from None
    finally:
        if threading.current_thread() is threading.main_thread():
            signal.signal(signal.SIGINT, before)
