"""Puts a rig together as it was measured: clamps and shanks where they are, not where they should.

Every clamp and shank is pinned to its planned or measured setting; arms then ride where those
settings let them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from rigmodel.advise.measured import SHOWS, Measured
from rigmodel.assembly.build import assemble
from rigmodel.assembly.model import JointKind, Mechanism
from rigmodel.assembly.riding import ride_angles, with_values
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Change
from rigmodel.clearance.trial import changed_scene
from rigmodel.shop.marks import marks
from rigmodel.spec.places import rank_of
from rigmodel.spec.resolve import PlannedStation, Scene

REACHED_MM = 0.05  # a setting this near to the measured one has been applied
_PASSES = 3


@dataclass(frozen=True)
class NotApplied:
    """A measured value that the model cannot take, and why."""

    name: str
    why: str


@dataclass(frozen=True)
class _Pin:
    """Where a station's clamp stands (mm from the bar's centre) and its first shank's slide."""

    place_mm: float
    slide: str
    slide_mm: float


def built_as(
    plan: Assembly, measured: Sequence[Measured]
) -> tuple[Assembly, tuple[NotApplied, ...]]:
    """The rig with measured values in place of planned ones, and what could not be applied."""
    scene, refused = _scene(plan, measured)
    pins = _pins(plan, measured)
    built, reached = _pinned(plan, scene, pins)
    refused += tuple(_unreached(plan, reached, pins, measured))
    return built, refused


def _scene(plan: Assembly, measured: Sequence[Measured]) -> tuple[Scene, tuple[NotApplied, ...]]:
    """The planned scene with the measured values that stand in the scene itself."""
    scene, refused = plan.scene, []
    for one in measured:
        if one.kind != "spec":
            continue
        path = tuple(one.name.split("."))
        changes = [Change(path, one.value)]
        if path[-1] == "track":  # what is measured can be set, whatever the list of tracks says
            changes.append(Change((*path[:-1], "tracks"), (one.value,)))
        changed = changed_scene(scene, changes)
        if changed is None:
            refused.append(NotApplied(one.name, "the scene does not go together with it"))
        else:
            scene = changed
    return scene, tuple(refused)


def _pins(plan: Assembly, measured: Sequence[Measured]) -> Mapping[str, _Pin]:
    values = {one.name: one.value for one in measured}
    found = {}
    for mark in marks(plan):
        slide, slide_mm = "", 0.0
        shanks = [tool.shank for tool in mark.tools if tool.shank is not None]
        if shanks:
            slide = f"{shanks[0].name}.slide"
            shows = values.get(mark.station + SHOWS, shanks[0].above_mm)
            slide_mm = shanks[0].slide_mm + shanks[0].above_mm - shows
        place = values.get(mark.station, mark.centre_mm)
        found[mark.station] = _Pin(place, slide, slide_mm)
    return found


def _pinned(plan: Assembly, scene: Scene, pins: Mapping[str, _Pin]) -> tuple[Assembly, Assembly]:
    """The rig as built, and the same as it was solved, with the depths that gave its settings."""
    stations = [_single(plan, p, i) for p in scene.stations for i in range(len(p.places))]
    names = [station.name for station in plan.stations]
    for _ in range(_PASSES):
        solved = assemble(replace(scene, stations=tuple(stations)))
        wrong = [_correction(solved, name, pins[name]) for name in names]
        if all(abs(v) < 1e-9 for pair in wrong for v in pair):
            break
        stations = [_moved(s, *by) for s, by in zip(stations, wrong, strict=True)]
    return _riding(plan, replace(solved, scene=scene)), solved


def _single(plan: Assembly, planned: PlannedStation, index: int) -> PlannedStation:
    """A planned station at one of its places alone, with the rank it was planned with."""
    place = planned.places[index]
    original = plan.scene.stations[planned.index]
    spec = planned.spec.model_copy(update={"rank": rank_of(original.spec, place)})
    return replace(planned, spec=spec, places=(place,))


def _correction(solved: Assembly, name: str, pin: _Pin) -> tuple[float, float]:
    """How far the clamp must still move to the left, and the shank down, mm."""
    by = pin.place_mm - solved.station[name].place_mm
    setting = solved.adjustment.get(pin.slide)
    return by, 0.0 if setting is None else pin.slide_mm - setting.value


def _moved(planned: PlannedStation, left_mm: float, down_mm: float) -> PlannedStation:
    spec, side = planned.spec, planned.places[0].side
    update = {"shift": spec.shift + (side or 1) * left_mm, "depth": spec.depth + down_mm}
    return replace(planned, spec=spec.model_copy(update=update))


def _riding(plan: Assembly, solved: Assembly) -> Assembly:
    """The solved rig held to the planned depths, its arms riding at them as far as they can."""
    depths = {tool.part: tool.depth_mm for tool in plan.tools}
    tools = tuple(replace(tool, depth_mm=depths[tool.part]) for tool in solved.tools)
    level = with_values(solved.mechanism, _flat(solved.mechanism))
    return replace(
        solved,
        tools=tools,
        mechanism=with_values(solved.mechanism, ride_angles(solved.mechanism, tools)),
        level_angles={**solved.level_angles, **ride_angles(level, tools)},
    )


def _flat(mechanism: Mechanism) -> dict[str, float]:
    tilts = (JointKind.ROLL, JointKind.PITCH)
    return {name: 0.0 for name, joint in mechanism.joints.items() if joint.kind in tilts}


def _unreached(
    plan: Assembly, solved: Assembly, pins: Mapping[str, _Pin], measured: Sequence[Measured]
) -> Iterator[NotApplied]:
    say, pitch = plan.scene.say, plan.scene.tube.hole_pitch
    for one in measured:
        if one.kind == "spec":
            continue
        station = one.name.removesuffix(SHOWS) if one.kind == "shows" else one.name
        pin = pins[station]
        by, down = _correction(solved, station, pin)
        if one.kind == "mark" and abs(by) > REACHED_MM:
            holes = f": the bar's holes lie {say(pitch)} apart" if pitch is not None else ""
            yield NotApplied(one.name, f"its clamp cannot stand there{holes}")
        elif one.kind == "shows" and not pin.slide:
            yield NotApplied(one.name, "no shank of it is set in a holder")
        elif one.kind == "shows" and abs(down) > REACHED_MM:
            yield NotApplied(one.name, "its shank cannot stand so in its holder")
