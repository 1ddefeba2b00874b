"""Checks in 3D, before steel is cut, that a between-row weeding rig fits and clears.

Three calls do the job: `load_scene(path)`, `assemble(scene)`, `check(assembly)`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from rigmodel.assembly.build import assemble
    from rigmodel.clearance.check import check
    from rigmodel.spec.load import load_scene

__version__ = "0.1.0"
__all__ = ["__version__", "assemble", "check", "load_scene"]

_HOMES = {
    "assemble": "rigmodel.assembly.build",
    "check": "rigmodel.clearance.check",
    "load_scene": "rigmodel.spec.load",
}


def __getattr__(name: str) -> Any:
    """Imports a call only when it is first used, so that a room costs nothing until then."""
    if name in _HOMES:
        from importlib import import_module  # noqa: PLC0415

        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
