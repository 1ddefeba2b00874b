"""The shape of the ground across the tractor: flat, or one raised bed."""

from __future__ import annotations

from dataclasses import dataclass

from rigmodel.spec.scene import Soil


@dataclass(frozen=True)
class SoilProfile:
    """Height of the soil over the tractor's width, mm; 0 at the bed's shoulders or on flat ground.

    Attributes:
        middle: middle of the bed left of the tractor's centre.
        half_top: half-width of the bed's top; infinite on flat ground.
        depth: bed's top over the furrow; 0 on flat ground.
        crown: middle of the top over its shoulders.
        shoulder: width of each sloping side.
    """

    middle: float = 0.0
    half_top: float = float("inf")
    depth: float = 0.0
    crown: float = 0.0
    shoulder: float = 0.0

    def height(self, y: float) -> float:
        """Height in mm at y mm left of the tractor's centre (the crown is a parabola)."""
        away = abs(y - self.middle)
        if away <= self.half_top:
            if self.crown == 0.0:
                return 0.0
            return self.crown * (1.0 - (away / self.half_top) ** 2)
        if self.shoulder > 0.0 and away < self.half_top + self.shoulder:
            return -self.depth * (away - self.half_top) / self.shoulder
        return -self.depth

    def top(self, low: float, high: float) -> float:
        """Highest soil between two places across, mm: what a tool of that width is set to."""
        middle = min(max(self.middle, low), high)
        return max(self.height(y) for y in (low, middle, high))

    def corners(self, reach: float) -> tuple[tuple[float, float], ...]:
        """Points (y, z) of the profile from -reach to reach, mm, fine enough to draw."""
        if self.half_top == float("inf"):
            return ((-reach, 0.0), (reach, 0.0))
        steps = [i / 8.0 - 1.0 for i in range(17)]
        edge = self.half_top + self.shoulder
        ys = [-reach, self.middle - edge, *(self.middle + s * self.half_top for s in steps)]
        ys += [self.middle + edge, reach]
        return tuple((y, self.height(y)) for y in sorted(ys) if -reach <= y <= reach)


def soil_profile(soil: Soil, middle_mm: float) -> SoilProfile:
    """The profile of a scene's soil; the bed lies round the middle of the rows."""
    if soil.shape == "flat" or soil.top_width is None or soil.height is None:
        return SoilProfile()
    return SoilProfile(
        middle=middle_mm,
        half_top=soil.top_width / 2.0,
        depth=soil.height,
        crown=soil.crown,
        shoulder=soil.height if soil.shoulder is None else soil.shoulder,
    )
