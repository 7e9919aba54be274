"""A drawing read back from its SVG.

Geometry: coordinates grow right and down, so an angle clockwise from the top is atan2(x, -y); no more is needed.
"""

from __future__ import annotations

import math
import re
from xml.etree import ElementTree as ET

NS = {"s": "http://www.w3.org/2000/svg"}


SPOKEN = (
    (" behind the spokes", ", behind the spokes"),
    ("clip-on on ", "clip-on, "),
    ("adhesive on ", "adhesive, "),
    ("inboard flange", "inner flange"),
    ("outboard flange", "outer flange"),
    ("static, half each", "static, half on each side"),
)


def spoken(name: str) -> str:
    """A layout's name as a technician reads it."""
    for part, words in SPOKEN:
        name = name.replace(part, words)
    return name


def parsed(svg: str | bytes) -> ET.Element:
    """The SVG's root."""
    root = ET.fromstring(svg)  # noqa: S314 (our own)
    assert root.tag == f"{{{NS['s']}}}svg"
    return root


def part(root: ET.Element, name: str) -> ET.Element:
    """The group of that id."""
    (found,) = root.findall(f".//*[@id='{name}']")
    return found


def words(element: ET.Element) -> list[str]:
    """Its texts, in order."""
    return [text.text or "" for text in element.iter(f"{{{NS['s']}}}text")]


def points(d: str) -> list[tuple[float, float]]:
    """The ends of a path's steps; of an arc the last two of its numbers."""
    steps = re.findall(r"([MLAZ])([^MLAZ]*)", d)
    numbers = [[float(n) for n in step.split()] for _, step in steps if step.strip()]
    return [(n[-2], n[-1]) for n in numbers]


def clockwise_deg(at: tuple[float, float], centre: tuple[float, float]) -> float:
    """The angle of a point clockwise from straight up."""
    return math.degrees(math.atan2(at[0] - centre[0], centre[1] - at[1])) % 360


def apart(a_deg: float, b_deg: float) -> float:
    """How far apart two directions are."""
    return abs(math.remainder(a_deg - b_deg, 360))


def centre_of(root: ET.Element) -> tuple[float, float]:
    """The middle of the wheel: where its circles are."""
    circle = part(root, "face-wheel").find("s:circle", NS)
    assert circle is not None
    return float(circle.attrib["cx"]), float(circle.attrib["cy"])


def reduction(root: ET.Element, view: str) -> float:
    """What a view's head says: wheel over paper."""
    head = next(text for text in words(part(root, view)) if "1:" in text)
    return float(head.rpartition("1:")[2])


def sectors(root: ET.Element) -> list[ET.Element]:
    """The spokes: paths with an outer and an inner arc."""
    paths = part(root, "face-wheel").findall("s:path", NS)
    return [path for path in paths if path.attrib["d"].count("A") == 2]
