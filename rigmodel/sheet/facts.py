"""What the whole sheet draws on, worked out once: items, marks and fasteners of the rig."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from rigmodel.assembly.rig import Assembly
from rigmodel.catalog.kinds import ABlade, FingerWheel, HalfBlade, Point
from rigmodel.sheet.words import tape
from rigmodel.shop.fasteners import FastenerLine, fastener_list
from rigmodel.shop.items import Item, items
from rigmodel.shop.marks import Mark, StrutMark, marks, strut_marks
from rigmodel.units import Unit


@dataclass(frozen=True, eq=False)
class Facts:
    """What a sheet draws on.

    Attributes:
        assembly: the rig.
        items: every physical item by name.
        marks: every station's clamp from left to right.
        struts: every strut.
        fasteners: every kind of fastener.
        tools: what each tool is, with its size, by the name of its part.
    """

    assembly: Assembly
    items: Mapping[str, Item]
    marks: tuple[Mark, ...]
    struts: tuple[StrutMark, ...]
    fasteners: tuple[FastenerLine, ...]
    tools: Mapping[str, str]

    @property
    def unit(self) -> Unit:
        """Unit of the scene."""
        return self.assembly.scene.unit

    def tape(self, mm: float) -> str:
        """A length as a tape shows it."""
        return tape(mm, self.unit)

    @property
    def u_bolt_nuts(self) -> int:
        """How many nuts hold the U-bolts."""
        bolts = (f for f in self.fasteners if f.what.lower().replace(" ", "-") == "u-bolt")
        return sum(2 * bolt.count for bolt in bolts)

    @property
    def set_bolts(self) -> int:
        """How many set bolts hold shanks."""
        return sum(f.count for f in self.fasteners if f.what.lower() == "set bolt")


def gather(assembly: Assembly) -> Facts:
    """Works out what a sheet draws on."""
    known = {item.name: item for item in items(assembly)}
    tools = {tool.part: tool_words(known[tool.part], assembly) for tool in assembly.tools}
    return Facts(
        assembly,
        MappingProxyType(known),
        marks(assembly),
        strut_marks(assembly),
        fastener_list(assembly),
        MappingProxyType(tools),
    )


def tool_words(item: Item, assembly: Assembly) -> str:
    """What a tool is, with its size."""
    entry, say = item.entry, assembly.scene.say
    if isinstance(entry, FingerWheel):
        return f"finger wheel {say(entry.diameter)}"
    if isinstance(entry, HalfBlade):
        return f"one-sided blade {say(entry.width)}, wing to the {item.hand}"
    if isinstance(entry, ABlade | Point):
        return f"{'point' if isinstance(entry, Point) else 'blade'} {say(entry.width)}"
    return item.part_id  # a tool of the scene's own, from a mesh
