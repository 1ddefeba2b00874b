"""What a user may write in a scene file: one tractor, one rig, one field situation.

Positions across the tractor are measured from its centre line, left positive (ISO 8855 y), fore
and aft from the rear axle, forward positive, heights from the soil. Lengths are millimetres once
read.
"""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from rigmodel.catalog.entry import Entry
from rigmodel.catalog.kinds import AnyPart, SubAssembly, Tyre
from rigmodel.catalog.tractors import Obstacle, TractorBody
from rigmodel.reading.fields import (
    Angle,
    Count,
    Ident,
    Length,
    NonNegativeLength,
    Number,
    PositiveLength,
    RelativePath,
)
from rigmodel.spec.limits import Limits, Tolerances
from rigmodel.spec.struts import Strut

MAX_ROWS = 64
MAX_STATIONS = 40
MAX_HANGERS = 12
MAX_STRUTS = 12


class Plants(Entry):
    """The crop as it stands on the day."""

    stem: NonNegativeLength = Field(default=0.0, description="Stem diameter at the soil")
    canopy_width: NonNegativeLength = Field(default=0.0, description="Across the leaves")
    height: NonNegativeLength = Field(default=0.0, description="Height of the plants")
    lowest_leaf: NonNegativeLength = Field(
        default=0.0, description="Height of the lowest leaf over the soil"
    )

    @model_validator(mode="after")
    def _leaf_below_top(self) -> Self:
        if self.lowest_leaf > self.height:
            raise ValueError("the lowest leaf is higher than the plant; lower lowest_leaf")
        return self


class Rows(Entry):
    """Where the crop stands: count and spacing, or each row's own position."""

    count: Count | None = Field(default=None, description="Number of rows", ge=1, le=MAX_ROWS)
    spacing: PositiveLength | None = Field(default=None, description="Row to row")
    positions: Annotated[tuple[Length, ...], Field(min_length=1, max_length=MAX_ROWS)] | None = (
        Field(default=None, description="Each row from the tractor's centre, left positive")
    )
    offset: Length = Field(
        default=0.0, description="Middle of the rows left of the tractor's centre (count form)"
    )
    keep_out: PositiveLength = Field(
        description="Half-width of the band round each row that no steel may enter at work"
    )
    band_height: PositiveLength = Field(
        default=150.0,
        description="Height the band reaches up to, or the plants' height where that is more",
    )
    plants: Plants = Field(default=Plants(), description="The crop on the day")
    drill_rows: Count | None = Field(
        default=None, description="Rows the drill or planter sets in one pass", ge=1, le=MAX_ROWS
    )
    next_pass: PositiveLength | None = Field(
        default=None, description="Middle of this pass to the middle of the next one"
    )

    @model_validator(mode="after")
    def _one_form(self) -> Self:
        if self.positions is not None:
            if self.count is not None or self.spacing is not None or self.offset:
                raise ValueError("give either positions, or count and spacing, not both")
            if len(set(self.positions)) != len(self.positions):
                raise ValueError("two rows have the same position")
        elif self.count is None or (self.spacing is None and self.count > 1):
            raise ValueError("give count and spacing, or positions")
        return self

    @property
    def places(self) -> tuple[float, ...]:
        """Row positions in mm, from left to right."""
        if self.positions is not None:
            return tuple(sorted(self.positions, reverse=True))
        count, spacing = self.count or 1, self.spacing or 0.0
        return tuple(self.offset + ((count - 1) / 2.0 - i) * spacing for i in range(count))


