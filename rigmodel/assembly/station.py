"""Finds a station's place and settings: shank slides, arm angles, the clamp's place on the bar."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from meshes_generic.solid import Solid
from meshes_generic.transform import (
    Transform,
    frozen,
    identity,
    inverse,
    mirror_y,
    rotation_y,
    translation,
)
from rigmodel.assembly.fingers import fingers_of
from rigmodel.assembly.model import JointKind, Role
from rigmodel.assembly.soil import SoilProfile
from rigmodel.assembly.template import Link, Template, TemplatePart
from rigmodel.recent import Recent
from rigmodel.spec.places import RIGHT, SINGLE, Place

_FINE_DEG = 1e-9  # an arm's angle is worked out to this
_STEPS = 200  # far more than the secant ever needs
_KEPT = 500  # stances of one template that are kept


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
class Stance:
    """How a template stands: its settings, and where its tools then lie across.

    Attributes:
        slides: by link name, mm.
        angles: working angle of each arm by link name, degrees.
        across: right and left edge of what each tool works with, mm left of the clamp's middle.
        edge: the same of all of the first tool, (0, 0) where there is none.
    """

    slides: Mapping[str, Setting]
    angles: Mapping[str, float]
    across: tuple[tuple[float, float], ...]
    edge: tuple[float, float]


@dataclass(frozen=True, eq=False)
class Settled:
    """A template with its settings at its place.

    Attributes:
        stance: its settings.
        place: clamp's middle, mm left of the tractor's centre.
        place_wanted: the same before holes of the bar.
        mirrored: the template is to be mirrored.
    """

    stance: Stance
    place: float
    place_wanted: float
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


class Stand:
    """A template on the bar, solved for the heights of soil it is asked for; answers are kept.

    Args:
        template: the left-handed sub-assembly.

    Attributes:
        template: the same.
        loose: how it stands before anything is set.
    """

    def __init__(self, template: Template) -> None:
        self.template = template
        self._working = tuple([working_solid(tool) for tool in template.tools])
        self._solved: Recent[tuple[float, ...], Stance] = Recent(_KEPT)
        self._built: Recent[tuple[tuple[float, ...], bool], Built] = Recent(_KEPT)
        self.loose = self._stance({}, {})

    def solved(self, bottoms: tuple[float, ...]) -> Stance:
        """Settings that bring each tool's lowest point to its height over the bar's axis, mm."""
        found = self._solved.get(bottoms)
        return found or self._solved.keep(bottoms, self._stance(*self._heights(bottoms)))

    def built(self, stance: Stance, mirrored: bool) -> Built:
        """The parts at a stance, with a frame for every hinge."""
        slides = {name: setting.value for name, setting in stance.slides.items()}
        key = (tuple(slides.values()), mirrored)
        return self._built.get(key) or self._built.keep(
            key, _built(self.template, slides, mirrored)
        )

    def _stance(self, slides: Mapping[str, Setting], angles: Mapping[str, float]) -> Stance:
        tools = self.template.tools
        poses = self.template.poses({n: s.value for n, s in slides.items()}, angles)
        across = [
            extent_along(solid, poses[tool.link], 1)
            for tool, solid in zip(tools, self._working, strict=True)
        ]
        edge = extent_along(tools[0].solid, poses[tools[0].link], 1) if tools else (0.0, 0.0)
        return Stance(slides, angles, tuple(across), edge)

    def _heights(
        self, bottoms: tuple[float, ...]
    ) -> tuple[Mapping[str, Setting], Mapping[str, float]]:
        """Slides and arm angles that bring each tool's lowest point to its height."""
        template = self.template
        slides: dict[str, Setting] = {}
        values: dict[str, float] = {}
        angles: dict[str, float] = {}
        for tool, solid, bottom in zip(template.tools, self._working, bottoms, strict=True):
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


@dataclass(frozen=True, eq=False)
class BuiltFrame:
    """A hinge of a template with its slides set.

    Attributes:
        link: the link that it is.
        parent: number of the frame above among those built, -1 for the station's own.
        placement: placement (4, 4) in that.
    """

    link: Link
    parent: int
    placement: Transform


