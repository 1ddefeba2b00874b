"""Weights and forces as plain values ready for JSON; mm, kg, N, N m, MPa, degrees."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np

from meshes_generic.mass import MassProperties
from rigmodel.assembly.rig import Assembly
from rigmodel.loads.account import Account
from rigmodel.loads.along import AlongBar
from rigmodel.loads.constants import ENGINEER
from rigmodel.loads.draft import Pull
from rigmodel.loads.trace import trace
from rigmodel.report.numbers import number

_EVERY = 10  # of the places along the bar that are told, besides those where a curve jumps
_UNITS = {
    "length": "mm",
    "mass": "kg",
    "force": "N",
    "moment": "N m",
    "stress": "MPa",
    "angle": "deg",
    "power": "kW",
}


def loads_object(assembly: Assembly, found: Account) -> dict[str, Any]:
    """The account as plain values. What is not known is null or empty, and told in `unknown`.

    Places are world axes: ahead of the rear axle, left of the tractor's centre, over the soil's
    zero; along the bar they are left of its centre.
    """
    return {
        "units": _UNITS,
        "rig": {"mass": number(found.rig_kg), "bar": number(found.bar_kg)},
        "parts": _bodies(found.parts),
        "stations": _bodies(found.stations),
        "balance": [
            {"pose": one.pose, "centre": _numbers(one.centre_mm)} for one in found.balances
        ],
        "lift": _lift(assembly, found),
        "axles": _axles(found),
        "draft": _draft(found),
        "bar": _bar(found),
        "shanks": _shanks(found),
        "members": [
            {
                "part": member.name,
                "what": member.what,
                "stress": number(member.worst.stress_mpa),
                "where": member.worst.place,
                "yield": number(member.yield_mpa),
            }
            for member in found.members
        ],
        "down_force": {
            part: [{"angle": number(f.angle), "force": number(f.force_n)} for f in forces]
            for part, forces in found.springs.items()
        },
        "clamps": [
            {
                "part": clamp.part,
                "station": clamp.station,
                "turning": number(clamp.turning_nm),
                "along": number(clamp.along_n),
                "moment": number(clamp.moment_nm),
                "held_by_friction": number(clamp.holds_nm),
                "clamp_load_of_a_leg": {
                    "low": number(clamp.least_n),
                    "middle": number(clamp.preload_n),
                    "high": number(clamp.most_n),
                    "proof": number(clamp.proof_n),
                },
            }
            for clamp in found.clamps
        ],
        "unknown": list(found.unknown),
        "trace": [vars(one) for one in trace(assembly, found)],
        "caution": ENGINEER,
    }


def _numbers(values: Iterable[float]) -> list[float | None]:
    return [number(float(value)) for value in values]


def _bodies(bodies: Mapping[str, MassProperties]) -> dict[str, Any]:
    return {
        name: {"mass": number(body.mass_kg), "centre": _numbers(body.centroid_mm)}
        for name, body in bodies.items()
    }


def _lift(assembly: Assembly, found: Account) -> dict[str, Any]:
    return {
        "capacity": number(assembly.scene.spec.tractor.lift.capacity_kg),
        "loads": [
            {
                "pose": load.pose,
                "bar_height": number(load.bar_mm),
                "moment_about_pivot": number(load.moment_nm),
                "mass_at_bar": number(load.at_bar_kg),
            }
            for load in found.lift
        ],
    }


def _axles(found: Account) -> dict[str, Any] | None:
    axles = found.axles
    if axles is None:
        return None
    return {
        "front": number(axles.front_kg),
        "rear": number(axles.rear_kg),
        "front_share": number(axles.front_share),
    }


def _draft(found: Account) -> dict[str, Any] | None:
    pull = found.pull
    if pull is None:
        return None
    return {
        "low": number(pull.low_n),
        "middle": number(pull.draft_n),
        "high": number(pull.high_n),
        "line_of_pull": number(pull.line_mm),
        "yaw": number(pull.yaw_nm),
        "power": number(pull.power_kw),
        "side_draft": _side(found, pull),
        "tools": {
            part: {
                "low": number(one.low_n),
                "middle": number(one.middle_n),
                "high": number(one.high_n),
            }
            for part, one in found.drafts.items()
        },
    }


def _side(found: Account, pull: Pull) -> dict[str, Any]:
    """Pushes to the left, and what turns the tractor to the left, about the rear axle's middle."""
    return {
        "sum": number(pull.side_n),
        "yaw": number(pull.side_yaw_nm),
        "yaw_with_draft": number(pull.turning_nm),
        "holds_course": {"front_tyres": number(pull.front_n), "rear_tyres": number(pull.rear_n)},
        "tools": {tool.part: number(found.side.tools.get(tool.part)) for tool in
                  found.assembly.tools},
        "not_known": [
            {
                "tools": list(group.tools),
                "without_mirror_image": group.over,
                "yaw_of_each_newton": number(group.lever_mm / 1000.0),
            }
            for group in found.side.open
        ],
    }  # fmt: skip


