"""The kinds of part a catalogue may hold, and the fields each kind has.

A kind says which dimensions a part needs; the catalogue files give the numbers. Every length is
millimetres once read, every angle degrees.
"""

from collections.abc import Iterator
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from rigmodel.catalog.entry import Entry
from rigmodel.catalog.part import PartEntry
from rigmodel.catalog.strut_clamp import StrutClamp
from rigmodel.catalog.tractors import MeshAxis, MeshUnit, TractorEntry
from rigmodel.reading.fields import (
    Angle,
    Count,
    Ident,
    Length,
    NonNegativeLength,
    Number,
    PositiveLength,
)
from rigmodel.reading.mesh_path import UP_RULE, MeshPath, MeshSource, mesh_source


class SquareTube(PartEntry):
    """Square tube for a toolbar or a cross tube; holes, if any, at one pitch along its length."""

    kind: Literal["square-tube"]
    size: PositiveLength = Field(description="Outside width of the square")
    wall: PositiveLength = Field(description="Wall thickness; half the size or more is a solid bar")
    corner_radius: NonNegativeLength | None = Field(
        default=None, description="Outside corner radius; twice the wall if not given"
    )
    hole_pitch: PositiveLength | None = Field(
        default=None, description="Distance from hole to hole; none = plain tube"
    )
    first_hole: PositiveLength | None = Field(
        default=None, description="From a cut end to the first hole; half the pitch if not given"
    )
    yield_mpa: Number | None = Field(
        default=None, description="Yield strength of its steel, MPa", gt=0, le=3000
    )

    @property
    def hole_start(self) -> float:
        """Distance in mm from a cut end to the first hole (0 for a plain tube)."""
        if self.hole_pitch is None:
            return 0.0
        return self.hole_pitch / 2.0 if self.first_hole is None else self.first_hole


class BarClamp(PartEntry):
    """Plate and two U-bolts round a square bar; a tool bolts to the plate."""

    kind: Literal["bar-clamp"]
    fits: PositiveLength = Field(description="Outside size of the square bar it goes round")
    width: PositiveLength = Field(description="Length of bar it covers")
    plate_thickness: PositiveLength = Field(description="Thickness of its plate")
    plate_height: PositiveLength = Field(description="Height of its plate")
    bolt_diameter: PositiveLength = Field(description="Diameter of the U-bolt's rod")


class TeeClamp(PartEntry):
    """Joins a cross tube under a bar, at right angles."""

    kind: Literal["tee-clamp"]
    fits: PositiveLength = Field(description="Outside size of the bar")
    cross_fits: PositiveLength = Field(description="Outside size of the cross tube")
    plate_width: PositiveLength = Field(description="Side of its square plate")
    plate_thickness: PositiveLength = Field(description="Thickness of its plate")
    bolt_diameter: PositiveLength = Field(description="Diameter of its bolts")


class RigidHolder(PartEntry):
    """Sleeve with a set bolt that holds a shank and does not yield."""

    kind: Literal["rigid-holder"]
    slot_x: PositiveLength = Field(description="Slot, fore and aft")
    slot_y: PositiveLength = Field(description="Slot, across")
    wall: PositiveLength = Field(description="Wall of the sleeve")
    height: PositiveLength = Field(description="Height of the sleeve")
    bolt_diameter: PositiveLength = Field(description="Diameter of the set bolt")


class SpringHolder(PartEntry):
    """Holds a shank; yields backwards and up about its pin when the blade hits a stone."""

    kind: Literal["spring-holder"]
    slot_x: PositiveLength = Field(description="Slot, fore and aft")
    slot_y: PositiveLength = Field(description="Slot, across")
    wall: PositiveLength = Field(description="Wall of the sleeve")
    height: PositiveLength = Field(description="Height of the sleeve")
    bracket_width: PositiveLength = Field(description="Width of the bracket")
    bracket_height: PositiveLength = Field(description="Height of the bracket's plate")
    bracket_thickness: PositiveLength = Field(description="Thickness of the bracket's plate")
    pivot_back: PositiveLength = Field(description="Pin behind the mounting face")
    pivot_up: Length = Field(description="Pin above the middle of the mounting face")
    pin_diameter: PositiveLength = Field(description="Diameter of the pin")
    drop: PositiveLength = Field(description="Middle of the sleeve below the pin")
    spring_diameter: PositiveLength = Field(description="Outside diameter of the spring")
    spring_length: PositiveLength = Field(description="Length of the spring")
    bolt_diameter: PositiveLength = Field(description="Diameter of the set bolt")
    trip: Angle = Field(description="How far it turns before it stops", gt=0, le=120)


