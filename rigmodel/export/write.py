"""`export_model`: an assembly as a 3D file that other programs read."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from enum import StrEnum
from pathlib import Path
from types import MappingProxyType

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Findings
from rigmodel.export.glb import glb_bytes
from rigmodel.export.stl import stl_bytes
from rigmodel.export.threemf import threemf_bytes
from rigmodel.files import check_target, write_whole


class ExportFormat(StrEnum):
    """A kind of file; the value is also the ending of its name.

    GLB is in metres with y up and keeps the tree of frames; STL and 3MF are in millimetres with
    z up and hold the rig as it stands at work.
    """

    GLB = "glb"
    STL = "stl"
    THREE_MF = "3mf"


_Writer = Callable[[Assembly, Findings | None], bytes]
_WRITERS: Mapping[ExportFormat, _Writer] = MappingProxyType(
    {
        ExportFormat.GLB: glb_bytes,
        ExportFormat.STL: lambda assembly, _: stl_bytes(assembly),
        ExportFormat.THREE_MF: lambda assembly, _: threemf_bytes(assembly),
    }
)


def model_bytes(assembly: Assembly, findings: Findings | None, kind: ExportFormat) -> bytes:
    """An assembly as the bytes of a 3D file; equal assemblies give equal bytes.

    Args:
        assembly: what `assemble` returned.
        findings: what to mark (in a GLB only), or None for the parts alone.
        kind: the file's format.
    """
    return _WRITERS[kind](assembly, findings)


def export_model(
    assembly: Assembly,
    findings: Findings | None,
    kind: ExportFormat,
    target: Path,
    replace: bool = False,
) -> None:
    """Writes an assembly as a 3D file, whole or not at all.

    Args:
        assembly: what `assemble` returned.
        findings: what to mark (in a GLB only), or None for the parts alone.
        kind: the file's format.
        target: the file.
        replace: whether a file that is there may be written over.

    Raises:
        FileError: the target is there and may not be replaced, or cannot be written.
    """
    check_target(target, replace)
    write_whole(target, model_bytes(assembly, findings, kind), replace)
