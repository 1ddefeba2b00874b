"""`assemble(scene) -> Assembly`: frames, joints and parts of tractor, rows and rig."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import lru_cache

from meshes_generic import tube
from meshes_generic.solid import Solid
from meshes_generic.transform import Transform, identity, translation
from rigmodel.assembly.carried import Carried, RigPlan, bolted
from rigmodel.assembly.model import (
    Adjustment,
    Frame,
    Joint,
    JointKind,
    Mechanism,
    Part,
    Role,
)
from rigmodel.assembly.riding import riding
from rigmodel.assembly.rig import (
    Assembly,
    ClampPlace,
    RowPlace,
    StationPlace,
    ToolPlace,
)
from rigmodel.assembly.soil import SoilProfile, soil_profile
from rigmodel.assembly.station import (
    Settled,
    Stand,
    Wish,
    hinge_of,
    settle,
    slide_of,
)
from rigmodel.assembly.struts import struts
from rigmodel.assembly.template import Link, Template
from rigmodel.assembly.tractor import lift_joint, tractor_parts
from rigmodel.assembly.workbench import Workbench
from rigmodel.catalog.kinds import BarClamp, TeeClamp
from rigmodel.spec.passes import beyond_pass
from rigmodel.spec.places import Place, rank_of, right_handed
from rigmodel.spec.resolve import PlannedStation, Scene

_BARS = 20  # bars that are kept: rigs on the same are put together again and again
_ACROSS = (0.0, 1.0, 0.0)
NUT_INSET = 1.5  # a clamp's nuts stand this many bolt diameters inside its edges


@dataclass
class Draft:
    """The growing mechanism."""

    frames: list[Frame] = field(default_factory=list)
    parts: list[Part] = field(default_factory=list)
    bolted: list[tuple[str, str]] = field(default_factory=list)

    def frame(
        self, name: str, parent: int, placement: Transform, joint: Joint | None = None
    ) -> int:
        """Adds a frame and returns its index."""
        self.frames.append(Frame(name, parent, placement, joint))
        return len(self.frames) - 1

    def mechanism(self, carried: Carried) -> Mechanism:
        """The finished mechanism, with what the bar carries last."""
        pairs = [*self.bolted, *(("bar", name) for name in carried.on_bar)]
        parts = bolted(self.parts, pairs, carried.on_bar)
        return Mechanism((*self.frames, *carried.frames), (*parts, *carried.parts))


def swaying(name: str, amount: float, kind: JointKind = JointKind.SWAY) -> Joint | None:
    """A sideways joint of ±`amount` mm, or None where there is nothing to allow for."""
    return Joint(name, kind, False, _ACROSS, 0.0, -amount, amount) if amount > 0.0 else None


def assemble(scene: Scene, workbench: Workbench | None = None) -> Assembly:
    """Puts a scene together: solves every adjustment and places every part.

    The adjustments are solved with the bar level; the bar's own roll and pitch then tilt the rig.

    Args:
        scene: what to put together.
        workbench: sub-assemblies from earlier assemblies; it is added to.
    """
    return _Assembler(scene, workbench or Workbench()).run()


class _Assembler:
    def __init__(self, scene: Scene, workbench: Workbench) -> None:
        self.scene = scene
        self.workbench = workbench
        self.draft = Draft()
        lines = scene.spec.rows.places
        self.soil: SoilProfile = soil_profile(scene.spec.soil, (lines[0] + lines[-1]) / 2.0)

    def run(self) -> Assembly:
        scene, draft = self.scene, self.draft
        world = draft.frame("world", -1, identity())
        tolerance = scene.spec.tolerances
        drift = (tolerance.steering or 0.0) + (tolerance.side_hill or 0.0)
        tractor = draft.frame("tractor", world, identity(), swaying("tractor.drift", drift))
        rows = self._rows(world)
        for frame, part in tractor_parts(scene, tractor):
            part_frame = tractor if frame is None else draft.frame(*frame)
            draft.parts.append(replace(part, frame=part_frame))
        bar = self._bar(tractor)
        braces, parts = struts(scene, bar)
        draft.parts += parts
        draft.bolted += [(part.name, other) for part in parts for other in sorted(part.bolted_to)]
        plan = RigPlan.of(scene, self.soil, bar, len(draft.frames))
        carried = self.workbench.carried(plan, lambda: _Carrier(plan, self.workbench).run())
        mechanism = draft.mechanism(carried)
        level = {j.name: j.value for j in mechanism.joints.values() if j.kind is JointKind.FLOAT}
        return Assembly(
            scene,
            riding(mechanism, carried.tools),
            level,
            self.soil,
            rows,
            carried.stations,
            carried.tools,
            carried.clamps,
            carried.adjustments,
            braces,
        )

    def _rows(self, world: int) -> tuple[RowPlace, ...]:
        spec = self.scene.spec.rows
        guess = self.scene.spec.tolerances.guess_row or 0.0
        found = []
        for i, y in enumerate(spec.places):
            soil = self.soil.height(y)
            joint = (
                swaying(f"row{i + 1}.guess", guess)
                if beyond_pass(spec.drill_rows, i, len(spec.places))
                else None
            )
            frame = self.draft.frame(f"row{i + 1}", world, translation(0.0, y, soil), joint)
            found.append(RowPlace(f"row{i + 1}", y, soil, frame, spec.plants, spec.keep_out))
        return tuple(found)

    def _bar(self, tractor: int) -> int:
        scene, draft = self.scene, self.draft
        spec = scene.spec.toolbar
        tolerance = scene.spec.tolerances
        placement, joint = lift_joint(scene)
        lift = draft.frame("lift", tractor, placement, joint)
        back = translation(
            scene.tractor.toolbar_ahead - placement[0, 3], 0.0, spec.height - placement[2, 3]
        )
        play = draft.frame(
            "link",
            lift,
            back @ translation(0.0, spec.offset, 0.0),
            swaying("rig.play", tolerance.link_play or 0.0),
        )
        roll = draft.frame(
            "roll",
            play,
            identity(),
            _tilt("bar.roll", JointKind.ROLL, (1.0, 0.0, 0.0), spec.roll, tolerance.roll),
        )
        bar = draft.frame(
            "bar",
            roll,
            identity(),
            _tilt("bar.pitch", JointKind.PITCH, _ACROSS, spec.pitch, tolerance.pitch),
        )
        section = scene.tube
        solid = _bar_solid(section.size, section.wall, spec.length, section.corner_radius)
        draft.parts.append(Part("bar", Role.BAR, spec.tube or "", bar, solid))
        return bar


@lru_cache(_BARS)
def _bar_solid(size: float, wall: float, length: float, corner_radius: float | None) -> Solid:
    return tube.square_tube(size, wall, length, corner_radius)


class _Carrier:
    """Puts the stations of a rig together.

    Args:
        plan: what they are made from.
        workbench: sub-assemblies from earlier assemblies; it is added to.
    """

    def __init__(self, plan: RigPlan, workbench: Workbench) -> None:
        self.plan, self.workbench = plan, workbench
        self.soil = plan.soil
        self.draft = Draft()
        self.stations: list[StationPlace] = []
        self.tools: list[ToolPlace] = []
        self.clamps: list[ClampPlace] = []
        self.adjustments: list[Adjustment] = []
        self.stands: dict[tuple[int, float], Stand] = {}

    def run(self) -> Carried:
        for planned in self.plan.stations:
            for place in planned.places:
                self._station(planned, place, self.plan.bar)
        pairs = self.draft.bolted
        return Carried(
            tuple(self.draft.frames),
            bolted(self.draft.parts, pairs, ("bar",)),
            tuple(one for one, other in pairs if other == "bar"),
            tuple(self.stations),
            tuple(self.tools),
            tuple(self.clamps),
            tuple(self.adjustments),
        )

    def _stand(self, planned: PlannedStation, rank: float) -> Stand:
        key = (planned.index, rank)
        if key not in self.stands:
            self.stands[key] = self.workbench.stand(self.plan, planned, rank)
        return self.stands[key]

    def _station(self, planned: PlannedStation, place: Place, bar: int) -> None:
        plan, spec = self.plan, planned.spec
        stand = self._stand(planned, rank_of(spec, place))
        template = stand.template
        name = ".".join(filter(None, (place.name, spec.name)))
        wish = _wish(plan, planned, place)
        toolbar = plan.toolbar
        settled = settle(
            stand, wish, self.soil, toolbar.height, toolbar.offset, plan.tube.hole_pitch
        )
        middle = settled.place - toolbar.offset
        base = self._frame(
            name,
            bar,
            translation(0.0, middle, 0.0),
            swaying(f"{name}.setting", plan.error_mm, JointKind.SETTING),
        )
        self.stations.append(
            StationPlace(
                name,
                planned.index,
                place.line_mm,
                place.side,
                place.row,
                template.rank,
                middle,
                spec.pair_gap if planned.unit.place == "pair-gap" else None,
                self._parts(stand, settled, name, base),
                settled.mirrored,
            )
        )
        self._record(planned, template, settled, name, wish)

    def _frame(self, name: str, parent: int, placement: Transform, joint: Joint | None) -> int:
        """Adds a frame and returns its index in the mechanism."""
        return self.plan.first + self.draft.frame(name, parent, placement, joint)

    def _parts(self, stand: Stand, settled: Settled, name: str, base: int) -> tuple[str, ...]:
        """Adds a frame for every hinge and every part; the parts' names."""
        draft = self.draft
        built = stand.built(settled.stance, settled.mirrored)
        frames: list[int] = []
        for made in built.frames:
            above = base if made.parent < 0 else frames[made.parent]
            joint = _hinge_joint(made.link, settled, name)
            frames.append(self._frame(f"{name}.{made.link.name}", above, made.placement, joint))
        names = []
        for part, (solid, frame) in zip(stand.template.parts, built.parts, strict=True):
            full = f"{name}.{part.name}"
            at = base if frame < 0 else frames[frame]
            draft.parts.append(Part(full, part.role, part.item, at, solid, name))
            draft.bolted.append((full, "bar" if part.above == "bar" else f"{name}.{part.above}"))
            names.append(full)
        return tuple(names)

    def _record(
        self, planned: PlannedStation, template: Template, settled: Settled, name: str, wish: Wish
    ) -> None:
        """Keeps what the fitter must set, and where each tool works."""
        toolbar = self.plan.toolbar
        half = (toolbar.length - template.mount_width) / 2.0
        add = self.adjustments.append
        add(
            Adjustment(
                f"{name}.place",
                "place",
                settled.place - toolbar.offset,
                -half,
                half,
                "mm",
                settled.place_wanted - toolbar.offset,
                self.plan.tube.hole_pitch or 0.0,
            )
        )
        if template.rank_wanted:
            add(
                Adjustment(
                    f"{name}.rank",
                    "rank",
                    template.rank,
                    -5000.0,
                    5000.0,
                    "mm",
                    template.rank_wanted,
                    template.rank_step,
                )
            )
        for link, s in settled.stance.slides.items():
            add(
                Adjustment(
                    f"{name}.{link}.slide", "slide", s.value, s.low, s.high, "mm", s.wanted, s.step
                )
            )
        mount = self.plan.catalogue.parts[_item(template, template.mount)]
        assert isinstance(mount, BarClamp | TeeClamp)  # resolve() has checked it
        spanner = max((f.spanner for f in mount.fasteners), default=0.0)
        self.clamps.append(
            ClampPlace(
                f"{name}.{template.mount}",
                settled.place - toolbar.offset,
                template.mount_width,
                spanner,
                NUT_INSET * mount.bolt_diameter,
                planned.spec.face,
            )
        )
        self._record_tools(template, settled, name, wish)

    def _record_tools(self, template: Template, settled: Settled, name: str, wish: Wish) -> None:
        for tool, edges in zip(template.tools, settled.stance.across, strict=True):
            sign = -1.0 if settled.mirrored else 1.0
            low, high = sorted(settled.place + sign * edge for edge in edges)
            shank = slide_of(template, tool)
            arm = hinge_of(template, tool, JointKind.FLOAT)
            trip = hinge_of(template, tool, JointKind.TRIP)
            self.tools.append(
                ToolPlace(
                    f"{name}.{tool.name}",
                    name,
                    wish.depth,
                    self.soil.top(low, high),
                    low,
                    high,
                    f"{name}.{shank.name}.slide" if shank else "",
                    f"{name}.{arm.name}.float" if arm else "",
                    f"{name}.{trip.name}.trip" if trip else "",
                )
            )


