"""The rendered sheet field by field, read back from the page: every number is the plan's, for many wheels."""

from __future__ import annotations

import json
import random
import re
from collections.abc import Iterator
from html import unescape
from typing import Any

import pytest
from flask.testing import FlaskClient

from tests.api.fixture_types import Example

COSTLY = "short_strips"
NAMES = ("hidden", "own_stock", "steel_wheel", "at_places", COSTLY)
FEW, MANY = 3, 6
WHEELS = [
    pytest.param(
        (name, seed), id=f"{name}-{seed}", marks=[pytest.mark.slow] * (seed >= (1 if name == COSTLY else FEW))
    )
    for name in NAMES
    for seed in range(MANY)
]

ROW = re.compile(
    r'<li><span class="number"[^>]*>(?P<numbers>[^<]+)</span>.*?<b class="mass">(?P<mass>[^<]+)</b>'
    r'.*?<b class="angle">(?P<angle>[^<]+)</b> \((?P<clock>[^)]+)\), (?P<way>[^<]*)</p>'
    r'.*?<p class="quiet">(?P<what>[^<]*)',
    re.DOTALL,
)
FACT = re.compile(r"<dt>([^<]+)</dt><dd[^>]*>(.*?)</dd>", re.DOTALL)
AT = re.compile(r"([\d.]+) g at (\d+)°")
SUMMARY = (
    r"(within|over) the limit; (\d+)% pass; ([\d.]+) g in all; (\d+|none) in sight(?:; price (\d+(?:\.\d+)?))?"
)


def turned(body: Any, seed: int) -> Any:
    """The same wheel with another reading, its weights in grams."""
    rng, changed = random.Random(seed), json.loads(json.dumps(body))
    for place in _with_mass(changed["reading"]):
        place["mass_g"], place["angle_deg"] = float(rng.randint(4, 58)), float(rng.randint(0, 359))
    if changed["stock"]["kind"] == "builtin":
        changed["stock"]["name"] = "metric"  # ounces are read in tests of their own
    return {**changed, "preferences": {**changed.get("preferences", {}), "detail": "full"}}


def of_short_strips(body: Any) -> Any:
    """With strips of four segments at most and nothing else, so that some lie end to end."""
    strips = [{**strip, "max_segments": 4} for strip in body["stock"]["strips"]]
    wishes = body["preferences"] | {"max_pieces_per_plane": 3}
    return body | {"stock": body["stock"] | {"clip_ons": [], "strips": strips}, "preferences": wishes}