class TrailingArm(PartEntry):
    """Arm that pivots behind the bar and floats between a down stop and an up stop.

    Angles are measured at the pivot: 0 is level to the rear, negative hangs down.
    """

    kind: Literal["trailing-arm"]
    length: PositiveLength = Field(description="Pivot to the end that carries the tool")
    depth: PositiveLength = Field(description="Height of the arm's section")
    width: PositiveLength = Field(description="Width of the arm's section")
    bracket_width: PositiveLength = Field(description="Width of the bracket")
    bracket_height: PositiveLength = Field(description="Height of the bracket's plate")
    bracket_thickness: PositiveLength = Field(description="Thickness of the bracket's plate")
    pivot_back: PositiveLength = Field(description="Pivot behind the mounting face")
    pivot_drop: Length = Field(description="Pivot below the middle of the mounting face")
    pin_diameter: PositiveLength = Field(description="Diameter of the pivot pin")
    spring_diameter: PositiveLength = Field(description="Outside diameter of the spring")
    spring_length: PositiveLength = Field(description="Length of the spring")
    down_stop: Angle = Field(description="Lowest angle it can hang to", ge=-90, le=90)
    up_stop: Angle = Field(description="Highest angle it can swing to", ge=-90, le=90)
    work_angle: Angle = Field(description="Angle it is set to at work", ge=-90, le=90)
    spring_rate_n_mm: Number | None = Field(
        default=None, description="Spring rate, N per mm", ge=0, le=10_000
    )
    spring_preload_n: Number | None = Field(
        default=None, description="Force of the spring at the work angle, N", ge=0, le=100_000
    )
    spring_lever: PositiveLength | None = Field(
        default=None, description="Pivot to the line of the spring's force"
    )
    yield_mpa: Number | None = Field(
        default=None, description="Yield strength of its steel, MPa", gt=0, le=3000
    )
    spring_holes: Count = Field(
        default=1,
        description="Holes the spring may hang in; the preload is that of hole 1",
        ge=1,
        le=32,
    )
    spring_hole_pitch: PositiveLength | None = Field(
        default=None, description="How much more each next hole presses the spring together"
    )

    @model_validator(mode="after")
    def _pitch_of_holes(self) -> Self:
        if self.spring_holes > 1 and self.spring_hole_pitch is None:
            raise ValueError("spring_hole_pitch is needed where there is more than one hole")
        return self

    def preload_n(self, hole: int) -> float | None:
        """Force of the spring at the work angle when it hangs in a hole, N; None if not stated."""
        if self.spring_preload_n is None or self.spring_rate_n_mm is None:
            return None
        more = (hole - 1) * (self.spring_hole_pitch or 0.0)
        return self.spring_preload_n + self.spring_rate_n_mm * more


class FlatShank(PartEntry):
    """Flat bar that slides in a holder; straight, or cranked sideways by `crank`."""

    kind: Literal["flat-shank"]
    width: PositiveLength = Field(description="Fore and aft")
    thickness: PositiveLength = Field(description="Across")
    length: PositiveLength = Field(description="Foot to top")
    crank: NonNegativeLength = Field(default=0.0, description="How far the foot is set sideways")
    crank_low: NonNegativeLength = Field(default=0.0, description="Foot to where the crank begins")
    crank_height: NonNegativeLength = Field(default=0.0, description="Height of the crank")
    hole_pitch: PositiveLength | None = Field(
        default=None, description="Hole to hole, if its height is set by holes"
    )
    yield_mpa: Number | None = Field(
        default=None, description="Yield strength of its steel, MPa", gt=0, le=3000
    )

    @property
    def straight_from(self) -> float:
        """Height in mm above the foot where the straight part that may slide begins."""
        return self.crank_low + self.crank_height if self.crank else 0.0