@dataclass(frozen=True, eq=False)
class Built:
    """A template with its slides set: fixed links have become placements.

    Attributes:
        frames: a frame for every hinge, parents first.
        parts: solid of each part and the number of its frame, -1 for the station's own.
    """

    frames: tuple[BuiltFrame, ...]
    parts: tuple[tuple[Solid, int], ...]


def _built(template: Template, slides: Mapping[str, float], mirrored: bool) -> Built:
    frames: list[BuiltFrame] = []
    seats: list[tuple[int, Transform]] = []  # frame of each link, and its place in that
    for link in template.links:
        parent, at = (-1, identity()) if link.parent < 0 else seats[link.parent]
        at = at @ link.placement
        if link.slide is not None:
            middle = (link.slide.low + link.slide.high) / 2.0
            at = at @ translation(0.0, 0.0, -slides.get(link.name, middle))
        if link.hinge is not None:
            frames.append(BuiltFrame(link, parent, frozen(mirror_y(at) if mirrored else at)))
            parent, at = len(frames) - 1, identity()
        seats.append((parent, at))
    parts = []
    for part in template.parts:
        frame, at = seats[part.link]
        solid = part.solid.moved(at)
        parts.append((solid.mirrored_y() if mirrored else solid, frame))
    return Built(tuple(frames), tuple(parts))


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
    poses = template.poses(slides, {arm.name: 0.0})
    pivot = poses[template.links.index(arm)]
    below = inverse(pivot) @ poses[tool.link]

    def over(angle: float) -> float:
        return extent_along(solid, pivot @ rotation_y(angle) @ below, 2)[0] - bottom

    return rising_root(over, arm.hinge.low, arm.hinge.high)


def rising_root(over: Callable[[float], float], low: float, high: float) -> float:
    """Where a rising function crosses zero between two ends, or the end nearest to that.

    The secant through both ends finds it in a few steps; an end that stays twice running has its
    value halved (the Illinois rule), so neither end can be stuck with.
    """
    at_low, at_high = over(low), over(high)
    if at_low >= 0.0:
        return low
    if at_high <= 0.0:
        return high
    side = 0
    for _ in range(_STEPS):
        middle = high - at_high * (high - low) / (at_high - at_low)
        if high - low <= _FINE_DEG or not low < middle < high:
            break
        value = over(middle)
        if value == 0.0:
            return middle
        if value < 0.0:
            low, at_low = middle, value
            at_high = at_high / 2.0 if side < 0 else at_high
            side = -1
        else:
            high, at_high = middle, value
            at_low = at_low / 2.0 if side > 0 else at_low
            side = 1
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
    stand: Stand,
    wish: Wish,
    soil: SoilProfile,
    bar_height: float,
    bar_middle: float,
    bar_pitch: float | None,
) -> Settled:
    """Solves a station's settings on a level bar.

    Args:
        stand: the left-handed sub-assembly.
        wish: what is asked.
        soil: the ground.
        bar_height: bar's axis over the soil's zero, mm.
        bar_middle: bar's centre left of the tractor's, mm.
        bar_pitch: hole pitch of the bar, or None where clamps may stand anywhere.
    """
    place = wanted = wish.place.line_mm
    sign = -1.0 if wish.mirrored else 1.0
    stance = stand.loose
    for _ in range(3 if soil.depth else 2):  # the soil's height depends on the place, a little
        if not stance.across:
            break
        grounds = (
            soil.top(*sorted((place + sign * low, place + sign * high)))
            for low, high in stance.across
        )
        stance = stand.solved(tuple([ground - wish.depth - bar_height for ground in grounds]))
        # The fingers are set to the line for a pair's gap, else all of the tool.
        low, high = stance.across[0] if wish.rule == "pair-gap" else stance.edge
        wanted = place = _clamp_place(wish, low, high)
        if bar_pitch is not None:
            place = bar_middle + round((wanted - bar_middle) / bar_pitch) * bar_pitch
    return Settled(stance, place, wanted, wish.mirrored)
