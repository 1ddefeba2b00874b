"""Files to take away, made from the same assembly and findings as the page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Findings
from rigmodel.outputs.kinds import OUTPUTS
from rigmodel.outputs.made import Made
from rigmodel.page.parcel import archived

_SINGLE = (
    "report", "sheet", "sheet-html", "drawings", "dxf", "list", "parts", "glb", "stl", "3mf",
)  # fmt: skip
EVERYTHING = "everything"


@dataclass(frozen=True)
class Offer:
    """A file that can be taken away.

    Attributes:
        words: what it is.
        ending: of its name, behind the scene's own.
        media: its media type.
    """

    words: str
    ending: str
    media: str


OFFERED: Mapping[str, Offer] = MappingProxyType(
    {n: Offer(OUTPUTS[n].words, OUTPUTS[n].ending, OUTPUTS[n].media) for n in _SINGLE}
    | {EVERYTHING: Offer("Everything (ZIP)", "-all.zip", "application/zip")}
)
"""What can be taken away, in the order in which it is offered."""


def download(what: str, stem: str, assembly: Assembly, findings: Findings) -> bytes:
    """The bytes of what is offered under a name.

    Args:
        what: that name.
        stem: first part of the names of files within an archive.
        assembly: the rig.
        findings: what was found in it.
    """
    made = Made(assembly, findings)
    if what != EVERYTHING:
        return OUTPUTS[what].make(made)
    return archived({f"{stem}{one.ending}": one.make(made) for one in OUTPUTS.values()})
