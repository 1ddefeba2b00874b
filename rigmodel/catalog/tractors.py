"""What a catalogue file says of a tractor: axles, frame, lift, and what else is in the way."""

from typing import Literal, Self

from pydantic import Field, model_validator

from rigmodel.catalog.entry import Entry
from rigmodel.reading.fields import Angle, Ident, Length, PositiveLength
from rigmodel.reading.mesh_path import UP_RULE, MeshPath, MeshSource, mesh_source

MeshUnit = Literal["mm", "cm", "m", "in", "ft"]
MeshAxis = Literal["x", "y", "z"]


class LiftEntry(Entry):
    """How the rig is raised. Heights are of the bar's centre over the ground under the tyres."""

    kind: Literal["parallel", "pivot"] = Field(
        default="parallel", description="Straight up, or about a cross axis"
    )
    lowest: PositiveLength = Field(description="Lowest the bar can go")
    highest: PositiveLength = Field(description="Highest the bar can go")
    pivot_x: Length | None = Field(
        default=None, description="Pivot kind: axis ahead of the bar's centre"
    )
    pivot_z: PositiveLength | None = Field(
        default=None, description="Pivot kind: axis over the ground under the tyres"
    )


class FrameEntry(Entry):
    """The tractor's frame over the rig."""

    clearance: PositiveLength = Field(
        description="Ground under the tyres to the lowest part over the rig"
    )
    width: PositiveLength = Field(description="Across")
    length: PositiveLength = Field(description="Fore and aft")
    height: PositiveLength = Field(
        default=300.0, description="Thickness of the block that stands for it"
    )
    ahead: Length = Field(description="Middle of the block ahead of the rear axle")
    offset: Length = Field(default=0.0, description="Middle of the block left of the centre")


class Obstacle(Entry):
    """A thing on the tractor that the rig must clear: a box, or a body of any form from a file."""

    name: Ident = Field(description="Name in findings")
    at: tuple[Length, Length, Length] = Field(
        description="Middle of the box, or the file's origin: ahead of the rear axle, left of "
        "centre, over the ground under the tyres"
    )
    size: tuple[PositiveLength, PositiveLength, PositiveLength] | None = Field(
        default=None, description="A box: fore and aft, across, up"
    )
    mesh: MeshPath | None = Field(
        default=None, description="A mesh file in place of a size; its closed surface is the body"
    )
    unit: MeshUnit | None = Field(
        default=None, description="Unit of the file's numbers; not for STEP, which states its own"
    )
    up: MeshAxis | None = Field(default=None, description=UP_RULE)
    turn: tuple[Angle, Angle, Angle] = Field(
        default=(0.0, 0.0, 0.0), description="Roll, pitch, yaw about that place"
    )

    @model_validator(mode="after")
    def _one_form(self) -> Self:
        if (self.size is None) == (self.mesh is None):
            raise ValueError("give either size (a box) or mesh (a file)")
        if self.mesh is not None:
            mesh_source(self.mesh, self.unit, self.up)
        elif self.unit is not None or self.up is not None:
            raise ValueError("unit and up belong to mesh, not to size")
        return self

    @property
    def source(self) -> MeshSource | None:
        """The file and how it is to be read; None for a box."""
        return None if self.mesh is None else mesh_source(self.mesh, self.unit, self.up)


class TractorBody(Entry):
    """The whole tractor but its tyres, from a mesh file, in place of the frame's block."""

    mesh: MeshPath = Field(description="The mesh file; its closed surface is the body")
    unit: MeshUnit | None = Field(
        default=None, description="Unit of the file's numbers; not for STEP, which states its own"
    )
    up: MeshAxis = Field(description=UP_RULE)
    at: tuple[Length, Length, Length] = Field(
        default=(0.0, 0.0, 0.0),
        description="The file's origin: ahead of the rear axle, left of centre, over the ground "
        "under the tyres",
    )
    turn: tuple[Angle, Angle, Angle] = Field(
        default=(0.0, 0.0, 0.0), description="Roll, pitch, yaw about that origin"
    )

    @model_validator(mode="after")
    def _declared(self) -> Self:
        mesh_source(self.mesh, self.unit, self.up)
        return self

    @property
    def source(self) -> MeshSource:
        """The file and how it is to be read."""
        return mesh_source(self.mesh, self.unit, self.up)


class AxleEntry(Entry):
    """One axle: the distance between the wheels' middle planes, and the tyre."""

    track: PositiveLength = Field(description="Wheel track, centre to centre")
    tracks: tuple[PositiveLength, ...] = Field(
        default=(), description="The tracks it can be set to; none = any"
    )
    tyre: str = Field(
        default="", description="Tyre size: a catalogue id, or a designation such as 9.5-24"
    )
    tyre_width: PositiveLength | None = Field(
        default=None, description="Section width, if measured"
    )
    tyre_diameter: PositiveLength | None = Field(
        default=None, description="Overall diameter, if measured"
    )


class TractorEntry(Entry):
    """A generic tractor; a scene may override any of it."""

    summary: str = Field(default="", description="One line for people", max_length=200)
    mount: Literal["belly", "rear", "front"] = Field(description="Where the rig hangs")
    wheelbase: PositiveLength = Field(description="Front axle ahead of rear axle")
    front: AxleEntry | None = Field(description="Front axle; null where there is none")
    rear: AxleEntry = Field(description="Rear axle")
    steering_lock: Angle = Field(description="Largest steering angle each way", ge=0, le=80)
    frame: FrameEntry = Field(description="The tractor's frame over the rig")
    body: TractorBody | None = Field(
        default=None, description="The whole body from a mesh file, in place of the frame's block"
    )
    obstacles: tuple[Obstacle, ...] = Field(default=(), description="Other things to clear")
    lift: LiftEntry = Field(description="The lift")
    toolbar_ahead: Length = Field(description="Bar's centre ahead of the rear axle")
