"""Marks stay apart for people who see fewer colours, by arithmetic, in light and in dark.

Shape and word carry each meaning alone; this is the margin beside them. Simulation of protanopia
and deuteranopia: F. Vienot, H. Brettel, J. D. Mollon, Color Research and Application 24 (1999)
243-252, as matrices on linear sRGB (figures from memory). Distance: CIE 1976 L*a*b*, white D65.
"""

import itertools
import re

import numpy as np
import pytest

from pipeline.base.assets import asset

SEEN = {
    "protan": [[0.11238, 0.88762, 0.0], [0.11238, 0.88762, 0.0], [0.00401, -0.00401, 1.0]],
    "deutan": [[0.29275, 0.70725, 0.0], [0.29275, 0.70725, 0.0], [-0.02234, 0.02234, 1.0]],
    "all": np.eye(3),
}
TO_XYZ = [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
"""IEC 61966-2-1 (sRGB)."""
WHITE = np.array([0.9505, 1.0, 1.089])
STYLE = asset("reports", "style.css").read_text(encoding="utf-8")
LEAST = 25.0
"""Ten times what is just noticed (about 2.3 in this space); common practice, no source."""


def palette(text: str) -> dict[str, str]:
    return dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", text))


LIGHT = palette(STYLE.split("@media")[0])
DARK = LIGHT | palette(STYLE.split("prefers-color-scheme: dark")[1].split("* {")[0])


def lab(colour: str, seen: str) -> np.ndarray:
    coded = np.array([int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)])
    linear = np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)
    xyz = np.array(TO_XYZ) @ np.clip(np.array(SEEN[seen]) @ linear, 0, 1) / WHITE
    f = np.where(xyz > (6 / 29) ** 3, np.cbrt(xyz), xyz / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def distance(one: str, other: str, seen: str = "all") -> float:
    return float(np.linalg.norm(lab(one, seen) - lab(other, seen)))


def test_distances_are_those_of_the_space():
    """Source: CIE 15: white is L* = 100, black 0; red of sRGB (53.2, 80.1, 67.2), from memory."""
    assert distance("#ffffff", "#000000") == pytest.approx(100, abs=0.1)
    assert lab("#ff0000", "all") == pytest.approx([53.2, 80.1, 67.2], abs=0.2)


def test_red_and_green_of_one_lightness_fall_together_where_they_are_not_told_apart():
    assert distance("#b05000", "#727200", "deutan") < distance("#b05000", "#727200") / 3


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("seen", SEEN)
def test_the_colours_of_marks_stay_apart(scheme, seen):
    colours = {"light": LIGHT, "dark": DARK}[scheme]
    near = {
        (one, other): round(distance(colours[one], colours[other], seen), 1)
        for one, other in itertools.combinations(("act", "look-fill", "blue"), 2)
    }
    assert min(near.values()) >= LEAST, near
