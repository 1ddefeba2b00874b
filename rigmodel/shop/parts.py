"""The parts list: what to pick from the shelf, counted and weighed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from rigmodel.assembly.model import Role
from rigmodel.assembly.rig import Assembly
from rigmodel.shop.items import Item, items
from rigmodel.shop.prices import Prices
from rigmodel.shop.sizes import Say, size_text

_PICKED = (
    Role.BAR,
    Role.TUBE,
    Role.STRUT,
    Role.CLAMP,
    Role.HOLDER,
    Role.ARM,
    Role.SHANK,
    Role.CLIP,
    Role.BLADE,
    Role.FINGER_WHEEL,
)
GROUPS = {
    Role.BAR: "Toolbar",
    Role.TUBE: "Cross tubes",
    Role.STRUT: "Struts",
    Role.CLAMP: "Clamps",
    Role.HOLDER: "Holders",
    Role.ARM: "Arms",
    Role.SHANK: "Shanks and stems",
    Role.CLIP: "Clips",
    Role.BLADE: "Blades and points",
    Role.FINGER_WHEEL: "Finger wheels",
}
_KINDS = {
    "a-blade": "A-blade",
    "bar-clamp": "Bar clamp",
    "finger-wheel": "Finger wheel",
    "flat-shank": "Flat shank",
    "mesh": "From a mesh file",
    "half-blade": "One-sided blade",
    "retaining-clip": "Retaining clip",
    "rigid-holder": "Rigid holder",
    "round-shank": "Round shank",
    "spring-holder": "Spring holder",
    "square-tube": "Square tube",
    "strut-clamp": "Strut clamp",
    "tee-clamp": "Tee clamp",
    "trailing-arm": "Trailing arm",
}


@dataclass(frozen=True)
class PartLine:
    """One line of the parts list.

    Attributes:
        part_id: catalogue id; ``bar`` for a toolbar whose sizes the scene gives.
        group: heading it stands under.
        what: what it is in words.
        size: its size in the scene's unit.
        count: how many.
        material: what it is made of, the heaviest first.
        mass_kg: mass of one; None where it is not modelled.
        price: price of one, or None.
        names: the parts of the rig it stands for.
    """

    part_id: str
    group: str
    what: str
    size: str
    count: int
    material: str
    mass_kg: float | None
    price: Decimal | None
    names: tuple[str, ...]

    @property
    def total_kg(self) -> float | None:
        """Mass of all of them."""
        return None if self.mass_kg is None else self.mass_kg * self.count

    @property
    def total_price(self) -> Decimal | None:
        """Price of all of them."""
        return None if self.price is None else self.price * self.count


@dataclass(frozen=True)
class PartsList:
    """All lines, in the order a shop picks them.

    Attributes:
        lines: the lines.
        priced: whether prices were given at all.
    """

    lines: tuple[PartLine, ...]
    priced: bool

    @property
    def total_kg(self) -> float:
        """Mass of all that is weighed."""
        return sum(line.total_kg for line in self.lines if line.total_kg is not None)

    @property
    def total_price(self) -> Decimal:
        """Price of all that has a price."""
        return sum((p for line in self.lines if (p := line.total_price) is not None), Decimal(0))

    @property
    def without_price(self) -> tuple[str, ...]:
        """Ids that have no price; the total is complete when there are none."""
        return tuple(dict.fromkeys(line.part_id for line in self.lines if line.price is None))

    @property
    def not_weighed(self) -> tuple[str, ...]:
        """Ids whose mass is not modelled."""
        return tuple(dict.fromkeys(line.part_id for line in self.lines if line.mass_kg is None))


def parts_list(assembly: Assembly, prices: Prices | None = None) -> PartsList:
    """Every item of the rig, equal ones on one line.

    Tubes of different length and blades of different hand stand on lines of their own.

    Args:
        assembly: the rig.
        prices: prices by catalogue id, or None where none are kept.
    """
    groups: dict[tuple[object, ...], list[Item]] = {}
    for item in items(assembly):
        bar = item.role is Role.BAR
        key = (_order(item.role), not bar, item.part_id, round(item.length_mm, 2), item.hand)
        groups.setdefault(key, []).append(item)
    ordered = sorted(groups.items(), key=lambda entry: _sortable(entry[0]))
    return PartsList(
        tuple(_line(assembly, same, prices) for _, same in ordered), prices is not None
    )


def _order(role: Role) -> int:
    return _PICKED.index(role) if role in _PICKED else len(_PICKED)


def _sortable(key: tuple[object, ...]) -> tuple[str, ...]:
    """A key that sorts numbers by value, whatever stands beside them."""
    return tuple(f"{part:012.2f}" if isinstance(part, int | float) else str(part) for part in key)


def _line(assembly: Assembly, same: list[Item], prices: Prices | None) -> PartLine:
    item, scene = same[0], assembly.scene
    price = None if prices is None else prices.get(item.part_id)
    what = item.entry.summary or _KINDS.get(item.entry.kind, item.entry.kind.capitalize())
    if item.role is Role.BAR:
        what = "Toolbar"
    elif item.role is Role.TUBE:
        what = "Cross tube"
    elif item.role is Role.STRUT:
        what = "Strut, slotted and drilled for a pin at each end"
    return PartLine(
        item.part_id,
        GROUPS.get(item.role, "Other"),
        ", ".join(_some((what, item.hand))),
        size_text(item.entry, scene.say, item.length_mm) or overall_text(item, scene.say),
        len(same),
        " and ".join(m.value.replace("_", " ") for m in item.materials),
        item.mass_kg,
        None if price is None else price.of(item.length_mm),
        tuple(one.name for one in same),
    )


def overall_text(item: Item, say: Say) -> str:
    """The outer sizes of a part from a mesh file."""
    sizes = " × ".join(say(mm) for mm in item.overall_mm)
    return f"{sizes} over all" if sizes else ""


def _some(words: Iterable[str]) -> Iterable[str]:
    return (word for word in words if word)
