"""One sub-assembly as a small left-handed mechanism on a level bar, before it has a place.

Axes: x forward, y left, z up, mm; origin on the bar's axis at the clamp's middle.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from meshes_generic.solid import Solid
from meshes_generic.surface import ClosedSurface
from meshes_generic.transform import Transform, identity, rotation_y, rotation_z, translation
from meshes_generic.transform import roll_pitch_yaw as turned
from rigmodel.assembly.fittings import (
    Fitting,
    Hinge,
    Mounting,
    Slide,
    fit,
    mesh_fitting,
    mounting_under,
)
from rigmodel.assembly.model import Role
from rigmodel.catalog.kinds import (
    ABlade,
    AnyPart,
    BarClamp,
    FingerWheel,
    HalfBlade,
    MeshPart,
    Node,
    Point,
    SquareTube,
    SubAssembly,
    TeeClamp,
    walk,
)
from rigmodel.errors import RigmodelError
from rigmodel.reading.mesh_path import MeshSource


class PartError(RigmodelError):
    """A part whose dimensions make no solid."""


@dataclass(frozen=True, eq=False)
class Link:
    """A place in the template: fixed to its parent, turning about a hinge, or sliding in a slot."""

    name: str
    parent: int
    placement: Transform
    hinge: Hinge | None = None
    slide: Slide | None = None


@dataclass(frozen=True, eq=False)
class TemplatePart:
    """One part of the template in its link's axes."""

    name: str
    role: Role
    item: str
    link: int
    solid: Solid
    above: str


@dataclass(frozen=True, eq=False)
class Template:
    """Links (parents first) and parts; `mount` is the part that sits on the bar.

    Attributes:
        links: the links.
        parts: the parts.
        mount: name of the part that sits on the bar.
        mount_width: length of bar it covers, mm.
        rank_wanted: rank that was asked for, mm.
        rank: rank that holes allow, mm.
        rank_step: pitch of those holes, or 0.
    """

    links: tuple[Link, ...]
    parts: tuple[TemplatePart, ...]
    mount: str
    mount_width: float
    rank_wanted: float = 0.0
    rank: float = 0.0
    rank_step: float = 0.0

    def poses(self, slides: Mapping[str, float], angles: Mapping[str, float]) -> list[Transform]:
        """Transforms of all links for given slides (mm) and hinge angles (degrees), by link name.

        A slide not named stands in the middle of its range, a hinge at its own value.
        """
        found: list[Transform] = []
        for link in self.links:
            place = link.placement
            if link.parent >= 0:
                place = found[link.parent] @ place
            if link.hinge is not None:
                place = place @ rotation_y(angles.get(link.name, link.hinge.value))
            if link.slide is not None:
                middle = (link.slide.low + link.slide.high) / 2.0
                place = place @ translation(0.0, 0.0, -slides.get(link.name, middle))
            found.append(place)
        return found

    def chain(self, link: int) -> list[Link]:
        """Links from `link` up to the bar."""
        found = []
        while link >= 0:
            found.append(self.links[link])
            link = self.links[link].parent
        return found

    @property
    def tools(self) -> tuple[TemplatePart, ...]:
        """The parts that work the soil."""
        return tuple(p for p in self.parts if p.role in (Role.BLADE, Role.FINGER_WHEEL))


@dataclass
class _Builder:
    catalogue: Mapping[str, AnyPart]
    bodies: Mapping[MeshSource, ClosedSurface]
    end_mm: float
    links: list[Link] = field(default_factory=list)
    parts: list[TemplatePart] = field(default_factory=list)

    def place(self, node: Node, link: int, socket: Transform, above: str, on: Mounting) -> None:
        """Adds a node and all that it carries."""
        entry = self.catalogue[node.part]
        if isinstance(entry, SquareTube) and node.length is not None:
            on = Mounting(on.reversed, length_mm=node.length)
        try:
            if isinstance(entry, MeshPart):
                fitting = mesh_fitting(entry, self.bodies[entry.source])
            else:
                fitting = fit(entry, on)
        except ValueError as error:
            raise PartError(f"part '{node.part}' cannot be built: {error} (mm)") from None
        at = socket @ translation(*node.offset) @ turned(*node.turn)
        inner, inner_place = self._links(node.name, link, at, fitting)
        for fitted in fitting.solids:
            moves = fitted.moves or fitting.slide is not None
            target, place = (inner, identity()) if moves else (link, at)
            self.parts.append(
                TemplatePart(
                    node.name + fitted.suffix,
                    fitted.role,
                    node.part,
                    target,
                    fitted.solid.moved(place),
                    node.name + fitted.on if fitted.on else above,
                )
            )
        under = mounting_under(entry, on, self.end_mm)
        for child in node.carries:
            named = child.socket or fitting.usual
            where = inner_place @ fitting.sockets.get(named, identity())
            if child.along is not None:
                where = inner_place @ _round_tube(child.along)
            below = node.name + ("_axle" if isinstance(entry, FingerWheel) else "")
            self.place(child, inner, where, below, under)

    def _links(
        self, name: str, link: int, at: Transform, fitting: Fitting
    ) -> tuple[int, Transform]:
        """The link that carries what is below, and the place of the part's own axes on it."""
        if fitting.hinge is not None:
            self.links.append(Link(name, link, at @ fitting.hinge.placement, fitting.hinge))
        elif fitting.slide is not None:
            self.links.append(Link(name, link, at, slide=fitting.slide))
        else:
            return link, at
        return len(self.links) - 1, identity()


