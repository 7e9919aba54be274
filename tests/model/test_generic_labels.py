"""The weights of the built-in sets have names in every language and unit; a shop's own names stay."""

from __future__ import annotations

from rimpoise_service.api.schemas.messages import label_text
from rimpoise_service.messages.reader import Reader, reading_as
from rimpoise_service.model.generic_labels import GENERIC_LABELS, ITEMS
from rimpoise_service.model.stock import ClipOn


def test_every_built_in_weight_has_one() -> None:
    assert {item.label for item in ITEMS} == set(GENERIC_LABELS)
    for item in ITEMS:
        said = GENERIC_LABELS[str(item.label)]
        assert said.values["mass_g"] == (item.mass_g if isinstance(item, ClipOn) else item.segment_mass_g)


def test_they_follow_language_and_units() -> None:
    strip, clip = "generic strip, segments of 5 g", "generic clip alloy slim 45G"
    with reading_as(Reader("de")):
        assert label_text(strip) == "Standard-Klebegewichtsriegel, Segmente zu 5 g"
    with reading_as(Reader("en-US", "us")):
        assert label_text(clip) == "generic clip-on, 1.59 oz (45 g)"
    assert label_text("the shop's own") == "the shop's own"
