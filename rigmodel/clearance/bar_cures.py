"""What cures a bar that sags or is stressed too much: its tube, its hangers, its struts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise

from rigmodel.assembly.rig import Assembly, StrutPlace
from rigmodel.catalog.kinds import AnyPart, BarClamp, SquareTube, TeeClamp
from rigmodel.catalog.strut_clamp import StrutClamp
from rigmodel.clearance.finding import Change, Choice, Knob
from rigmodel.spec.resolve import PlannedStation, Scene
from rigmodel.spec.scene import MAX_HANGERS, MAX_STRUTS
from rigmodel.spec.stations import FIT_MM
from rigmodel.spec.struts import Strut, strut_clamps
from rigmodel.units import Unit

# Heights of a new strut's upper pin over the bar (common practice, no source).
_STRUT_INCHES, _STRUT_MM = (457.2, 609.6, 762.0), (450.0, 600.0, 750.0)
_STRUT_PLACES, _STRUT_WALL = 2, 3.0


def other_walls(assembly: Assembly, thicker: bool) -> Iterator[Choice]:
    """Tubes of the bar's size and holes with a thicker or thinner wall, nearest first."""
    wanted, tube = assembly.scene.spec.toolbar.tube, assembly.scene.tube
    if wanted is None:
        return
    found = sorted(
        (abs(other.wall - tube.wall), item)
        for item, other in assembly.scene.catalogue.parts.items()
        if other.kind == "square-tube"
        and other.size == tube.size
        and other.hole_pitch == tube.hole_pitch
        and (other.wall > tube.wall if thicker else other.wall < tube.wall)
    )
    if found:
        says = f"take a tube with a {'thicker' if thicker else 'thinner'} wall{_steel(assembly)}"
        yield Choice(("toolbar", "tube"), tuple(item for _, item in found), wanted, says)


def _steel(assembly: Assembly) -> str:
    """What another tube must be made of: the strength stated for the bar is counted on again."""
    stated = assembly.scene.spec.toolbar.yield_mpa
    return "" if stated is None else f" of steel with a yield strength of {stated:g} MPa or more"


def larger_tubes(assembly: Assembly) -> Iterator[Choice]:
    """Larger tubes with the bar's holes, next size first, every clamp with one for that size.

    A size is left out for which the catalogue has no clamp like each of those that are on the bar.
    """
    wanted = assembly.scene.spec.toolbar.tube
    if wanted is None:
        return
    for size, items in _larger(assembly.scene).items():
        clamps = _clamps_for(assembly.scene, size)
        if not isinstance(clamps, str):
            says = f"take a larger tube{_steel(assembly)}, with clamps for it"
            yield Choice(("toolbar", "tube"), items, wanted, says, also=clamps)


def why_no_larger(assembly: Assembly) -> str:
    """Why no larger tube is offered, as a sentence with a space before it; empty if one is."""
    scene = assembly.scene
    if any(larger_tubes(assembly)):
        return ""
    if scene.spec.toolbar.tube is None:
        return " No larger tube is tried, as the bar's own size and wall are given."
    for size in _larger(scene):
        lacks = _clamps_for(scene, size)
        if isinstance(lacks, str):
            return f" No larger tube is offered: the catalogue has no {lacks}."
    holes = "" if scene.tube.hole_pitch is None else " with such holes"
    return f" No larger tube is offered: the catalogue has none{holes}."


def _larger(scene: Scene) -> dict[float, tuple[str, ...]]:
    """Larger tubes with the bar's holes by size, least first; thin walls first."""
    tubes: dict[float, list[tuple[float, str]]] = {}
    for item, tube in scene.catalogue.parts.items():
        if (
            isinstance(tube, SquareTube)
            and tube.size > scene.tube.size + FIT_MM
            and tube.hole_pitch == scene.tube.hole_pitch
        ):
            tubes.setdefault(tube.size, []).append((tube.wall, item))
    return {size: tuple(item for _, item in sorted(tubes[size])) for size in sorted(tubes)}