def _with_mass(value: Any) -> Iterator[Any]:
    if isinstance(value, dict):
        if {"mass_g", "angle_deg"} <= value.keys():
            yield value
        else:
            for inner in value.values():
                yield from _with_mass(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _with_mass(inner)


def left(mass_g: float) -> str:
    """As it is read: whole from ten grams on."""
    return f"{mass_g:.0f}" if mass_g >= 9.95 else f"{round(mass_g, 1):g}"


def degrees(angle_deg: float) -> str:
    return f"{round(angle_deg) % 360}"


@pytest.fixture(scope="module", params=WHEELS)
def both(request: pytest.FixtureRequest, example: Example, client: FlaskClient) -> tuple[Any, Any, str]:
    """A request, its plan, and its sheet."""
    name, seed = request.param
    short = name == COSTLY
    asked = of_short_strips(example("planFitting", "own_stock")) if short else example("planFitting", name)
    body = turned(asked, seed)
    answer, page = client.post("/v1/plans", json=body), client.post("/v1/plans/sheet", json=body)
    assert (answer.status_code, page.status_code) == (200, 200)
    return body, answer.get_json(), unescape(re.sub(r"</?bdi>", "", page.text)).replace("\u00a0", " ")


def test_every_number_of_the_list_is_the_plans(both: tuple[Any, Any, str]) -> None:
    _, plan, page = both
    pieces = (plan["recommended"] or {"pieces": []})["pieces"]
    rows = [found.groupdict() for found in ROW.finditer(page)]
    numbers = [_numbers(row["numbers"]) for row in rows]
    assert sorted(n for some in numbers for n in some) == list(range(1, len(pieces) + 1))
    for row, some in zip(rows, numbers, strict=True):
        here = [pieces[n - 1] for n in some]
        assert row["mass"] == f"{round(sum(p['mass_g'] for p in here), 2):g} g"
        assert all(p["sku"] in row["what"] for p in here)
        segments = [int(n) for n in re.findall(r"(\d+) segment", row["what"])]
        assert segments == [p["segments"] for p in here if p["segments"]]
        if len(here) == 1:
            assert row["angle"].split()[-1] == f"{degrees(here[0]['angle_deg'])}°"
            assert row["way"].startswith(_way(here[0]["rim"]))
        else:
            assert abs((float(row["angle"].split()[-1][:-1]) - _middle(here) + 180) % 360 - 180) <= 0.51


def _numbers(text: str) -> list[int]:
    """Of a row: one, or several with dashes and commas.

    >>> _numbers("1–3, 5")
    [1, 2, 3, 5]
    """
    ends = [list(map(int, part.split("–"))) for part in text.split(",")]
    return [n for end in ends for n in range(end[0], end[-1] + 1)]


def _way(rim: Any) -> str:
    names = {"called_spot": "called spot", "mark": "mark"}
    if rim["rim_mm"] < 2:
        return "at the mark" if rim["from"] == "mark" else "on the called spot"
    sense = {"clockwise": "clockwise", "counterclockwise": "anticlockwise"}[rim["direction"]]
    return f"{left(rim['rim_mm'])} mm {sense} of the {names[rim['from']]} along the "


def _middle(run: list[Any]) -> float:
    """Of pieces end to end [deg]: half of what they cover, from where the first of them begins."""
    begins = [(p["angle_deg"] - p["arc_deg"] / 2) % 360 for p in run]
    ends = [(p["angle_deg"] + p["arc_deg"] / 2) % 360 for p in run]
    apart = [min(abs((b - e + 180) % 360 - 180) for e in ends) for b in begins]
    start = begins[apart.index(max(apart))]
    return float(start + max((e - start) % 360 for e in ends) / 2)


def test_every_number_of_the_facts_is_the_plans(both: tuple[Any, Any, str]) -> None:
    body, plan, page = both
    facts = dict(FACT.findall(page))
    limits = [each["limit_g"] for each in plan["limits"]["planes"]] + [plan["limits"]["static_g"]]
    assert re.findall(r"([\d.]+) g", facts["Limits"]) == [left(mass) for mass in limits]
    shown = sorted((f"{p['mass_g']:g}", degrees(p["angle_deg"])) for p in _with_mass(body["reading"]))
    assert sorted(AT.findall(facts["Reading as shown"])) == shown
    for label, found in (
        ("Before, heavy side", plan["before"]["planes"]),
        ("Left, heavy side", (plan["recommended"] or {"residual": {"planes": []}})["residual"]["planes"]),
    ):
        reported = [(left(v["mass_g"]), degrees(v["angle_deg"])) for v in found]
        assert AT.findall(facts.get(label, ""))[: len(reported)] == reported


def test_every_number_of_headline_steps_and_other_ways_is_the_plans(both: tuple[Any, Any, str]) -> None:
    _, plan, page = both
    best = plan["recommended"]
    layouts = [each for each in (best, *plan["alternatives"]) if each]
    found = re.findall(SUMMARY, page)
    assert len(found) == len(layouts)
    for reported, layout in zip(found, layouts, strict=True):
        within, chance, mass, seen, price = reported
        assert within == ("within" if layout["within_acceptance"] else "over")
        assert (chance, mass) == (
            f"{min(layout['pass_chance_pct'], 99):.0f}",
            f"{round(layout['total_mass_g'], 2):g}",
        )
        assert seen == (str(layout["visible_pieces"]) if layout["visible_pieces"] else "none")
        assert (price or None) == layout["price"]
    weights = re.findall(r"</strong>: (.*? g at [^;]*); (?:within|over)", page)
    for reported_weights, layout in zip(weights, plan["alternatives"], strict=True):
        assert AT.findall(reported_weights) == [
            (f"{round(p['mass_g'], 2):g}", degrees(p["angle_deg"])) for p in layout["pieces"]
        ]
    if best and plan["decision"] == "fit":
        (count, mass, passes, tries) = re.findall(
            r"Fit (\d+) weights?, ([\d.]+) g(?: in all)?: passes the check spin (\d+) times? in (\d+)", page
        )[0]
        assert (int(count), mass) == (len(best["pieces"]), left(best["total_mass_g"]))
        assert abs(100 * int(passes) / int(tries) - best["pass_chance_pct"]) <= (5 if tries == "10" else 1)
        (forecast,) = re.findall(r"Check spin: (?:about ([\d.]+) g|next to nothing) should be left", page)
        static = both[0]["reading"]["kind"] == "static"
        assert (forecast or "0") == left(best["residual"]["static_g"] if static else best["largest_residual_g"])