def _item(template: Template, name: str) -> str:
    return next(part.item for part in template.parts if part.name == name)


def _tilt(
    name: str, kind: JointKind, axis: tuple[float, float, float], value: float, spread: float | None
) -> Joint:
    amount = spread or 0.0
    return Joint(name, kind, True, axis, value, value - amount, value + amount)


def _hinge_joint(link: Link, settled: Settled, name: str) -> Joint:
    hinge = link.hinge
    assert hinge is not None
    value = settled.stance.angles.get(link.name, hinge.value)
    full = f"{name}.{link.name}.{hinge.kind.value}"
    return Joint(full, hinge.kind, True, _ACROSS, value, hinge.low, hinge.high)


def _wish(plan: RigPlan, planned: PlannedStation, place: Place) -> Wish:
    spec, rule = planned.spec, planned.unit.place
    if place.row is None or place.side == 0:
        rule = "centre"
    if rule == "pair-gap" and spec.pair_gap is None:
        rule = "keep-out"
    keep_out = plan.keep_out_mm if spec.keep_out is None else spec.keep_out
    target = (spec.pair_gap or 0.0) / 2.0 if rule == "pair-gap" else keep_out
    if place.side != 0 and rule == "centre":
        rule, target = "keep-out", keep_out
    return Wish(place, rule, target, spec.shift, spec.depth, right_handed(spec, place))