def _clamps_for(scene: Scene, size: float) -> tuple[Change, ...] | str:
    """Every clamp changed for one round a bar of `size`; or what the catalogue lacks for it."""
    parts = scene.catalogue.parts
    found = []
    for index, planned in enumerate(scene.stations):
        swap, rank = ("stations", index, "swap"), planned.unit.rank_mount
        olds = [("mount", planned.unit.mount)]
        if rank is not None and _ranked(planned):
            olds.append(("rank_clamp", rank.clamp))
        for name, old in olds:
            new = _like(parts, old, size)
            if new is None:
                return f"clamp like {old} for a {scene.say(size)} bar"
            found.append(Change((*swap, name), new, old, ""))
    for index, strut in enumerate(scene.spec.toolbar.struts):
        fitting = strut_clamps(scene.catalogue, size)
        if not fitting:
            return f"clamp like {strut.clamp} for a {scene.say(size)} bar"
        path = ("toolbar", "struts", index, "clamp")
        found.append(Change(path, fitting[0], strut.clamp, ""))
    return tuple(found)


def _ranked(planned: PlannedStation) -> bool:
    """Whether any place of a station hangs on a cross tube."""
    rank = planned.spec.rank
    return any(rank) if isinstance(rank, tuple) else bool(rank)


def _like(parts: Mapping[str, AnyPart], old: str, size: float) -> str | None:
    """The clamp of a kind that goes round a bar of `size`, with bolts most like the old one's."""
    clamp = parts[old]
    fitting = [
        (abs(new.fits - size), abs(new.bolt_diameter - clamp.bolt_diameter), item)
        for item, new in parts.items()
        if isinstance(clamp, BarClamp | TeeClamp)
        and isinstance(new, BarClamp | TeeClamp)
        and type(new) is type(clamp)
        and abs(new.fits - size) <= FIT_MM
        and abs(_cross(new) - _cross(clamp)) <= FIT_MM
    ]
    return min(fitting)[-1] if fitting else None


def _cross(clamp: BarClamp | TeeClamp) -> float:
    """Size of the cross tube that a clamp hangs under the bar; 0 where it hangs none."""
    return clamp.cross_fits if isinstance(clamp, TeeClamp) else 0.0


def more_struts(assembly: Assembly) -> Iterator[Choice]:
    """A strut more on each side of the hangers, from over the outer ones to a gap between clamps.

    Their upper pins, tried at several heights, must be on the frame that the bar hangs on: whether
    that reaches up there only the fitter knows. They stand straight over the bar: a strut that
    leans ahead is drawn by the draft and lifts the bar.
    """
    scene, bar = assembly.scene, assembly.scene.spec.toolbar
    clamps = strut_clamps(scene.catalogue, scene.tube.size)
    tube = strut_tube(scene)
    if not bar.hangers or not clamps or tube is None or len(bar.struts) + 2 > MAX_STRUTS:
        return
    clamp = scene.catalogue.parts[clamps[0]]
    assert isinstance(clamp, StrutClamp)
    inches = scene.unit in (Unit.IN, Unit.FT)
    tops = (max(bar.hangers), min(bar.hangers))
    free = [_gaps(assembly, clamp.width, side) for side in (1, -1)]
    says = "add a strut on each side, if the frame that the bar hangs on reaches up there"
    for places in zip(*free, strict=False):
        for height in _STRUT_INCHES if inches else _STRUT_MM:
            more = (
                Strut(at=at, top=top, height=height, tube=tube, clamp=clamps[0])
                for at, top in zip(places, tops, strict=True)
            )
            yield Choice(("toolbar", "struts"), ((*bar.struts, *more),), bar.struts, says, "mm")


def _gaps(assembly: Assembly, width: float, side: int) -> list[float]:
    """Places for a strut's clamp between others, beyond the outer hanger of a side, best first.

    Best is nearest to two thirds of the way from that hanger to the bar's end: a prop there leaves
    about as much sag inside as outside. All are marks of a tape.

    Args:
        assembly: the rig.
        width: length of bar that the strut's clamp covers, mm.
        side: 1 for the left side, -1 for the right.
    """
    scene, bar = assembly.scene, assembly.scene.spec.toolbar
    end, hanger = bar.length / 2.0, max(side * place for place in bar.hangers or (0.0,))
    wanted = hanger + 2.0 * (end - hanger) / 3.0
    half = width / 2.0 + scene.spec.limits.clamp_gap
    step = 25.4 / 16.0 if scene.unit in (Unit.IN, Unit.FT) else 1.0
    taken = sorted((side * c.centre_mm, c.width_mm / 2.0) for c in assembly.on_bar)
    edges = [(-end, 0.0), *taken, (end, 0.0)]
    found = []
    for (left, wide), (right, wide_too) in pairwise(edges):
        low, high = left + wide + half, right - wide_too - half
        if high >= low and high > hanger + width:
            middle = (low + high) / 2.0
            at = middle if high - low < 2.0 * half else min(max(wanted, low), high)
            found.append(max(at, hanger + width))
    found.sort(key=lambda at: abs(at - wanted))
    return [side * round(at / step) * step for at in found[:_STRUT_PLACES]]