class Soil(Entry):
    """The ground: flat, or one raised bed; height 0 is the flat or the bed's shoulder."""

    shape: Literal["flat", "bed"] = Field(default="flat", description="flat or bed")
    top_width: PositiveLength | None = Field(default=None, description="Width of the bed's top")
    height: PositiveLength | None = Field(default=None, description="Bed's top over the furrow")
    crown: NonNegativeLength = Field(
        default=0.0, description="Middle of the bed's top over its shoulders"
    )
    shoulder: NonNegativeLength | None = Field(
        default=None, description="Width of each sloping side; the bed's height if not given"
    )
    tyres_run: NonNegativeLength = Field(
        default=0.0, description="How much lower than the soil of the rows the tyres run"
    )
    texture: Literal["fine", "medium", "coarse"] | None = Field(
        default=None, description="Soil texture, for the draft of the tools"
    )
    stone_n: Number | None = Field(
        default=None, description="Force of a stone on one tool, N", gt=0, le=100_000
    )

    @model_validator(mode="after")
    def _bed_sizes(self) -> Self:
        given = self.top_width is not None or self.height is not None
        if self.shape == "bed" and (self.top_width is None or self.height is None):
            raise ValueError("a bed needs top_width and height")
        if self.shape == "flat" and (given or self.crown):
            raise ValueError("top_width, height and crown belong to shape: bed")
        return self


class SceneFrame(Entry):
    """Overrides of the tractor's frame."""

    clearance: PositiveLength | None = Field(
        default=None, description="Ground under the tyres to the lowest part over the rig"
    )
    width: PositiveLength | None = Field(default=None, description="Across")
    length: PositiveLength | None = Field(default=None, description="Fore and aft")
    height: PositiveLength | None = Field(default=None, description="Thickness of the block")
    ahead: Length | None = Field(default=None, description="Middle ahead of the rear axle")
    offset: Length | None = Field(default=None, description="Middle left of the centre")


class SceneAxle(Entry):
    """Overrides of one axle."""

    track: PositiveLength | None = Field(default=None, description="Wheel track, centre to centre")
    tracks: tuple[PositiveLength, ...] | None = Field(
        default=None, description="The tracks it can be set to"
    )
    tyre: str | None = Field(
        default=None, description="Tyre size such as 9.5-24 or 280/70R16, or a catalogue id"
    )
    tyre_width: PositiveLength | None = Field(default=None, description="Section width, measured")
    tyre_diameter: PositiveLength | None = Field(
        default=None, description="Overall diameter, measured"
    )
    load_kg: Number | None = Field(
        default=None, description="Load on this axle, kg, tractor alone", gt=0, le=50_000
    )


class SceneLift(Entry):
    """Overrides of the lift. Heights are of the bar's centre over the ground under the tyres."""

    kind: Literal["parallel", "pivot"] | None = Field(default=None, description="parallel or pivot")
    lowest: PositiveLength | None = Field(default=None, description="Lowest the bar can go")
    highest: PositiveLength | None = Field(default=None, description="Highest the bar can go")
    pivot_x: Length | None = Field(default=None, description="Axis ahead of the bar's centre")
    pivot_z: PositiveLength | None = Field(
        default=None, description="Axis over the ground under the tyres"
    )
    capacity_kg: Number | None = Field(
        default=None, description="Mass it raises all the way at the bar, kg", gt=0, le=50_000
    )


class SceneTractor(Entry):
    """The tractor: a generic one from the catalogue, with whatever was measured on the real one."""

    use: Ident = Field(description="Generic tractor to start from (see `rigmodel parts`)")
    mount: Literal["belly", "rear", "front"] | None = Field(
        default=None, description="Where the rig hangs"
    )
    wheelbase: PositiveLength | None = Field(default=None, description="Axle to axle")
    front: SceneAxle = Field(default=SceneAxle(), description="Front axle")
    rear: SceneAxle = Field(default=SceneAxle(), description="Rear axle")
    steering_lock: Angle | None = Field(
        default=None, description="Largest steering angle each way", ge=0, le=80
    )
    speed_kmh: Number | None = Field(default=None, description="Working speed, km/h", gt=0, le=40)
    frame: SceneFrame = Field(default=SceneFrame(), description="Frame over the rig")
    body: TractorBody | None = Field(
        default=None, description="The whole body from a mesh file, in place of the frame's block"
    )
    obstacles: tuple[Obstacle, ...] | None = Field(
        default=None, description="Other things to clear: engine, seat, exhaust"
    )
    lift: SceneLift = Field(default=SceneLift(), description="The lift")


