"""Files to take away, made from the same assembly and findings as the page."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from rigmodel.outputs.kinds import OUTPUTS, Output
from rigmodel.outputs.made import Made
from rigmodel.page.checking import Checked

_OFFERED = (
    "report", "sheet", "sheet-html", "drawings", "dxf", "list", "parts", "glb", "stl", "3mf",
)  # fmt: skip


def offered() -> Mapping[str, Output]:
    """What can be taken away, in the order in which it is offered."""
    return MappingProxyType({name: OUTPUTS[name] for name in _OFFERED})


def download(output: Output, checked: Checked) -> bytes:
    """Its bytes."""
    return output.make(Made(checked.assembly, checked.findings))
