"""Colours and line styles of every drawing, for light and dark surroundings.

Kinds of ground are told apart by lightness, by outline and by marks inside (dots, ticks,
hatching), never by hue alone; ``tests/report/test_palette.py`` checks them under simulated
colour blindness.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

__all__ = ["DARK", "LIGHT", "Palette", "Style", "palette"]


@dataclass(frozen=True)
class Style:
    """How a shape is painted; widths and dashes in pixels, empty colours paint nothing."""

    fill: str = ""
    fill_opacity: float = 1.0
    stroke: str = ""
    stroke_width: float = 1.0
    dash: tuple[float, ...] = ()
    opacity: float = 1.0


@dataclass(frozen=True)
class Palette:
    """Styles by role, and the colours of text on the drawing."""

    name: str
    styles: Mapping[str, Style]
    ink: str
    halo: str
    bar: str
    grid: str

    def __getitem__(self, role: str) -> Style:
        """Style of ``role``."""
        return self.styles[role]


def _palette(name: str, c: Mapping[str, str]) -> Palette:
    """Build the styles from named colours; line widths and dashes are the same in both."""
    styles = {
        "rough": Style(c["rough"]),
        "deep rough": Style(c["deep"], stroke=c["deep_mark"], stroke_width=0.4),
        "deep rough marks": Style(stroke=c["deep_mark"], stroke_width=1.0),
        "trees": Style(c["trees"], stroke=c["tree_mark"], stroke_width=0.6),
        "trees marks": Style(stroke=c["tree_mark"], stroke_width=3.4),
        "fairway": Style(c["fairway"], stroke=c["fairway_edge"], stroke_width=0.7),
        "tee": Style(c["tee"], stroke=c["edge"], stroke_width=0.7),
        "yellow": Style(c["water"], stroke=c["yellow"], stroke_width=2.2, dash=(6, 4)),
        "red": Style(c["water"], stroke=c["red"], stroke_width=2.2),
        "water marks": Style(stroke=c["water_mark"], stroke_width=0.9),
        "sand": Style(c["sand"], stroke=c["sand_edge"], stroke_width=0.9),
        "sand marks": Style(stroke=c["sand_edge"], stroke_width=1.3),
        "green": Style(c["green"], stroke=c["edge"], stroke_width=1.2),
        "out of bounds": Style(c["out"]),
        "out of bounds marks": Style(stroke=c["out_mark"], stroke_width=0.8),
        "boundary": Style(stroke=c["ink"], stroke_width=1.5, dash=(9, 3, 2, 3)),
        "line of play": Style(stroke=c["ink"], stroke_width=1.0, dash=(1, 4), opacity=0.75),
        "distance": Style(stroke=c["ink"], stroke_width=0.8, opacity=0.55),
        "pattern 90": Style(c["pattern"], 0.16, c["pattern"], 1.2),
        "pattern 50": Style(c["pattern"], 0.26, c["pattern"], 1.8),
        "mishit": Style(c["pattern"], 0.05, c["pattern"], 1.0, (3, 4), 0.85),
        "run": Style(stroke=c["pattern"], stroke_width=2.0),
        "aim line": Style(stroke=c["ink"], stroke_width=1.3),
        "aim point": Style(c["halo"], 0.9, c["ink"], 1.8),
        "ball": Style(c["ink"], stroke=c["halo"], stroke_width=1.2),
        "pin": Style(stroke=c["ink"], stroke_width=1.8),
        "pin flag": Style(c["pattern"], stroke=c["ink"], stroke_width=1.0),
        "next place": Style(c["ink"], stroke=c["halo"], stroke_width=1.2),
        "map line": Style(stroke=c["ink"], stroke_width=1.6, opacity=0.85),
        "chosen": Style(stroke=c["pattern"], stroke_width=3.0),
        "corner": Style(c["halo"], stroke=c["pattern"], stroke_width=1.8),
        "corner chosen": Style(c["pattern"], stroke=c["halo"], stroke_width=1.5),
        "contour": Style(stroke=c["contour"], stroke_width=1.2, opacity=0.9),
        "landed": Style(c["pattern"], 0.85),
        "landed mishit": Style(stroke=c["pattern"], stroke_width=1.5),
    }
    return Palette(name, MappingProxyType(styles), c["ink"], c["halo"], c["bar"], c["grid"])


LIGHT = _palette(
    "light",
    {
        "rough": "#d3d6b9",
        "deep": "#b7b48a",
        "deep_mark": "#7d7a4e",
        "trees": "#8c9f88",
        "tree_mark": "#586c58",
        "fairway": "#eef1df",
        "fairway_edge": "#a9ae8c",
        "tee": "#b9d3bd",
        "edge": "#3f5a4a",
        "water": "#9dbfd6",
        "water_mark": "#5d87a3",
        "yellow": "#7a5c00",
        "red": "#a3271b",
        "sand": "#f2d58e",
        "sand_edge": "#8f6f2d",
        "green": "#86bd98",
        "out": "#bcb6b0",
        "out_mark": "#857e77",
        "pattern": "#7d2a5c",
        "contour": "#2b557a",
        "ink": "#1d2733",
        "halo": "#fbfaf4",
        "bar": "#44657f",
        "grid": "#d9d4c8",
    },
)
"""For light surroundings: a survey sheet, pale mown ground, darker as it gets worse."""

DARK = _palette(
    "dark",
    {
        "rough": "#3a4136",
        "deep": "#4d4a2f",
        "deep_mark": "#8b8554",
        "trees": "#1d2a20",
        "tree_mark": "#577259",
        "fairway": "#68745c",
        "fairway_edge": "#8b977c",
        "tee": "#587860",
        "edge": "#b9d6c2",
        "water": "#234a66",
        "water_mark": "#6b9cbd",
        "yellow": "#f0cf62",
        "red": "#f08a78",
        "sand": "#b69a5c",
        "sand_edge": "#e9cf93",
        "green": "#57a277",
        "out": "#26211f",
        "out_mark": "#6a615b",
        "pattern": "#ffb4dc",
        "contour": "#b5d6f2",
        "ink": "#f1ece0",
        "halo": "#171b1f",
        "bar": "#8db4d2",
        "grid": "#3a4148",
    },
)
"""For dark surroundings; the order of lightness is kept where it helps, marks are brighter."""


def palette(*, dark: bool) -> Palette:
    """Palette for dark or light surroundings."""
    return DARK if dark else LIGHT
