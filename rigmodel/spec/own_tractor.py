"""The scene's tractor: the catalogue's generic one with the scene's own measures."""

from __future__ import annotations

from typing import TypeVar

from pydantic import BaseModel

from rigmodel.catalog.store import Catalogue
from rigmodel.catalog.tractors import AxleEntry, TractorEntry
from rigmodel.spec.problem import Problem, unknown
from rigmodel.spec.scene import SceneAxle, SceneSpec

_Model = TypeVar("_Model", bound=BaseModel)


def _overridden(base: _Model, over: BaseModel) -> _Model:
    given = {
        name: value
        for name in over.model_fields_set
        if name in type(base).model_fields and (value := getattr(over, name)) is not None
    }
    return base.model_copy(update=given) if given else base


def resolve_tractor(spec: SceneSpec, catalogue: Catalogue) -> TractorEntry | Problem:
    """The scene's tractor: the catalogue's generic one with the scene's own measures."""
    wanted = spec.tractor
    base = catalogue.tractors.get(wanted.use)
    if base is None:
        return unknown(("tractor", "use"), wanted.use, "tractor", catalogue.tractors)
    update: dict[str, object] = {
        "frame": _overridden(base.frame, wanted.frame),
        "lift": _overridden(base.lift, wanted.lift),
        "rear": _axle(base.rear, wanted.rear),
        "front": base.front if base.front is None else _axle(base.front, wanted.front),
    }
    for name in ("mount", "wheelbase", "steering_lock", "body", "obstacles"):
        if getattr(wanted, name) is not None:
            update[name] = getattr(wanted, name)
    if spec.toolbar.ahead is not None:
        update["toolbar_ahead"] = spec.toolbar.ahead
    return base.model_copy(update=update)


def _axle(base: AxleEntry, over: SceneAxle) -> AxleEntry:
    merged = _overridden(base, over)
    if over.tyre is not None:  # another tyre: the old one's measures no longer hold
        merged = merged.model_copy(
            update={"tyre_width": over.tyre_width, "tyre_diameter": over.tyre_diameter}
        )
    if over.track is not None and over.tracks is None and over.track not in base.tracks:
        return merged  # checked against the list by the caller
    return merged