def strut_tube(scene: Scene) -> str | None:
    """The smallest plain tube that is no larger than the bar's and has a wall of 3 mm or more."""
    tubes = [
        (part.size, part.wall, name)
        for name, part in scene.catalogue.parts.items()
        if isinstance(part, SquareTube)
        and part.hole_pitch is None
        and part.size <= scene.tube.size
        and part.wall >= _STRUT_WALL
    ]
    return min(tubes)[-1] if tubes else None


def strut_moves(assembly: Assembly, strut: StrutPlace, reach: float = 250.0) -> tuple[Knob, ...]:
    """Set a strut's clamp farther left or right on the bar."""
    path, at = ("toolbar", "struts", strut.index, "at"), strut.clamp.centre_mm
    half = assembly.scene.spec.toolbar.length / 2.0
    return tuple(
        Knob(path, at, min(max(at + way * reach, -half), half), "mm", f"set {strut.name} {says}")
        for way, says in ((1.0, "farther left"), (-1.0, "farther right"))
    )


def strut_cures(assembly: Assembly, name: str) -> tuple[Choice, ...]:
    """Stronger tubes for a strut, nearest first."""
    strut = next(one for one in assembly.struts if one.name == name)
    parts = assembly.scene.catalogue.parts
    now = parts[assembly.scene.spec.toolbar.struts[strut.index].tube]
    assert isinstance(now, SquareTube)
    stronger = sorted(
        (part.size, part.wall, item)
        for item, part in parts.items()
        if isinstance(part, SquareTube)
        and part.hole_pitch is None
        and part.size >= now.size
        and part.wall >= now.wall
        and (part.size, part.wall) != (now.size, now.wall)
    )
    if not stronger:
        return ()
    path = ("toolbar", "struts", strut.index, "tube")
    items = tuple(item for *_, item in stronger)
    was = assembly.mechanism.part(name).item
    return (Choice(path, items, was, f"take a stronger tube for {name}"),)


def bar_cures(assembly: Assembly) -> tuple[Knob | Choice, ...]:
    """A thicker wall, a larger tube, struts, the outer hangers elsewhere, then more hangers."""
    bar = assembly.scene.spec.toolbar
    places = tuple(sorted(bar.hangers or ()))
    found: list[Knob | Choice] = [
        *other_walls(assembly, thicker=True),
        *larger_tubes(assembly),
        *more_struts(assembly),
    ]
    path, was = ("toolbar", "hangers"), tuple(bar.hangers or ())
    half, middle = bar.length / 2.0, (places[0] + places[-1]) / 2.0
    for says, far in (("out", half - abs(middle)), ("in", (places[-1] - places[0]) / 4.0)):
        values = tuple(v for v in _spreads(places, middle, far) if v is not None)
        if values:
            found.append(Choice(path, values, was, f"hang the bar farther {says}", "mm"))
    more = tuple(
        (v[0], *places, v[-1])
        for v in _spreads(places, middle, half - abs(middle))
        if v is not None and v[0] < places[0]
    )
    room = MAX_HANGERS - len(places)
    if more and room >= 2:
        found.append(Choice(path, more, was, "hang the bar at two more places", "mm"))
    if room >= 1:
        widest = max(pairwise(places), key=lambda pair: pair[1] - pair[0])
        inner = tuple(sorted((*places, round(sum(widest) / 2.0))))
        if len(set(inner)) == len(inner):
            found.append(Choice(path, (inner,), was, "hang the bar at one more place", "mm"))
    return tuple(found)


def _spreads(
    places: tuple[float, ...], middle: float, far: float
) -> Iterator[tuple[float, ...] | None]:
    """The outer hangers moved to `far` from their middle in eight steps."""
    return (_spread(places, middle, far, step / 8.0) for step in range(1, 9))


def _spread(
    places: tuple[float, ...], middle: float, far: float, share: float
) -> tuple[float, ...] | None:
    """The outer hangers moved a share of the way to `far` from their middle; whole mm."""
    now = (places[-1] - places[0]) / 2.0
    reach = float(int(now + (far - now) * share))
    inner = places[1:-1]
    if any(abs(place - middle) >= reach for place in inner) or reach <= 0.0:
        return None
    return (middle - reach, *inner, middle + reach)
