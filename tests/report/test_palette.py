"""Contrast and colour blindness.

Contrast is that of WCAG 2.1. Dichromacies are simulated with the matrices of Machado, Oliveira
and Fernandes (2009), severity 1, on linear light; distances are CIE 1976 in L*a*b* (D65).
"""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from planner.report.palette import DARK, LIGHT, Palette

MACHADO = {
    "normal": np.eye(3),
    "protan": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deutan": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "tritan": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
    # No hue at all: the luminance of sRGB on every channel.
    "grey": np.tile([0.2126, 0.7152, 0.0722], (3, 1)),
}
TO_XYZ = np.array(
    [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.0721750],
        [0.0193339, 0.1191920, 0.9503041],
    ]
)
GROUNDS = ("fairway", "rough", "deep rough", "trees", "green", "sand", "red", "out of bounds")
MARKED = {"deep rough", "trees", "sand", "red", "out of bounds"}
"""Grounds that carry marks inside as well."""


def linear(colour: str) -> np.ndarray:
    value = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def luminance(colour: str) -> float:
    return float(np.array([0.2126, 0.7152, 0.0722]) @ linear(colour))


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def lab(colour: str, seen: np.ndarray) -> np.ndarray:
    xyz = TO_XYZ @ np.clip(seen @ linear(colour), 0, 1) / (TO_XYZ @ np.ones(3))
    f = np.where(xyz > (6 / 29) ** 3, np.cbrt(xyz), xyz / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def test_black_and_white_have_the_published_contrast_and_lightness() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert lab("#ffffff", np.eye(3)) == pytest.approx([100, 0, 0], abs=1e-6)


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=lambda p: p.name)
@pytest.mark.parametrize("sight", MACHADO)
def test_every_two_grounds_differ_by_colour_or_by_marks(colours: Palette, sight: str) -> None:
    for one, other in combinations(GROUNDS, 2):
        apart = np.linalg.norm(
            lab(colours[one].fill, MACHADO[sight]) - lab(colours[other].fill, MACHADO[sight])
        )
        # Marks tell ground apart when the fill does not; unmarked ground has nothing but its fill.
        least = 0.0 if {one, other} & MARKED else 7.0
        assert apart > least, (one, other, apart)


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=lambda p: p.name)
def test_marks_can_be_seen_on_their_ground(colours: Palette) -> None:
    for ground, marks in (
        ("trees", "trees marks"),
        ("deep rough", "deep rough marks"),
        ("sand", "sand marks"),
        ("red", "water marks"),
        ("out of bounds", "out of bounds marks"),
    ):
        assert contrast(colours[ground].fill, colours[marks].stroke) > 1.6, ground


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=lambda p: p.name)
def test_lines_and_texts_have_enough_contrast(colours: Palette) -> None:
    assert contrast(colours.ink, colours.halo) > 7.0
    for ground in ("fairway", "rough"):
        for line in (
            "pattern 50",
            "pattern 90",
            "run",
            "aim line",
            "pin",
            "boundary",
            "contour",
            "landed mishit",
            "map line",
            "chosen",
            "corner",
        ):
            assert contrast(colours[line].stroke, colours[ground].fill) >= 3.0, (line, ground)
    for water in ("red", "yellow"):
        assert contrast(colours[water].stroke, colours["rough"].fill) >= 3.0


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=lambda p: p.name)
def test_penalty_areas_are_told_apart_without_colour(colours: Palette) -> None:
    assert colours["yellow"].dash != colours["red"].dash
