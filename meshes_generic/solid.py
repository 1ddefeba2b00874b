"""Solids as unions of placed pieces.

A piece is a shape somewhere; a solid is one or more of them that move as one body. What
is hollow in life is filled here where no other part can get in: that only ever makes a
clearance smaller, so it errs to the safe side. Its true mass is then stated beside the shape.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from meshes_generic.mass import NO_MASS, MassProperties, combine
from meshes_generic.material import Material, density_kg_m3, is_flexible
from meshes_generic.mesh import Mesh, merge
from meshes_generic.shapes import ClosedSurface, Shape
from meshes_generic.transform import FloatArray, Transform, apply, frozen, mirror_y


@dataclass(frozen=True, eq=False)
class Piece:
    """One shape in its place, convex unless it is a `ClosedSurface`.

    Attributes:
        shape: the shape in its own axes.
        placement: (4, 4) placement of those axes in the solid's.
        material: what it is made of.
        label: what a report calls it; may be empty.
        own_mass: mass properties in the shape's own axes where they are known in closed form or
            the shape is filled in for safety; None fills the shape with the material.
    """

    shape: Shape
    placement: Transform
    material: Material
    label: str = ""
    own_mass: MassProperties | None = None

    def __post_init__(self) -> None:
        """Take the placement over as a read-only value."""
        object.__setattr__(self, "placement", frozen(self.placement))

    @cached_property
    def _rows(self) -> tuple[tuple[float, ...], ...]:
        return tuple(map(tuple, self.placement.tolist()))

    def convex_pieces(self) -> tuple[Piece, ...]:
        """The piece itself, or every triangle of its surface where it need not be convex."""
        if not isinstance(self.shape, ClosedSurface):
            return (self,)
        return tuple(
            Piece(triangle, self.placement, self.material, self.label)
            for triangle in self.shape.pieces
        )

    def moved(self, placement: Transform) -> Piece:
        """The piece carried by a rigid placement (4, 4)."""
        carried = placement @ self.placement
        carried.setflags(write=False)
        return Piece(self.shape, carried, self.material, self.label, self.own_mass)

    def mirrored_y(self) -> Piece:
        """The piece's mirror image in the plane y = 0."""
        return Piece(
            self.shape.mirrored_y(),
            mirror_y(self.placement),
            self.material,
            self.label,
            None if self.own_mass is None else self.own_mass.mirrored_y(),
        )

    def reach(self, x: float, y: float, z: float) -> float:
        """Support value in the one direction (x, y, z); plain floats, for light loops."""
        (a, b, c, u), (d, e, f, v), (g, h, i, w), _ = self._rows
        along = self.shape.reach(
            a * x + d * y + g * z, b * x + e * y + h * z, c * x + f * y + i * z
        )
        return along + x * u + y * v + z * w

    def support(self, directions: FloatArray) -> FloatArray:
        """Support values, shape (n,), in directions of shape (n, 3)."""
        local = directions @ self.placement[:3, :3]
        return self.shape.support(local) + directions @ self.placement[:3, 3]

    def support_points(self, directions: FloatArray) -> FloatArray:
        """A farthest point in each direction, shape (n, 3), mm."""
        local = directions @ self.placement[:3, :3]
        return apply(self.placement, self.shape.support_points(local))

    def mass_properties(self) -> MassProperties:
        """Mass, centroid and inertia in the solid's axes."""
        own = self.own_mass
        if own is None:
            density = density_kg_m3(self.material)
            own = self.shape.mass_properties(density) if density > 0.0 else NO_MASS
        return own.moved(self.placement)

    def mesh(self, sides: int = 48) -> Mesh:
        """A closed mesh in the solid's axes."""
        return self.shape.mesh(sides).moved(self.placement)


@dataclass(frozen=True, eq=False)
class Solid:
    """One rigid body made of pieces.

    Attributes:
        pieces: at least one piece; pieces may touch but should not share volume.
        mass: mass properties of the whole where it was weighed or is known in closed form;
            None sums up the pieces.
    """

    pieces: tuple[Piece, ...]
    mass: MassProperties | None = None

    def __post_init__(self) -> None:
        """Refuse a body without pieces."""
        if not self.pieces:
            raise ValueError("a solid needs at least one piece")

    def moved(self, placement: Transform) -> Solid:
        """The body carried by a rigid placement (4, 4)."""
        mass = None if self.mass is None else self.mass.moved(placement)
        return Solid(tuple([piece.moved(placement) for piece in self.pieces]), mass)

    def mirrored_y(self) -> Solid:
        """The body's mirror image in the plane y = 0: a right hand part from a left hand one."""
        mass = None if self.mass is None else self.mass.mirrored_y()
        return Solid(tuple(piece.mirrored_y() for piece in self.pieces), mass)

    def joined(self, *others: Solid) -> Solid:
        """This body and others as one rigid body."""
        bodies = (self, *others)
        pieces = tuple(piece for body in bodies for piece in body.pieces)
        if all(body.mass is None for body in bodies):
            return Solid(pieces)
        return Solid(pieces, combine(body.mass_properties() for body in bodies))

    def support(self, directions: FloatArray) -> FloatArray:
        """Support values, shape (n,), in directions of shape (n, 3): the greatest n·p."""
        values = self.pieces[0].support(directions)
        for piece in self.pieces[1:]:
            np.maximum(values, piece.support(directions), out=values)
        return values

    def extent(self, direction: FloatArray | tuple[float, float, float]) -> tuple[float, float]:
        """Least and greatest n·p over the body for one direction n, shape (3,).

        For a unit direction these are mm along it.
        """
        x, y, z = float(direction[0]), float(direction[1]), float(direction[2])
        high = max([piece.reach(x, y, z) for piece in self.pieces])
        low = max([piece.reach(-x, -y, -z) for piece in self.pieces])
        return 0.0 - low, high

    def bounds(self) -> FloatArray:
        """Least and greatest x, y, z as two rows, shape (2, 3), mm."""
        axes = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
        return np.array([self.extent(axis) for axis in axes]).T

    def mass_properties(self) -> MassProperties:
        """Mass, centroid and inertia of the whole body."""
        return self._whole

    @cached_property
    def _whole(self) -> MassProperties:
        return self.mass or combine(piece.mass_properties() for piece in self.pieces)

    @property
    def volume_mm3(self) -> float:
        """Room the pieces take up, mm3; hollow parts count as filled."""
        return sum(piece.shape.volume_mm3 for piece in self.pieces)

    def mesh(self, sides: int = 48) -> Mesh:
        """The pieces' closed meshes side by side; `sides` is a multiple of 4."""
        return merge(piece.mesh(sides) for piece in self.pieces)

    def of(self, *materials: Material) -> Solid | None:
        """Only the pieces of those materials, or None if there are none.

        A stated mass of the whole cannot be shared out, so a part of the pieces weighs what
        they do by themselves.
        """
        return self._only(tuple(piece for piece in self.pieces if piece.material in materials))

    def without_flexible(self) -> Solid | None:
        """Only the pieces that do not bend aside, or None if there are none."""
        return self._only(tuple(p for p in self.pieces if not is_flexible(p.material)))

    def _only(self, kept: tuple[Piece, ...]) -> Solid | None:
        if len(kept) == len(self.pieces):
            return self
        return Solid(kept) if kept else None