class NoClamp(Entry):
    """A stretch of the bar where nothing may be clamped: a weld, a hanger."""

    low: Length = Field(description="Right end, from the bar's centre, left positive")
    high: Length = Field(description="Left end, from the bar's centre, left positive")
    why: str = Field(default="", description="What is there", max_length=80)
    face: Literal["any", "rear", "front"] = Field(default="any", description="Which face")

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.low >= self.high:
            raise ValueError("low must be less than high (left is positive)")
        return self


class Toolbar(Entry):
    """The square tube that carries the stations."""

    tube: Ident | None = Field(default=None, description="Square tube from the catalogue")
    size: PositiveLength | None = Field(default=None, description="Outside size, if not from there")
    wall: PositiveLength | None = Field(default=None, description="Wall, if not from the catalogue")
    hole_pitch: PositiveLength | None = Field(
        default=None, description="Hole to hole, if perforated; holes run from the bar's centre"
    )
    length: PositiveLength = Field(description="Cut length")
    height: PositiveLength = Field(description="Bar's centre over the soil at work")
    ahead: Length | None = Field(
        default=None, description="Bar's centre ahead of the rear axle; the tractor's if not given"
    )
    offset: Length = Field(default=0.0, description="Bar's centre left of the tractor's centre")
    roll: Angle = Field(
        default=0.0, description="Right end lower by this (ISO 8855 roll)", ge=-20, le=20
    )
    pitch: Angle = Field(
        default=0.0, description="Front lower by this (ISO 8855 pitch)", ge=-20, le=20
    )
    no_clamp: tuple[NoClamp, ...] = Field(default=(), description="Stretches to keep free")
    hangers: Annotated[tuple[Length, ...], Field(min_length=2, max_length=MAX_HANGERS)] | None = (
        Field(default=None, description="Where it hangs, from the bar's centre, left positive")
    )
    struts: Annotated[tuple[Strut, ...], Field(max_length=MAX_STRUTS)] = Field(
        default=(), description="Braces to it from the frame that it hangs on"
    )
    yield_mpa: Number | None = Field(
        default=None, description="Yield strength of its steel, MPa", gt=0, le=2000
    )
    clamp_torque_nm: Number | None = Field(
        default=None, description="Torque its clamps' nuts are tightened to, N m", gt=0, le=5000
    )
    clamp_nut_factor: Number = Field(
        default=0.2, description="K in torque = K x diameter x clamp load", ge=0.05, le=0.5
    )
    clamp_grade: str | None = Field(
        default=None,
        description="Grade of its clamps' U-bolts, such as Grade 5 or 8.8",
        min_length=1,
        max_length=40,
    )
    clamp_friction: Number | None = Field(
        default=None, description="Friction between clamp and bar", gt=0, le=1
    )

    @model_validator(mode="after")
    def _one_section(self) -> Self:
        own = self.size is not None and self.wall is not None
        if (self.tube is None) == (not own) or (
            self.tube is not None and (self.size is not None or self.wall is not None)
        ):
            raise ValueError("give either tube, or size and wall")
        return self

    @model_validator(mode="after")
    def _hangers_on_bar(self) -> Self:
        places = self.hangers or ()
        if len(set(places)) != len(places):
            raise ValueError("two hangers have the same place")
        if any(abs(place) > self.length / 2.0 for place in places):
            raise ValueError("a hanger lies beyond the bar's end")
        if any(abs(strut.at) > self.length / 2.0 for strut in self.struts):
            raise ValueError("a strut holds beyond the bar's end")
        return self


