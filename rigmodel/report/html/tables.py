"""What the fitter reads off: marks on the bar, settings, and the parts."""

from __future__ import annotations

from collections.abc import Iterable

from rigmodel.assembly.model import Adjustment, Part
from rigmodel.assembly.rig import Assembly
from rigmodel.report.html.markup import Html, breakable, joined, table
from rigmodel.report.html.verdicts import amount
from rigmodel.sides import side

_SAME = 0.05  # mm or degrees: as near as a setting can be read
_KINDS = {
    "slide": "shank, holder to foot",
    "place": "clamp on the bar, left of its centre",
    "rank": "behind the bar",
    "angle": "angle",
}


def marks_table(assembly: Assembly) -> Html:
    """Where every clamp goes, from left to right along the bar."""
    say = assembly.scene.say
    half = assembly.scene.spec.toolbar.length / 2.0
    owner = {name: s.name for s in assembly.stations for name in s.parts}
    rows = [
        (
            owner.get(clamp.part, clamp.part),
            side(clamp.centre_mm, assembly.scene.unit),
            say(half - clamp.centre_mm),
            say(clamp.width_mm),
            clamp.face,
            breakable(clamp.part),
        )
        for clamp in sorted(assembly.on_bar, key=lambda c: -c.centre_mm)
    ]
    heads = ("Station", "From the bar's centre", "From the left end", "Takes up", "Face", "Clamp")
    return table("Marks on the bar, to the middle of each clamp", heads, rows, (1, 2, 3))


def adjustments_table(assembly: Assembly) -> Html:
    """Every setting that is made once with a spanner; places on the bar are the marks."""
    rows = [
        (
            breakable(one.name),
            _KINDS.get(one.kind, one.kind),
            _told(assembly, one, one.value),
            _told(assembly, one, one.wanted) if abs(one.wanted - one.value) > _SAME else "as set",
            _range(assembly, one),
            amount(one.step, one.unit, assembly.scene.unit) if one.step > 0.0 else "free",
            "yes" if one.in_range else "no",
        )
        for one in assembly.adjustments
        if one.kind != "place"
    ]
    heads = ("Setting", "What", "Set to", "Wanted", "Range", "Holes every", "In range")
    return table(
        "Set once with a spanner; the places of the clamps are the marks above",
        heads,
        rows,
        (2, 3, 4, 5),
    )


def _told(assembly: Assembly, one: Adjustment, value: float) -> str:
    shown = -value if one.kind == "rank" else value
    return amount(shown, one.unit, assembly.scene.unit)


def _range(assembly: Assembly, one: Adjustment) -> str:
    if one.kind == "rank":  # a cross tube is cut to suit
        return "–"
    return f"{_told(assembly, one, one.low)} to {_told(assembly, one, one.high)}"


def parts_table(assembly: Assembly) -> Html:
    """Catalogue parts of the rig with how many of each."""
    groups: dict[str, list[Part]] = {}
    for part in assembly.rig_parts():
        groups.setdefault(part.item, []).append(part)
    catalogue = assembly.scene.catalogue.parts
    rows = [
        (
            item or "own size",
            str(len(_whole(parts))),
            catalogue[item].summary if item in catalogue else "set in the scene",
            _names(_whole(parts)),
        )
        for item, parts in groups.items()
    ]
    return table(
        "What the rig is made of, by catalogue id",
        ("Part", "How many", "What", "Where"),
        rows,
        (1,),
    )


def _names(parts: Iterable[Part]) -> Html:
    names = [breakable(part.name) for part in parts]
    return joined([", " if i % 2 else names[i // 2] for i in range(2 * len(names) - 1)])


def _whole(parts: Iterable[Part]) -> list[Part]:
    """One of the bodies of each part: a bracket or axle goes with the part it belongs to."""
    listed = list(parts)
    return [
        part
        for part in listed
        if not any(
            other.station == part.station and part.name.startswith(f"{other.name}_")
            for other in listed
        )
    ]
