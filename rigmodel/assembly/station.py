"""Finds a station's place and settings: shank slides, arm angles, the clamp's place on the bar."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from meshes_generic.solid import Solid
from meshes_generic.transform import Transform
from rigmodel.assembly.fingers import fingers_of
from rigmodel.assembly.model import JointKind, Role
from rigmodel.assembly.soil import SoilProfile
from rigmodel.assembly.template import Link, Template, TemplatePart
from rigmodel.spec.places import RIGHT, SINGLE, Place

_ANGLE_STEPS = 60  # halvings of an arm's range: far below a thousandth of a degree


@dataclass(frozen=True)
class Wish:
    """What a station was asked for, in mm.

    Attributes:
        place: where.
        rule: ``pair-gap``, ``keep-out`` or ``centre``.
        target: least distance from the line to fingers or steel; unused for ``centre``.
        shift: extra shift away from the line (left if single).
        depth: working depth.
        right_hand: a single tool lies right of its shank.
    """

    place: Place
    rule: str
    target: float
    shift: float
    depth: float
    right_hand: bool

    @property
    def mirrored(self) -> bool:
        """Whether the left-handed template is to be mirrored."""
        return self.place.side == RIGHT or (self.place.side == SINGLE and self.right_hand)


@dataclass(frozen=True)
class Setting:
    """One solved adjustment: what was wanted, what range, step and so what was set."""

    wanted: float
    value: float
    low: float
    high: float
    step: float


@dataclass(frozen=True, eq=False)
class Settled:
    """A template with its settings.

    Attributes:
        slides: by link name, mm.
        angles: working angle of each arm by link name, degrees.
        place: clamp's middle, mm left of the tractor's centre.
        place_wanted: the same before holes of the bar.
        soil_mm: height of the soil under the first tool.
        mirrored: the template is to be mirrored.
    """

    slides: Mapping[str, Setting]
    angles: Mapping[str, float]
    place: float
    place_wanted: float
    soil_mm: float
    mirrored: bool


def working_solid(part: TemplatePart) -> Solid:
    """What of a tool is set to the depth: the fingers of a wheel, the whole of a hoe."""
    return fingers_of(part.solid) if part.role is Role.FINGER_WHEEL else part.solid


def extent_along(solid: Solid, pose: Transform, axis: int) -> tuple[float, float]:
    """Least and greatest coordinate on a world axis of a solid carried by `pose`, mm."""
    a, b, c, shift = pose[axis].tolist()
    low, high = solid.extent((a, b, c))
    return float(low + shift), float(high + shift)


def _snapped(value: float, low: float, high: float, step: float) -> float:
    """`value` inside the range and, where there are holes, at the nearest of them."""
    inside = min(max(value, low), high)
    if step <= 0.0:
        return inside
    holes = round((inside - low) / step)
    if low + holes * step > high + 1e-9:
        holes -= 1
    return low + holes * step


def _link_of(template: Template, link: int, kind: JointKind | None) -> Link | None:
    """The nearest hinge of that kind at or above a link, or the nearest slide for None."""
    for found in template.chain(link):
        if kind is None and found.slide is not None:
            return found
        if found.hinge is not None and found.hinge.kind is kind:
            return found
    return None


def slide_of(template: Template, tool: TemplatePart) -> Link | None:
    """The shank that sets a tool's depth."""
    return _link_of(template, tool.link, None)


def hinge_of(template: Template, tool: TemplatePart, kind: JointKind) -> Link | None:
    """The arm or spring holder that a tool hangs on."""
    return _link_of(template, tool.link, kind)


