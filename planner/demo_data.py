"""Where the files that come with the package lie: demo courses, demo bags, the page's entry.

In a checkout they stand beside the package; in an installed package they are inside it.
"""

from __future__ import annotations

from pathlib import Path

__all__ = ["DEMO_COURSE", "DEMO_TEES", "app_file", "demo_bag", "demo_bag_names", "demo_folder"]

DEMO_COURSE = "tarrowick.geojson"
"""Map that the demo plans."""
DEMO_TEES = {
    "odile_marrow": "red",
    "bram_oskel": "yellow",
    "tobias_fennimark": "red",
    "wren_halvard": "white",
}
"""Tee set each demo golfer plays, by the stem of the bag file; the first is the default."""

_PACKAGE = Path(__file__).resolve().parent


def demo_folder() -> Path:
    """Folder of the demo courses, with their bags in ``bags``.

    Raises
    ------
    FileNotFoundError
        The package was installed without its demo files.
    """
    return _beside_or_inside("courses_demo")


def app_file() -> Path:
    """Return the script that starts the page, with its settings in ``.streamlit`` beside it.

    Raises
    ------
    FileNotFoundError
        The package was installed without it.
    """
    return _beside_or_inside("app.py")


def demo_bag_names() -> tuple[str, ...]:
    """Names of the demo bags, the default first."""
    found = {path.stem for path in (demo_folder() / "bags").glob("*.toml")}
    known = [name for name in DEMO_TEES if name in found]
    return (*known, *sorted(found.difference(known)))


def demo_bag(name: str) -> Path:
    """Return the demo bag called ``name``, or whose name begins with it (any case).

    Raises
    ------
    KeyError
        None or several fit.
    """
    wanted = name.casefold().replace(" ", "_")
    fitting = [stem for stem in demo_bag_names() if stem.startswith(wanted)]
    if len(fitting) != 1 or not wanted:
        raise KeyError(name)
    return demo_folder() / "bags" / f"{fitting[0]}.toml"


def _beside_or_inside(name: str) -> Path:
    checkout = _PACKAGE.parent
    beside = checkout / name
    # A folder beside an installed package could be anyone's; a checkout has the project file.
    if beside.exists() and (checkout / "pyproject.toml").is_file():
        return beside
    inside = _PACKAGE / "_demo" / name
    if inside.exists():
        return inside
    raise FileNotFoundError(f"{name} is missing from this installation; install the package again")