class RoundShank(PartEntry):
    """Tubular shank that slides in a round or square sleeve."""

    kind: Literal["round-shank"]
    diameter: PositiveLength = Field(description="Outside diameter")
    wall: PositiveLength = Field(description="Wall thickness")
    length: PositiveLength = Field(description="Foot to top")
    hole_pitch: PositiveLength | None = Field(
        default=None, description="Hole to hole, if its height is set by holes"
    )
    yield_mpa: Number | None = Field(
        default=None, description="Yield strength of its steel, MPa", gt=0, le=3000
    )


class RetainingClip(PartEntry):
    """Clip on a shank's top that keeps it from falling out of its holder."""

    kind: Literal["retaining-clip"]
    width: PositiveLength = Field(description="Across and fore and aft")
    thickness: PositiveLength = Field(description="Height")
    bolt_diameter: PositiveLength = Field(description="Diameter of its bolt")


class _Hoe(PartEntry):
    width: PositiveLength = Field(description="Width of soil it cuts")
    length: PositiveLength = Field(description="Chord of the blade, fore and aft")
    thickness: PositiveLength = Field(description="Thickness of the steel")
    tang_height: PositiveLength = Field(description="Height of the upright that bolts to the shank")
    tang_thickness: PositiveLength = Field(description="Thickness of that upright")
    tang_length: PositiveLength = Field(description="That upright, fore and aft")
    pitch: Angle = Field(
        default=0.0, description="Point lower than heel by this angle", ge=-45, le=45
    )


class ABlade(_Hoe):
    """A-shaped flat hoe blade, point forward, bolted to one side of its shank."""

    kind: Literal["a-blade"]
    sweep: Angle = Field(
        description="How far each edge is swept back from straight across", ge=0, le=75
    )


class HalfBlade(_Hoe):
    """One wing of an A-blade: cuts from its upright to one side only."""

    kind: Literal["half-blade"]
    sweep: Angle = Field(description="How far the edge is swept back", ge=0, le=75)


class Point(_Hoe):
    """Narrow point that loosens paths and wheel tracks."""

    kind: Literal["point"]


class FingerWheel(PartEntry):
    """Ring of flexible fingers on a plate whose short steel tines the soil drives."""

    kind: Literal["finger-wheel"]
    diameter: PositiveLength = Field(description="Over the fingers")
    finger_length: PositiveLength = Field(description="Free length of a finger")
    finger_thickness: PositiveLength = Field(description="Thickness of the ring of fingers")
    driver_diameter: PositiveLength = Field(description="Over the driver plate and its tines")
    driver_thickness: PositiveLength = Field(description="Thickness of the driver plate")
    tine_length: PositiveLength = Field(description="Steel tines below the fingers")
    hub_diameter: PositiveLength = Field(description="Diameter of the hub")
    hub_height: PositiveLength = Field(description="Height of the hub above the plate")
    stub_diameter: PositiveLength = Field(description="Diameter of the stub it turns on")
    stub_length: PositiveLength = Field(description="Stub between hub and stem")
    finger_material: Literal["rubber", "polyurethane"] = Field(
        default="rubber", description="What the fingers are made of"
    )
    tilt: Angle = Field(
        default=0.0, description="Side towards the row lower by this", ge=-60, le=60
    )
    toe: Angle = Field(
        default=0.0, description="Turns the low side of a tilted wheel forward", ge=-60, le=60
    )


