"""Struts on the bar: a clamp with a lug on top of it, and a tube pinned to that and to the frame.

Both move with the bar. What holds the upper pin belongs to the frame that the bar hangs on and is
no part of the rig.
"""

from __future__ import annotations

import numpy as np

from meshes_generic import tube
from meshes_generic.transform import FloatArray, Transform, translation
from rigmodel.assembly.fittings import Mounting, fit
from rigmodel.assembly.model import Part, Role
from rigmodel.assembly.rig import ClampPlace, StrutPlace
from rigmodel.catalog.kinds import SquareTube
from rigmodel.catalog.strut_clamp import StrutClamp
from rigmodel.spec.resolve import Scene
from rigmodel.spec.struts import Strut

_NUT_INSET = 1.5  # a clamp's nuts stand this many bolt diameters inside its edges


def struts(scene: Scene, bar: int) -> tuple[tuple[StrutPlace, ...], tuple[Part, ...]]:
    """Every strut of a scene with its clamp and its tube.

    Args:
        scene: the scene.
        bar: index of the bar's frame.

    Returns:
        Where the struts are, and their parts.
    """
    places: list[StrutPlace] = []
    parts: list[Part] = []
    for index, strut in enumerate(scene.spec.toolbar.struts):
        place, made = _strut(scene, strut, index, bar)
        places.append(place)
        parts += made
    return tuple(places), tuple(parts)


def _strut(scene: Scene, strut: Strut, index: int, bar: int) -> tuple[StrutPlace, tuple[Part, ...]]:
    parts = scene.catalogue.parts
    section, clamp = parts[strut.tube], parts[strut.clamp]
    assert isinstance(section, SquareTube)  # resolve() has checked both
    assert isinstance(clamp, StrutClamp)
    name = f"strut{index + 1}"
    foot = np.array((0.0, strut.at, clamp.pin_over_bar))
    top = np.array((strut.ahead, strut.top, strut.height))
    length = float(np.linalg.norm(top - foot))
    cut = length + 2.0 * clamp.past_pin
    solid = tube.square_tube(section.size, section.wall, cut, section.corner_radius)
    held = fit(clamp, Mounting()).solids[0].solid.moved(translation(0.0, strut.at, 0.0))
    foot_name = f"{name}.clamp"
    spanner = max((f.spanner for f in clamp.fasteners), default=0.0)
    place = StrutPlace(
        name,
        index,
        ClampPlace(
            foot_name, strut.at, clamp.width, spanner, _NUT_INSET * clamp.bolt_diameter, "top"
        ),
        (float(foot[0]), float(foot[1]), float(foot[2])),
        (float(top[0]), float(top[1]), float(top[2])),
        cut,
    )
    bolted = frozenset({"bar", foot_name})
    return place, (
        Part(foot_name, Role.CLAMP, strut.clamp, bar, held, "", frozenset({"bar", name})),
        Part(name, Role.STRUT, strut.tube, bar, solid.moved(between(foot, top)), "", bolted),
    )


def between(foot: FloatArray, top: FloatArray) -> Transform:
    """Lays what lies along y with its middle at the origin between two points, shape (3,) each."""
    along = (top - foot) / np.linalg.norm(top - foot)
    up = np.cross((1.0, 0.0, 0.0), along)  # a strut rises, so it never lies along x
    up = up / np.linalg.norm(up)
    found = np.eye(4)
    found[:3, 0], found[:3, 1], found[:3, 2] = np.cross(along, up), along, up
    found[:3, 3] = (foot + top) / 2.0
    return found
