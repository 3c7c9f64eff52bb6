"""The page's icon, made here: an icon by name would be fetched from another host."""

from __future__ import annotations

import numpy as np
from PIL import Image

__all__ = ["page_icon"]

SIZE = 32
PAPER, GROUND, PATTERN = (251, 250, 244), (134, 189, 152), (125, 42, 92)


def page_icon() -> Image.Image:
    """Shot pattern on a green, 32 by 32 pixels."""
    y, x = np.mgrid[0:SIZE, 0:SIZE] + 0.5
    image = np.full((SIZE, SIZE, 3), PAPER, dtype=np.uint8)
    image[np.hypot(x - 16, y - 16) < 15.5] = GROUND
    ring = np.hypot((x - 16) / 11, (y - 16) / 6)
    image[(ring < 1.0) & (ring > 0.74)] = PATTERN
    image[np.hypot(x - 16, y - 16) < 2.5] = PATTERN
    return Image.fromarray(image)
