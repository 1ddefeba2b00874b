"""Which mesh file stands for a body: its path, its unit and the axis that points up in it.

Light on purpose: every scene is read with this module, few of them name a mesh.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Annotated, Any

from pydantic import ValidationInfo

from rigmodel.errors import ReadingError, shown
from rigmodel.reading.fields import PathRule, inside

TRIANGLE_FILES = (".stl", ".obj", ".ply", ".glb")
STEP_FILES = (".step", ".stp")
MESH_EXPECTED = "an STL, OBJ, PLY, GLB or STEP file in this file's own folder, such as cab.stl"

UP_RULE = (
    "The file's axis that points up; the next axis in the order x, y, z, x, y points forward and "
    "the one after it left, so nothing is mirrored"
)


@dataclass(frozen=True)
class MeshSource:
    """A mesh file and how it is to be read.

    Attributes:
        path: where the file lies.
        unit: unit of its numbers, such as ``mm``; empty for a STEP file, which states its own.
        up: its axis that points up: ``x``, ``y`` or ``z``.
    """

    path: str
    unit: str
    up: str


@dataclass(frozen=True)
class MeshPathRule(PathRule):
    """A mesh file; the validation context's ``folder`` is the one it must lie in.

    Read without a folder it stays as written.
    """

    expected: str = MESH_EXPECTED

    def _validate(self, value: object, info: ValidationInfo) -> object:
        text = str(super()._validate(value, info))
        suffix = PurePosixPath(text).suffix
        if suffix.lower() not in TRIANGLE_FILES + STEP_FILES:
            what = f"{shown(suffix)} files cannot be read" if suffix else "its kind is not clear"
            raise ReadingError(text, f"{shown(text)} is no mesh: {what}", MESH_EXPECTED)
        folder = info.context.get("folder") if isinstance(info.context, Mapping) else None
        return text if folder is None else str(inside(Path(folder), text))

    def schema(self) -> dict[str, Any]:
        """JSON schema of the path."""
        return {"type": "string", "description": MESH_EXPECTED, "examples": ["cab.stl"]}


MeshPath = Annotated[str, MeshPathRule()]


def mesh_source(path: str, unit: str | None, up: str | None) -> MeshSource:
    """The source of a mesh whose unit and axis were declared.

    Raises:
        ValueError: something is not declared that must be, or declared twice.
    """
    states_unit = PurePosixPath(path).suffix.lower() in STEP_FILES
    if states_unit and unit is not None:
        raise ValueError("a STEP file states its own unit; leave unit away")
    if unit is None and not states_unit:
        raise ValueError("a mesh file does not state its unit; give unit: mm, cm, m, in or ft")
    if up is None:
        raise ValueError("a mesh file does not state which way is up; give up: x, y or z")
    return MeshSource(path, unit or "", up)