def _round_tube(along: float) -> Transform:
    """Place of a clamp round a tube: the clamp's y lies along the tube's own x."""
    return translation(along, 0.0, 0.0) @ rotation_z(-90.0)


def _hole_rank(wanted: float, face: float, tube: SquareTube) -> float:
    """The rank nearest to `wanted` at which a pin through the bar's middle finds a hole."""
    if tube.hole_pitch is None:
        return wanted
    end = abs(wanted - face) if wanted <= 0 else abs(wanted + face)
    steps = max(0, round((end - tube.hole_start) / tube.hole_pitch))
    reach = tube.hole_start + steps * tube.hole_pitch
    return face - reach if wanted <= 0 else reach - face


def _tool_name(unit: SubAssembly, catalogue: Mapping[str, AnyPart]) -> str:
    """Name of the first tool of a sub-assembly; what carries it is named after it."""
    tools = (ABlade, HalfBlade, Point, FingerWheel)
    named = (node.name for node in walk(unit.tool) if isinstance(catalogue[node.part], tools))
    return next(named, unit.tool.name)


def build_template(
    unit: SubAssembly,
    catalogue: Mapping[str, AnyPart],
    bodies: Mapping[MeshSource, ClosedSurface],
    bar_size: float,
    rank: float,
    front_face: bool,
    end_mm: float,
) -> Template:
    """Puts a sub-assembly together on a bar.

    Args:
        unit: the sub-assembly.
        catalogue: parts by id.
        bodies: bodies of the parts that are meshes, by file.
        bar_size: outside size of the bar, mm.
        rank: wanted place ahead (+) or behind (-) of the bar's own, mm; 0 clamps on the bar.
        front_face: the clamp's plate is on the bar's front face.
        end_mm: least length of shank that must show above and below its holder, mm.
    """
    builder = _Builder(catalogue, bodies, end_mm)
    builder.links.append(Link("", -1, identity()))
    tool = _tool_name(unit, catalogue)
    clamp = catalogue[unit.mount]
    if isinstance(clamp, TeeClamp):
        mount = Node(name=f"{tool}_clamp", part=unit.mount, carries=(unit.tool,))
        builder.place(mount, 0, identity(), "bar", Mounting())
        return Template(tuple(builder.links), tuple(builder.parts), mount.name, clamp.plate_width)
    assert isinstance(clamp, BarClamp)  # resolve() has checked it
    face = bar_size / 2.0 + clamp.plate_thickness
    if rank == 0.0 or unit.rank_mount is None:
        mount = Node(name=f"{tool}_clamp", part=unit.mount, carries=(unit.tool,))
        builder.place(mount, 0, identity(), "bar", Mounting(reversed=front_face))
        return Template(tuple(builder.links), tuple(builder.parts), mount.name, clamp.width)
    tee, tube = catalogue[unit.rank_mount.clamp], catalogue[unit.rank_mount.tube]
    assert isinstance(tee, TeeClamp)  # resolve() has checked both
    assert isinstance(tube, SquareTube)
    got = _hole_rank(rank, face, tube)
    end = got - face if rank < 0 else got + face  # x of the tube's end that carries the tool
    spare = tee.plate_width / 2.0 + max(tube.hole_start, bar_size / 2.0)
    low, high = (end, spare) if rank < 0 else (-spare, end)
    cross = Node(
        name=f"{tool}_tube",
        part=unit.rank_mount.tube,
        length=high - low,
        offset=((low + high) / 2.0, 0.0, 0.0),
        carries=(unit.tool.model_copy(update={"socket": "rear" if rank < 0 else "front"}),),
    )
    mount = Node(name=f"{tool}_clamp", part=unit.rank_mount.clamp, carries=(cross,))
    builder.place(mount, 0, identity(), "bar", Mounting(reversed=rank > 0))
    return Template(
        tuple(builder.links),
        tuple(builder.parts),
        mount.name,
        tee.plate_width,
        rank,
        got,
        tube.hole_pitch or 0.0,
    )