class Station(Entry):
    """Places one sub-assembly wherever it is wanted: at every row, between rows, in the tracks."""

    use: Ident | None = Field(default=None, description="Sub-assembly from the catalogue")
    build: SubAssembly | None = Field(
        default=None, description="A sub-assembly of your own, written here"
    )
    name: Ident | None = Field(default=None, description="Needed where two stations share a place")
    at: Literal["rows", "gaps", "tracks", "outside"] | tuple[Length, ...] = Field(
        description="rows, gaps (between rows), tracks, outside, or distances from the bar's centre"
    )
    only: tuple[Count, ...] = Field(
        default=(), description="Only these of them, counted from the left, from 1"
    )
    sides: Literal["both", "left", "right", "one"] | None = Field(
        default=None,
        description="Both sides of the place, one of them, or once at the place itself",
    )
    hand: (
        Literal["left", "right"]
        | Annotated[tuple[Literal["left", "right"], ...], Field(min_length=1)]
    ) = Field(
        default="left",
        description="Side of its shank that a single tool lies on; a list goes round the places",
    )
    rank: Length | Annotated[tuple[Length, ...], Field(min_length=1)] = Field(
        default=0.0,
        description="Ahead (+) or behind (-) its place on the bar; a list goes round the places",
    )
    face: Literal["rear", "front"] = Field(default="rear", description="Face of the bar")
    depth: NonNegativeLength = Field(description="Working depth")
    pair_gap: Length | None = Field(
        default=None, description="Gap between a pair's fingers at the row; negative = interleaved"
    )
    keep_out: NonNegativeLength | None = Field(
        default=None, description="Edge to row, where it is not the rows' keep_out"
    )
    shift: Length = Field(
        default=0.0, description="Extra sideways shift: away from the place, or left if single"
    )
    draft_n: Number | None = Field(
        default=None, description="Pull on each of its tools, N, if known", ge=0, le=100_000
    )
    side_n: Number | None = Field(
        default=None,
        description="Push of the soil sideways on each of its tools, N, if known: left (+) or "
        "right (-) as for a tool left of its row; the other way on its mirror image",
        ge=-100_000,
        le=100_000,
    )
    spring_hole: Count = Field(
        default=1,
        description="Hole its arm's spring hangs in, counted from the softest",
        ge=1,
        le=32,
    )
    press_n: Number | None = Field(
        default=None,
        description="Least force each of its tools on an arm shall press with at work, N",
        gt=0,
        le=100_000,
    )
    swap: dict[Ident, Ident] = Field(
        default_factory=dict, description="Other parts for named places of the sub-assembly"
    )

    @model_validator(mode="after")
    def _one_source(self) -> Self:
        if (self.use is None) == (self.build is None):
            raise ValueError("give either use or build")
        if isinstance(self.at, tuple) and not self.at:
            raise ValueError("at needs at least one distance")
        return self


class SceneSpec(Entry):
    """A whole scene file."""

    rigmodel: Literal["1", 1] = Field(default="1", description="Version of the scene format")
    name: str = Field(description="Title", min_length=1, max_length=120)
    units: Literal["mm", "cm", "m", "in", "ft"] = Field(
        description="Unit of bare numbers, and of the output"
    )
    notes: str = Field(default="", description="Anything worth remembering", max_length=4000)
    catalogue: tuple[RelativePath, ...] = Field(
        default=(), description="Your own catalogue files, in this scene's folder"
    )
    rows: Rows = Field(description="The crop rows")
    soil: Soil = Field(default=Soil(), description="The ground")
    tractor: SceneTractor = Field(description="The tractor")
    toolbar: Toolbar = Field(description="The bar")
    stations: Annotated[tuple[Station, ...], Field(min_length=1, max_length=MAX_STATIONS)] = Field(
        description="What the bar carries"
    )
    parts: dict[Ident, AnyPart] = Field(
        default_factory=dict, description="Parts of this scene only"
    )
    tyres: dict[str, Tyre] = Field(default_factory=dict, description="Tyres of this scene only")
    limits: Limits = Field(default=Limits(), description="Limits of the checks")
    tolerances: Tolerances = Field(default=Tolerances(), description="What may be off, each way")
