"""Finger wheels: a ring of flexible fingers driven by short steel tines in the soil."""

from __future__ import annotations

from meshes_generic.building import rod
from meshes_generic.mass import MassProperties, combine
from meshes_generic.material import Material, density_kg_m3
from meshes_generic.shapes import Cylinder, Frustum, RoundedDisc, require_positive
from meshes_generic.solid import Piece, Solid
from meshes_generic.transform import identity, translation


def hub_top(finger_thickness: float, driver_thickness: float, hub_height: float) -> float:
    """Height of a wheel's hub top above the mid plane of its finger ring, mm."""
    return finger_thickness / 2 + driver_thickness + hub_height


def finger_wheel(
    diameter: float,
    finger_length: float,
    finger_thickness: float,
    driver_diameter: float,
    driver_thickness: float,
    tine_length: float,
    hub_diameter: float,
    hub_height: float,
    material: Material = Material.RUBBER,
) -> Solid:
    """The turning part of a finger wheel, as a solid of revolution about z.

    Datum: the centre of the finger ring at its mid plane. From the top down: hub, driver plate,
    finger ring, steel tines. What turns is drawn as the full body it sweeps, so a clearance holds
    wherever the wheel stands in its turn.

    Args:
        diameter: over the fingers, mm.
        finger_length: free length of a finger, mm. The ring is drawn as a full disc; it weighs as
            an annulus of this width.
        finger_thickness: mm.
        driver_diameter: of the steel driver plate and over the tips of the tines, mm.
        driver_thickness: mm.
        tine_length: how far the tines reach below the finger ring, mm. They point down and
            outwards, and weigh as a cone of sheet as thick as the driver plate.
        hub_diameter: mm.
        hub_height: of the hub above the driver plate, mm.
        material: of the fingers.

    Raises:
        ValueError: where a size is not above 0, or the fingers are as long as the wheel's radius
            or shorter than half their thickness.
    """
    sizes = (("driver_thickness", driver_thickness), ("driver_diameter", driver_diameter))
    for name, value in (*sizes, ("tine_length", tine_length), ("hub_height", hub_height)):
        require_positive(name, value)
    face = finger_thickness / 2
    plate_top = face + driver_thickness
    top = hub_top(finger_thickness, driver_thickness, hub_height)
    return Solid(
        (
            _finger_ring(diameter, finger_length, finger_thickness, material),
            rod((0.0, 0.0, face), (0.0, 0.0, plate_top), driver_diameter, "driver plate"),
            _tine_ring(driver_diameter / 2, tine_length, driver_thickness, -face),
            rod((0.0, 0.0, plate_top), (0.0, 0.0, top), hub_diameter, "hub"),
        )
    )


def _finger_ring(
    diameter: float, finger_length: float, thickness: float, material: Material
) -> Piece:
    """The fingers as a full disc that weighs as an annulus."""
    shape = RoundedDisc(diameter / 2, thickness)
    inner = diameter / 2 - finger_length
    if not (inner > 0.0 and finger_length >= thickness / 2):
        raise ValueError(
            f"finger_length must be from {thickness / 2:g} to below {diameter / 2:g}, "
            f"not {finger_length!r}"
        )
    density = density_kg_m3(material)
    hole = Cylinder(inner, thickness).mass_properties(-density)
    mass = combine((shape.mass_properties(density), hole)) if density > 0.0 else None
    return Piece(shape, identity(), material, "fingers", mass)


def _tine_ring(radius: float, length: float, sheet: float, top: float) -> Piece:
    """The steel tines as a full cone below z = top that weighs as a sheet."""
    # At most 45 degrees outwards, and never from inside half the driver's radius.
    root = max(radius - length, radius / 2)
    shape = Frustum(radius, root, length)
    mass: MassProperties | None = None
    if root > sheet:
        density = density_kg_m3(Material.STEEL)
        inside = Frustum(radius - sheet, root - sheet, length).mass_properties(-density)
        mass = combine((shape.mass_properties(density), inside))
    place = translation(0.0, 0.0, top - length / 2)
    return Piece(shape, place, Material.STEEL, "tines", mass)


def axle(diameter: float, length: float) -> Solid:
    """The part of a finger wheel that does not turn: the upright stub its hub runs on.

    Datum: the stub's top, which is what is mounted; it reaches down to z = -length, onto the
    hub's top (see `hub_top`).

    Args:
        diameter: mm.
        length: mm.

    Raises:
        ValueError: where a size is not above 0.
    """
    require_positive("length", length)
    return Solid((rod((0.0, 0.0, -length), (0.0, 0.0, 0.0), diameter, "axle stub"),))
