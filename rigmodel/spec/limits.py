"""Every limit a check uses and every tolerance it allows for, with where the default comes from.

The `source` of a default is printed beside the finding that used it. Lengths are millimetres and
angles degrees once read.
"""

from typing import Any

from pydantic import Field

from rigmodel.catalog.entry import Entry
from rigmodel.reading.fields import Angle, Length, NonNegativeLength, Number

PRACTICE = "common practice, no source"
TAPE = "common practice, no source: a tape is read to 1/16 in"
YOURS = "set in the scene"


def _limit(default: float, text: str, source: str = PRACTICE, **bounds: float) -> Any:
    return Field(
        default=default, description=text, json_schema_extra={"x-source": source}, **bounds
    )  # type: ignore[call-overload]


class Limits(Entry):
    """Limits; anything left out takes the default shown."""

    clearance: NonNegativeLength = _limit(
        6.35, "Least gap between parts that move against each other"
    )
    fixed_clearance: NonNegativeLength = _limit(
        2.0, "Least gap between parts that stand still to each other and are not bolted together"
    )
    wheel_clearance: NonNegativeLength = _limit(
        12.7, "Least gap between finger wheels of neighbouring rows"
    )
    depth_tolerance: NonNegativeLength = _limit(
        6.35, "How far a tool may run above or below its depth"
    )
    shank_end: NonNegativeLength = _limit(
        12.7, "Least length of shank showing above and below its holder"
    )
    shank_reserve: NonNegativeLength = _limit(
        12.7, "Slide left each way for adjustment; less is advised against"
    )
    arm_reserve: Angle = _limit(
        4.0, "Angle left to each stop at work; less is advised against", ge=0, le=90
    )
    pair_gap_low: Length = _limit(25.4, "Usual least gap between a pair's fingers at the start")
    pair_gap_high: Length = _limit(50.8, "Usual greatest gap between a pair's fingers at the start")
    pair_gap_tolerance: NonNegativeLength = _limit(
        3.2, "How far a pair's gap may be from what was asked", TAPE
    )
    canopy_clearance: NonNegativeLength = _limit(
        0.0, "Least gap between steel and the leaves while working"
    )
    tyre_clearance: NonNegativeLength = _limit(25.4, "Least gap between the rig and a tyre")
    tyre_growth: NonNegativeLength = _limit(
        6.35, "Allowance all round a tyre for growth, load bulge and caked soil"
    )
    overhang: NonNegativeLength = _limit(
        0.0, "How far a rig on a hitch may reach past the tyres' outer faces, each side"
    )
    frame_clearance: NonNegativeLength = _limit(
        25.4, "Least gap between the rig and the tractor's frame or an obstacle"
    )
    clamp_gap: NonNegativeLength = _limit(3.2, "Least gap between two clamps on one tube", TAPE)
    missed: NonNegativeLength = _limit(
        6.35, "Widest strip of soil outside the keep-out bands that may be left unworked"
    )
    overlap: NonNegativeLength = _limit(
        101.6, "Widest strip that may be worked twice before it is called waste"
    )
    lift_ground: NonNegativeLength = _limit(
        100.0, "Least height of the lowest lifted part over the soil"
    )
    lift_crop: NonNegativeLength = _limit(50.0, "Least height of lifted parts over the plants")
    lift_reserve: NonNegativeLength = _limit(
        25.4, "Travel of the lift left each side of the working height; less is advised against"
    )
    stress_factor: Number = _limit(
        2.0,
        "Yield strength over the greatest stress allowed in steel",
        ge=1,
        le=10,
    )
    buckling_factor: Number = _limit(
        3.0, "Push under which a strut buckles over the greatest push allowed", ge=1, le=20
    )
    front_share: Number = _limit(
        20.0,
        "Least share of the load on the front axle in transport, per cent",
        "usual rule for tractors on European roads (from memory)",
        ge=0,
        le=100,
    )
    preload_spread: Number = _limit(
        35.0,
        "How far a bolt's clamp load may be off what its torque should give, per cent each way",
        "torque wrench on dry bolts, NASA Reference Publication 1228 (from memory)",
        ge=0,
        le=90,
    )
    tight: NonNegativeLength = _limit(
        1.6, "A clearance passes, but is called tight, within this of its limit", TAPE
    )

    def source(self, name: str) -> str:
        """Where the value of limit `name` comes from: the scene, or the default's own source."""
        if name in self.model_fields_set:
            return YOURS
        extra = type(self).model_fields[name].json_schema_extra
        return str(extra["x-source"]) if isinstance(extra, dict) else PRACTICE


def _tolerance(text: str) -> Any:
    return Field(default=None, description=text)


class Tolerances(Entry):
    """How far things may stand from where they were meant, each way from the middle.

    What is not given is not allowed for, and the output says so.
    """

    setting: NonNegativeLength = Field(
        default=1.6,
        description="A clamp's place on the bar, as set with a tape",
        json_schema_extra={"x-source": TAPE},
    )
    hole_play: NonNegativeLength | None = _tolerance("A pin in a hole of a perforated tube")
    link_play: NonNegativeLength | None = _tolerance("Rig against tractor, sideways, in worn links")
    steering: NonNegativeLength | None = _tolerance("The driver's or the guidance's wander")
    side_hill: NonNegativeLength | None = _tolerance("Drift of the tractor on a side hill")
    guess_row: NonNegativeLength | None = _tolerance("Gap between two passes of the drill")
    roll: Angle | None = Field(default=None, description="Bar's roll each way", ge=0, le=20)
    pitch: Angle | None = Field(default=None, description="Bar's pitch each way", ge=0, le=20)
    roughness: NonNegativeLength | None = _tolerance(
        "Height of the bed's surface above and below its profile"
    )
