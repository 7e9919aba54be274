"""Every sentence the service says to a person: one table a kind, code → text and source.

A text may name values in braces, with Python's format codes; ``text_of`` fills them in.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ..fitting.remarks import Remark

Kind = Literal["caution", "reason", "next_step", "fitting_step", "warning", "note", "derived"]
PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Guidance:
    """A sentence, what it is for and where it comes from."""

    kind: Kind
    text: str
    source: str = PRACTICE


CAUTIONS: dict[str, str | tuple[str, str]] = {
    "trained_person": "This is advice; a trained person decides. Local codes, the vehicle maker's instructions and "
    "licensed practice come first.",
    "eye_protection": "Wear eye protection: clips, tape and stones fly off a spinning wheel, splinters off a hammer.",
    "spinning_wheel": "Keep hands, hair and clothing away from a spinning wheel; close the guard before the spin.",
    "raised_vehicle": "Work under a raised vehicle only when it stands on rated stands or a locked lift.",
    "wheel_nuts": "Tighten the wheel nuts crosswise to the vehicle maker's torque and check them again after the "
    "distance the maker states.",
    "clearance": "Turn the wheel by hand before driving: no weight may touch brake, suspension or sensor.",
    "lead_handling": "Old weights may be lead: wear gloves, do not file or heat them, wash hands before eating.",
    "lead_ban": (
        "A piece of this plan is lead. Lead weights are banned or restricted in many places; check the law "
        "where the vehicle is used, for example those listed as the source.",
        "EU 2000/53/EC; Washington RCW 70A.435; California HSC 25215.6; New York ECL 37-0113; Minnesota 116.931; "
        "Maryland Environment 6-501",
    ),
    "old_weights_guess": "The old weights were taken off by computation. Better: take them off, clean and spin again.",
}

REASONS: dict[str, str | tuple[str, str]] = {
    "style_not_wanted": "The preferences leave out {style}.",
    "flange_unknown": "Nothing was said of the {side} flange: whether a clip-on holds there is not known.",
    "flange_absent": "There is no flange on the {side} side that a clip-on could hold.",
    "flange_unmeasured": "The clip-ons in stock are chosen by lip thickness or profile, and this flange has neither.",
    "flange_place_unknown": "Where the {side} flange is isn't known: neither position and radius were measured nor "
    "rim_size with offset_mm given.",
    "nothing_clears": "No weight at all clears brake or suspension at {place}.",
    "nowhere_free": "Between the keep-outs of {place} there is no room for even the shortest weight.",
    "no_clip_ons": "There are no clip-on weights in stock.",
    "no_strips": "There are no adhesive strips in stock.",
    "out_of_stock": "None is on hand.",
    "not_for_material": "The clip-ons in stock are not made for {material} wheels.",
    "not_for_vehicle": "The clip-ons in stock are not made for the wheels of a {vehicle}.",
    "height_unknown": "The clearance is limited and the height of the clip-ons isn't known.",
    "too_high": "What is in stock is higher than the {max_height_mm:g} mm that clear.",
    "thickness_misfit": "No clip-on in stock fits a lip of {thickness_mm:g} mm.",
    "profile_misfit": "No clip-on in stock is made for the flange profile {profile}.",
    "too_wide": "The strips in stock are wider than the land's {width_mm:g} mm.",
    "places_too_close": "The two places are less than {min_mm:g} mm apart along the axis: too close to correct a "
    "couple.",
    "one_plane_not_enough": "One plane alone leaves a couple that is outside acceptance whatever is fitted in it.",
}

NEXT_STEPS: dict[str, str | tuple[str, str]] = {
    "look_at_flange": "Look at the {side} flange: is there a lip that a clip can hold? Measure its thickness.",
    "ask_guide_then_gauge": "Look the vehicle up in the application guide for its clip profile; if it has no entry, "
    "gauge the {side} flange and send thickness_mm or profile.",
    "gauge_flange": "Gauge the {side} flange and send its thickness_mm, or the profile your gauge names.",
    "locate_flange": "Read rim_size and offset off the wheel, or measure position and radius of the {side} flange.",
    "measure_clip_height": "Measure how high the clip-ons stand off the {side} flange and add height_mm to the stock.",
    "look_for_lands": "Look inside the barrel for flat, smooth lands where a strip could go; measure position, "
    "radius and width.",
    "repair_tread_gash": "The tread is gashed: have the tyre examined, repaired or replaced before balancing.",
    "repair_sidewall_bulge": "The sidewall bulges: its cords are broken. Replace the tyre; do not spin it.",
    "repair_exposed_cord": "Cord shows: replace the tyre; do not spin it.",
    "repair_uneven_wear": "The tread is worn unevenly: find the cause (pressure, alignment, suspension) and put it "
    "right, or the wheel will not stay balanced.",
    "repair_worn_out": "The tread is worn out or at its legal limit: replace the tyre first.",
    "repair_low_pressure": "The pressure is low: find the leak, inflate to the vehicle maker's figure, then spin.",
    "repair_bent_wheel": "The wheel is bent: have it examined; weights do not cure run-out.",
    "repair_cracked_wheel": "The wheel is cracked: replace it; do not spin it.",
}

FITTING_STEPS: dict[str, str | tuple[str, str]] = {
    "remove_old_weights": "Take off all old weights and their tape. Sort them by material (lead, zinc, steel, other) "
    "for recycling; never bin them.",
    "clean_flange": "Wipe the flange where the clips go.",
    "clean_land": "Clean the land with a cleaner that leaves no residue and let it dry. Do not touch it again.",
    "fit_clip_on": "Clip-on {sku}, {mass_g:g} g, on {place} at {angle_deg:.1f}° ({clock} with the mark at 12).",
    "fit_strip": "Strip {sku}, {segments} segments, {mass_g:g} g, on {place} with its middle at {angle_deg:.1f}° "
    "({clock} with the mark at 12).",
    "fit_strip_behind": "Strip {sku}, {segments} segments, {mass_g:g} g, on {place} behind spoke {window} with its "
    "middle at {angle_deg:.1f}° ({clock} with the mark at 12).",
    "seat_clip": "Set top and bottom of the clip against the flange. With a soft-face hammer strike the clip, in line "
    "with the flange, never the body of the weight: one blow, two at the most.",
    "press_strip": "Peel the tape without touching it. Set the middle of the strip at its mark first, then press "
    "outward to both ends.",
    "check_spin": "Spin again. On paper {static_g:.1f} g static stay, and the chance to pass is {chance:.0f} %.",
}

WARNINGS: dict[str, str | tuple[str, str]] = {
    "high_gain": "The planes are so close together, or so far to one side, that {gain:.1f} times the weight read "
    "would be fitted; the reading's own errors grow as much. Choose planes further apart.",
    "couple_unknown": "A static reading says nothing of the couple; it is taken as none about the plane of the reading.",
    "couple_stays": "One plane can't correct a couple: {couple_gmm2:.0f} g·mm² stay.",
    "old_weights_computed": "{count} old weights were taken off by computation; their errors are in the answer.",
    "much_weight": "{mass_g:.0f} g on {place} is a lot. Check seat, mud, run-out and bead first, and consider turning "
    "the tyre on its rim.",
    "outside_acceptance": "Nothing that fits brings the wheel within acceptance: the best leaves {share_pct:.0f} % of "
    "the limit.",
    "no_window_fits": "No window holds even one segment of {segment_mm:g} mm.",
    "plane_over_limit": "{plane} keeps {mass_g:.2f} g, more than the {limit_g:g} g allowed; the masses on offer do not "
    "come closer.",
}

NOTES: dict[str, str | tuple[str, str]] = {
    "face_not_clean": "The wish for a clean face is not met: a weight sits on the outboard flange.",
    "can_be_seen": "The wish to keep the weights out of sight is not met on {place}.",
}

DERIVED: dict[str, str | tuple[str, str]] = {
    "flange_position_derived": (
        "The {side} flange is taken at {position_mm:.1f} mm from the mounting face, from the marking {rim}; a "
        "measurement would win.",
        "rim marking: width between flanges and offset (ISO 4000-1, from memory)",
    ),
    "flange_radius_derived": (
        "The mass centre of a clip-on on the {side} flange is taken at {radius_mm:.1f} mm, the specified rim radius of "
        "{rim}; a measurement would win.",
        "ISO 4000-2 Table 4, from memory; that clip-ons hang at the bead seat's height is common practice",
    ),
    "judged_at_flanges": "The reading names no planes: what is left is judged at the two flanges.",
    "judged_at_places": "The reading names no planes: what is left is judged at the innermost and outermost place.",
    "judged_statically": "The reading names no planes and the wheel has one place: what is left is judged statically.",
}

_TABLES: dict[Kind, dict[str, str | tuple[str, str]]] = {
    "caution": CAUTIONS,
    "reason": REASONS,
    "next_step": NEXT_STEPS,
    "fitting_step": FITTING_STEPS,
    "warning": WARNINGS,
    "note": NOTES,
    "derived": DERIVED,
}

GUIDANCE: dict[str, Guidance] = {
    code: Guidance(kind, said) if isinstance(said, str) else Guidance(kind, *said)
    for kind, table in _TABLES.items()
    for code, said in table.items()
}
"""All of them by code; where a table gives no source it is common practice."""


def text_of(remark: Remark) -> str:
    """The sentence of a remark, its values filled in. Raises KeyError for a code the tables lack.

    >>> text_of(Remark("no_strips"))
    'There are no adhesive strips in stock.'
    """
    return GUIDANCE[remark.code].text.format(**remark.values)
