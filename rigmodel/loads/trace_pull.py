"""How draft, side draft, yaw and power were found."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from rigmodel.loads import draft, formulas
from rigmodel.loads.account import Account
from rigmodel.loads.draft import Pull
from rigmodel.loads.traced import Traced
from rigmodel.loads.words import named
from rigmodel.sides import way
from rigmodel.spec.written import in_scene, in_tractor


def pull_traces(found: Account) -> Iterator[Traced]:
    """How draft, side draft, yaw and power were found; none where the draft is not known."""
    assembly = found.assembly
    pull, scene, spec = found.pull, assembly.scene, assembly.scene.spec
    if pull is None:
        return
    reckoned = [part for part, one in found.drafts.items() if one.range_share > 0.0]
    if reckoned and spec.soil.texture is not None:
        a, b = draft.C_SHANK
        yield Traced(
            "draft of the hoes",
            "D = F·(A + B·S)·T for each row, shared among the hoes by their width",
            f"F = {draft.TEXTURE[spec.soil.texture]:g} for {spec.soil.texture} soil "
            f"({in_scene(scene, 'soil', 'texture')}); A = {a:g}, B = {b:g}; S = "
            f"{spec.tractor.speed_kmh:g} km/h ({in_scene(scene, 'tractor', 'speed_kmh')}); T: each "
            f"tool's depth in cm ({_of_stations(found, reckoned, 'depth')}); "
            f"{len(assembly.rows)} rows",
            f"{sum(found.drafts[part].middle_n for part in reckoned):.0f} N, "
            f"±{100 * found.drafts[reckoned[0]].range_share:.0f} %",
            draft.SOURCE,
        )
    if len(reckoned) < len(found.drafts):
        stated = [part for part in found.drafts if part not in reckoned]
        yield Traced(
            "draft of other tools",
            "D = Σ draft_n",
            f"{len(stated)} tools: {_of_stations(found, stated, 'draft_n')}",
            f"{sum(found.drafts[part].middle_n for part in stated):.0f} N",
            "set in the scene",
        )
    yield from _side(found, pull)
    if pull.power_kw is not None:
        yield Traced(
            "drawbar power",
            "P = D·S / 3600",
            f"D = {pull.draft_n:.0f} N; S = {spec.tractor.speed_kmh:g} km/h "
            f"({in_scene(scene, 'tractor', 'speed_kmh')})",
            f"{pull.power_kw:.2f} kW",
            "force times speed",
        )


def _side(found: Account, pull: Pull) -> Iterator[Traced]:
    pushed = [part for part in found.side.stated if found.side.tools[part]]
    if pushed and pull.side_n is not None:
        one = pushed[0]
        yield Traced(
            "side draft",
            formulas.SIDE,
            f"{named(pushed)}: {abs(found.side.tools[one]):g} N on the first, each to its side "
            f"({_of_stations(found, pushed, 'side_n')}); tools that are their own mirror image: 0",
            f"{abs(pull.side_n):.1f} N{_to_side(pull.side_n)}",
            "set in the scene; " + formulas.STATICS,
        )
    told = f"; Σ S·x = {pull.side_yaw_nm:.1f} N m" if pull.side_yaw_nm is not None else ""
    yield Traced(
        "yaw moment",
        formulas.YAW if told else formulas.YAW_OF_DRAFT,
        f"D: each tool's draft, y: its middle left of the tractor's centre; Σ D·y = "
        f"{pull.yaw_nm:.1f} N m"
        + (f"; S: its side draft to the left, x: ahead of the rear axle{told}" if told else ""),
        f"{pull.yaw_nm if pull.turning_nm is None else pull.turning_nm:.1f} N m, positive to the "
        "left" + ("" if told else "; side draft is not known"),
        formulas.STATICS + ", about the upright line through the rear axle's middle",
    )
    if pull.front_n is not None and pull.rear_n is not None and abs(pull.front_n) >= 0.05:
        yield Traced(
            "pushes on the tyres that hold the course",
            formulas.COURSE,
            f"M = {pull.turning_nm:.1f} N m; S = {pull.side_n:.1f} N; wheelbase = "
            f"{pull.wheelbase_mm:.1f} mm ({in_tractor(found.assembly.scene, 'wheelbase')})",
            f"front {pull.front_n:.1f} N, rear {pull.rear_n:.1f} N, positive to the left",
            formulas.STATICS,
        )


def _to_side(newtons: float) -> str:
    return f" to the {way(newtons)}" if abs(newtons) >= 0.05 else ""


def _of_stations(found: Account, tools: Iterable[str], field: str) -> str:
    """A field of the stations that some tools belong to, each once, with its place."""
    station = {tool.part: found.assembly.station[tool.station].index for tool in
               found.assembly.tools}  # fmt: skip
    indices = sorted({station[part] for part in tools})
    return "; ".join(in_scene(found.assembly.scene, "stations", k, field) for k in indices)