def _bar(found: Account) -> dict[str, Any] | None:
    bar, along = found.bar, found.along
    if bar is None or along is None:
        return None
    return {
        "stress": number(bar.stress_mpa),
        "stress_at": number(bar.at_mm),
        "against_a_stone": None
        if found.struck is None
        else {
            "tool": found.struck.tool,
            "stress": number(found.struck.stress_mpa),
            "stress_at": number(found.struck.at_mm),
        },
        "tools_rise": {part: number(rise) for part, rise in bar.dips_mm.items()},
        "hangers": [
            {
                "at": number(hanger.at_mm),
                "up": number(hanger.up_n),
                "ahead": number(hanger.ahead_n),
                "left": number(hanger.left_n),
                "torque": number(hanger.torque_nm),
            }
            for hanger in found.hangers
        ],
        "struts": [
            {
                "strut": strut.tie.name,
                "pull": number(strut.pull_n),
                "most_pull": number(strut.most_pull_n),
                "most_push": number(strut.most_push_n),
                "buckles_at": number(strut.buckles_n),
                "stress": number(strut.stress_mpa),
                "yield": number(strut.yield_mpa),
                "on_frame": _numbers(strut.on_frame_n),
            }
            for strut in found.struts
        ],
        "along": _along(along),
    }


def _along(along: AlongBar) -> dict[str, Any]:
    """The curves at even places and on both sides of every jump."""
    curves = {
        "shear_upright": along.shear_n[0],
        "shear_level": along.shear_n[1],
        "moment_upright": along.moment_nm[0],
        "moment_level": along.moment_nm[1],
        "torque": along.torque_nm,
        "axial": along.axial_n,
        "moved_up": along.moved_mm[0],
        "moved_ahead": along.moved_mm[1],
        "turned": along.turned_deg,
    }
    pairs = np.stack(list(curves.values())).reshape(len(curves), -1, 2)
    kept = np.ptp(pairs, axis=2).max(axis=0) > 0.0
    kept[::_EVERY] = kept[-1] = True
    both = np.repeat(kept, 2)
    return {
        "at": _numbers(along.at_mm[both]),
        **{name: _numbers(values[both]) for name, values in curves.items()},
    }


def _shanks(found: Account) -> list[dict[str, Any]]:
    told = []
    for shank in found.shanks:
        draft, push = found.drafts.get(shank.tool), found.side.tools.get(shank.tool)
        told.append(
            {
                "shank": shank.name,
                "tool": shank.tool,
                "free_length": number(shank.free_mm),
                "draft": None if draft is None else number(draft.high_n),
                "side_draft": number(push),
                "stress": None
                if draft is None
                else number(shank.stress_mpa(draft.high_n, push or 0.0)),
                "yield": number(shank.yield_mpa),
            }
        )
    return told