class MeshPart(PartEntry):
    """A part of your own, of any form, from a mesh file.

    The file's origin is the place that bolts to the part above: what bolts to a face that looks
    backwards lies behind it, at x < 0. What it carries starts at the same origin.
    """

    kind: Literal["mesh"]
    file: MeshPath = Field(description="The mesh file; its closed surface is the part")
    unit: MeshUnit | None = Field(
        default=None, description="Unit of the file's numbers; not for STEP, which states its own"
    )
    up: MeshAxis = Field(description=UP_RULE)
    material: Literal["steel", "cast_iron", "rubber", "polyurethane"] = Field(
        description="What it is made of, all through"
    )
    role: Literal["clamp", "tube", "holder", "arm", "shank", "clip", "axle", "blade"] = Field(
        default="holder", description="What it does; a blade is set to the working depth"
    )

    @model_validator(mode="after")
    def _declared(self) -> Self:
        mesh_source(self.file, self.unit, self.up)
        return self

    @property
    def source(self) -> MeshSource:
        """The file and how it is to be read."""
        return mesh_source(self.file, self.unit, self.up)


AnyPart = Annotated[
    SquareTube
    | BarClamp
    | TeeClamp
    | StrutClamp
    | RigidHolder
    | SpringHolder
    | TrailingArm
    | FlatShank
    | RoundShank
    | RetainingClip
    | ABlade
    | HalfBlade
    | Point
    | FingerWheel
    | MeshPart,
    Field(discriminator="kind"),
]

Hoe = ABlade | HalfBlade | Point
Shank = FlatShank | RoundShank
Tool = ABlade | HalfBlade | Point | FingerWheel


class Tyre(Entry):
    """A tyre's outside size, unloaded."""

    summary: str = Field(default="", description="One line for people", max_length=200)
    width: PositiveLength = Field(description="Section width")
    diameter: PositiveLength = Field(description="Overall diameter")
    source: str = Field(default="", description="Where the size was read")


class Node(Entry):
    """One part in a sub-assembly and what it carries.

    `socket` names the place on the part above; left out, the part's usual place is taken.
    """

    name: Ident = Field(description="Name of this part in findings")
    part: Ident = Field(description="Catalogue part")
    socket: Ident | None = Field(default=None, description="Place on the part above")
    along: Length | None = Field(
        default=None, description="On a tube: distance from the middle of the tube, left or forward"
    )
    offset: tuple[Length, Length, Length] = Field(
        default=(0.0, 0.0, 0.0), description="Extra shift x, y, z in the part's own axes"
    )
    turn: tuple[Angle, Angle, Angle] = Field(
        default=(0.0, 0.0, 0.0), description="Extra roll, pitch, yaw"
    )
    length: PositiveLength | None = Field(default=None, description="Cut length of a tube")
    carries: tuple["Node", ...] = Field(default=(), description="Parts fixed to this one")


def walk(node: Node) -> Iterator[Node]:
    """The node and all that it carries, parents first."""
    yield node
    for child in node.carries:
        yield from walk(child)


class RankMount(Entry):
    """How a tool is carried on another rank than the bar's own."""

    clamp: Ident = Field(description="Tee clamp that joins bar and cross tube")
    tube: Ident = Field(description="Cross tube, perforated or plain")


class SubAssembly(Entry):
    """A tool with all that carries it: the unit that a station places."""

    summary: str = Field(default="", description="One line for people", max_length=200)
    mount: Ident = Field(description="Clamp that holds it on the bar")
    rank_mount: RankMount | None = Field(
        default=None, description="What carries it on another rank; none = the bar only"
    )
    tool: Node = Field(description="What the clamp carries")
    place: Literal["pair-gap", "keep-out", "centre"] = Field(
        default="centre",
        description="What is set at a row: the fingers' gap, the edge at the keep-out, the centre",
    )


class CatalogueFile(Entry):
    """One catalogue file."""

    units: Literal["mm", "cm", "m", "in", "ft"] = Field(description="Unit of bare numbers")
    parts: dict[Ident, AnyPart] = Field(default_factory=dict, description="Parts by id")
    assemblies: dict[Ident, SubAssembly] = Field(
        default_factory=dict, description="Sub-assemblies by id"
    )
    tyres: dict[str, Tyre] = Field(default_factory=dict, description="Tyres by designation")
    tractors: dict[Ident, TractorEntry] = Field(
        default_factory=dict, description="Generic tractors by id"
    )
