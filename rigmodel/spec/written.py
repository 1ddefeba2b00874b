"""Where what a scene says is written, in words: its name, then file and line of scene or catalogue.

Without a file, as of a scene that a study made, only the name is told.
"""

from __future__ import annotations

from rigmodel.reading.faults import path_text
from rigmodel.reading.written import written_at
from rigmodel.spec.resolve import Scene


def in_scene(scene: Scene, *loc: str | int) -> str:
    """A value of the scene: ``tractor.speed_kmh, rig.yaml:12``, or ``limits.lift, default``.

    List items count from 0 in `loc`.
    """
    name = path_text(loc)
    if scene.source is None:
        return name
    return f"{name}, {written_at(scene.source, loc) or 'default'}"


def in_part(scene: Scene, item: str, *loc: str) -> str:
    """A part, or a value in its entry: ``parts.my-shank, rig.yaml:50``, or that of a catalogue.

    Args:
        scene: the scene.
        item: id of the part.
        loc: place in its entry.
    """
    if item in scene.spec.parts:
        return in_scene(scene, "parts", item, *loc)
    return _catalogued(scene, "parts", item, *loc)


def in_tractor(scene: Scene, *loc: str) -> str:
    """A measure of the tractor: the scene's own, else that of the generic one it uses."""
    if scene.source is not None and written_at(scene.source, ("tractor", *loc)):
        return in_scene(scene, "tractor", *loc)
    return _catalogued(scene, "tractors", scene.spec.tractor.use, *loc)


def _catalogued(scene: Scene, kind: str, item: str, *loc: str) -> str:
    name = path_text((item, *loc))
    place = scene.catalogue.written_at(kind, item, *loc)
    if place:
        return f"catalogue: {name}, {place}"
    default = ", default" if loc and scene.catalogue.written_at(kind, item) else ""
    return f"catalogue: {name}{default}"
