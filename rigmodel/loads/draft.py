"""Draft of the tools by ASABE D497's row for row crop cultivators, or as the user states it.

D = F (A + B·S) T for each row: D in N, S in km/h, T in cm. All coefficients are from memory. The
C-shank row is taken: of the two for tilled soil it asks more, which is the safe side for strength.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from rigmodel.assembly.model import Role
from rigmodel.assembly.rig import Assembly, ToolPlace
from rigmodel.loads.side import SideDraft
from rigmodel.loads.words import named

S_TINE, C_SHANK, NO_TILL = (140.0, 7.0), (260.0, 13.0), (435.0, 21.8)
TEXTURE = MappingProxyType({"fine": 1.0, "medium": 0.85, "coarse": 0.65})
RANGE = MappingProxyType({S_TINE: 0.15, C_SHANK: 0.15, NO_TILL: 0.20})
SOURCE = "ASABE D497, row crop cultivator with C-shanks, ±15 % (from memory)"


@dataclass(frozen=True, eq=False)
class Draft:
    """Pull on one tool, N.

    Attributes:
        middle_n: by the formula or as stated.
        range_share: the formula's range each way as a share; 0 for a stated pull.
    """

    middle_n: float
    range_share: float

    @property
    def high_n(self) -> float:
        """Upper end of the range, N."""
        return self.middle_n * (1.0 + self.range_share)

    @property
    def low_n(self) -> float:
        """Lower end of the range, N."""
        return self.middle_n * (1.0 - self.range_share)


def row_draft(row: tuple[float, float], texture: str, speed_kmh: float, depth_mm: float) -> float:
    """Draft of one row of a cultivator, N.

    Args:
        row: A and B of the tool, such as `C_SHANK`.
        texture: ``fine``, ``medium`` or ``coarse``.
        speed_kmh: speed over the ground.
        depth_mm: working depth.
    """
    a, b = row
    return TEXTURE[texture] * (a + b * speed_kmh) * depth_mm / 10.0


def missing(assembly: Assembly) -> str:
    """All that is wanting to know the draft, or an empty string."""
    spec = assembly.scene.spec
    open_tools = [t for t in assembly.tools if _stated(assembly, t) is None]
    wheels = [t.part for t in open_tools if not _is_hoe(assembly, t)]
    wanting = []
    if wheels:
        wanting.append(f"draft of {named(wheels)} is not known: give draft_n on the station")
    if len(open_tools) > len(wheels):
        if spec.soil.texture is None:
            wanting.append("draft: soil.texture is not given")
        if spec.tractor.speed_kmh is None:
            wanting.append("draft: tractor.speed_kmh is not given")
    return "; ".join(wanting)


def drafts(assembly: Assembly) -> Mapping[str, Draft]:
    """Draft of every tool by the name of its part.

    The rows' draft is shared among the hoes by their width, so that hoes of one depth add up to
    the standard's figure for all rows. Call it only where `missing` finds nothing.
    """
    spec = assembly.scene.spec
    hoes = [tool for tool in assembly.tools if _is_hoe(assembly, tool)]
    width = sum(tool.high_mm - tool.low_mm for tool in hoes)
    found = {}
    for tool in assembly.tools:
        stated = _stated(assembly, tool)
        if stated is not None:
            found[tool.part] = Draft(stated, 0.0)
            continue
        one = row_draft(
            C_SHANK, spec.soil.texture or "", spec.tractor.speed_kmh or 0.0, tool.depth_mm
        )
        share = len(assembly.rows) * (tool.high_mm - tool.low_mm) / width
        found[tool.part] = Draft(one * share, RANGE[C_SHANK])
    return MappingProxyType(found)


@dataclass(frozen=True, eq=False)
class Pull:
    """The whole rig's pull. Moments turn about the upright line through the rear axle's middle.

    Attributes:
        draft_n: draft at the formula's middle, N.
        low_n: at the low end of its range.
        high_n: at the high end of its range.
        yaw_nm: moment of the draft, N m; positive turns the tractor to the left.
        line_mm: line of the draft, mm left of the tractor's centre.
        power_kw: drawbar power at the middle, kW; None where the speed is not given.
        side_n: side draft, N, positive to the left; None where it is not known.
        side_yaw_nm: its moment, N m; None where it is not known.
        wheelbase_mm: rear axle to front axle; None where there is no front axle.
    """

    draft_n: float
    low_n: float
    high_n: float
    yaw_nm: float
    line_mm: float
    power_kw: float | None
    side_n: float | None
    side_yaw_nm: float | None
    wheelbase_mm: float | None

    @property
    def turning_nm(self) -> float | None:
        """Moment of draft and side draft together, N m; None where it is not known."""
        return None if self.side_yaw_nm is None else self.yaw_nm + self.side_yaw_nm

    @property
    def front_n(self) -> float | None:
        """Push on the front tyres, N, positive to the left, that holds the tractor on course."""
        if self.turning_nm is None or self.wheelbase_mm is None:
            return None
        return 0.0 - 1000.0 * self.turning_nm / self.wheelbase_mm

    @property
    def rear_n(self) -> float | None:
        """The same on the rear tyres; with that on the front ones it balances the side draft."""
        if self.front_n is None or self.side_n is None:
            return None
        return 0.0 - self.side_n - self.front_n


def pull(assembly: Assembly, of: Mapping[str, Draft], side: SideDraft) -> Pull:
    """Draft, side draft, yaw and drawbar power of the rig.

    Args:
        assembly: the rig.
        of: draft of every tool, by part.
        side: side draft of the tools.
    """
    total = sum(d.middle_n for d in of.values())
    yaw = sum(of[t.part].middle_n * t.centre_mm for t in assembly.tools)
    speed = assembly.scene.spec.tractor.speed_kmh
    tractor = assembly.scene.tractor
    return Pull(
        total,
        sum(d.low_n for d in of.values()),
        sum(d.high_n for d in of.values()),
        yaw / 1000.0,
        yaw / total if total > 0.0 else 0.0,
        None if speed is None else total * speed / 3600.0,
        side.sum_n,
        side.yaw_nm,
        None if tractor.front is None else tractor.wheelbase,
    )


def _is_hoe(assembly: Assembly, tool: ToolPlace) -> bool:
    return assembly.mechanism.part(tool.part).role is Role.BLADE


def _stated(assembly: Assembly, tool: ToolPlace) -> float | None:
    index = assembly.station[tool.station].index
    return assembly.scene.spec.stations[index].draft_n