def _solve_heights(
    template: Template, bottoms: Mapping[str, float], end_known: dict[str, Setting]
) -> tuple[dict[str, Setting], dict[str, float]]:
    """Slides and arm angles that bring each tool's lowest point to its height (bar's axes, mm)."""
    slides: dict[str, Setting] = dict(end_known)
    values: dict[str, float] = {}
    angles: dict[str, float] = {}
    for tool in template.tools:
        solid, bottom = working_solid(tool), bottoms[tool.name]
        shank = slide_of(template, tool)
        if shank is not None and shank.slide is not None and shank.name not in slides:
            pose = template.poses(values, angles)[tool.link]
            rise = template.poses({**values, shank.name: 0.0}, angles)[tool.link]
            start = (shank.slide.low + shank.slide.high) / 2.0
            low = extent_along(solid, pose, 2)[0]
            per_mm = float(rise[2, 3] - pose[2, 3]) / start  # height lost for each mm of slide
            wanted = start + (low - bottom) / per_mm
            span = shank.slide
            value = _snapped(wanted, span.low, span.high, span.step)
            slides[shank.name] = Setting(wanted, value, span.low, span.high, span.step)
            values[shank.name] = value
        arm = hinge_of(template, tool, JointKind.FLOAT)
        if arm is not None and arm.name not in angles:
            angles[arm.name] = _ride_angle(template, tool, solid, arm, values, bottom)
    return slides, angles


def _ride_angle(
    template: Template,
    tool: TemplatePart,
    solid: Solid,
    arm: Link,
    slides: Mapping[str, float],
    bottom: float,
) -> float:
    """Angle at which a tool on an arm rides at its height, or the stop it comes nearest at."""
    assert arm.hinge is not None

    def over(angle: float) -> float:
        pose = template.poses(slides, {arm.name: angle})[tool.link]
        return extent_along(solid, pose, 2)[0] - bottom

    return rising_root(over, arm.hinge.low, arm.hinge.high)


def rising_root(over: Callable[[float], float], low: float, high: float) -> float:
    """Where a rising function crosses zero between two ends, or the end nearest to that."""
    if over(low) >= 0.0:
        return low
    if over(high) <= 0.0:
        return high
    for _ in range(_ANGLE_STEPS):
        middle = (low + high) / 2.0
        if over(middle) < 0.0:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0


def _clamp_place(wish: Wish, low: float, high: float) -> float:
    """Clamp's middle for a tool that spans low..high left of it in the left-handed template."""
    line, side = wish.place.line_mm, wish.place.side
    if wish.rule != "centre" and side != SINGLE:
        near = low  # the left-handed tool stands left of its line
        return line + side * (wish.target - near + wish.shift)
    centre = (low + high) / 2.0
    if side == SINGLE:
        return line + wish.shift - (-centre if wish.mirrored else centre)
    return line + side * (wish.shift - centre)


def settle(
    template: Template,
    wish: Wish,
    soil: SoilProfile,
    bar_height: float,
    bar_middle: float,
    bar_pitch: float | None,
) -> Settled:
    """Solves a station's settings on a level bar.

    Args:
        template: the left-handed sub-assembly.
        wish: what is asked.
        soil: the ground.
        bar_height: bar's axis over the soil's zero, mm.
        bar_middle: bar's centre left of the tractor's, mm.
        bar_pitch: hole pitch of the bar, or None where clamps may stand anywhere.
    """
    place = wanted = wish.place.line_mm
    sign = -1.0 if wish.mirrored else 1.0
    slides: dict[str, Setting] = {}
    angles: dict[str, float] = {}
    tools = template.tools
    for _ in range(3 if soil.depth else 2):  # the soil's height depends on the place, a little
        poses = template.poses({n: s.value for n, s in slides.items()}, angles)
        bottoms = {}
        for tool in tools:
            low, high = extent_along(working_solid(tool), poses[tool.link], 1)
            ground = soil.top(*sorted((place + sign * low, place + sign * high)))
            bottoms[tool.name] = ground - wish.depth - bar_height
        slides, angles = _solve_heights(template, bottoms, {})
        if not tools:
            break
        poses = template.poses({n: s.value for n, s in slides.items()}, angles)
        low, high = extent_along(_edge_solid(tools[0], wish), poses[tools[0].link], 1)
        wanted = place = _clamp_place(wish, low, high)
        if bar_pitch is not None:
            place = bar_middle + round((wanted - bar_middle) / bar_pitch) * bar_pitch
    ground = bottoms[tools[0].name] + wish.depth + bar_height if tools else 0.0
    return Settled(slides, angles, place, wanted, ground, wish.mirrored)


def _edge_solid(tool: TemplatePart, wish: Wish) -> Solid:
    """What is set to the line: the fingers for a pair's gap, else the tool."""
    return working_solid(tool) if wish.rule == "pair-gap" else tool.solid
