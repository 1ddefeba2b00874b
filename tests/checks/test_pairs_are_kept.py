"""No pair of rig parts is lost: each is bolted, or held by exactly one named check."""

from __future__ import annotations

from collections.abc import Callable
from itertools import combinations

import pytest

from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.check import bolted_pairs
from rigmodel.clearance.checks import bar_space, pair_gap, part_clash, wheel_clash
from rigmodel.clearance.finding import Finding, Verdict
from rigmodel.clearance.held import Held
from rigmodel.clearance.kinematics import MotionRange
from rigmodel.clearance.scope import Pairs, Scope
from rigmodel.spec.load import load_scene

Rig = Callable[..., Assembly]
Find = Callable[[Assembly, str], tuple[Finding, ...]]
Pair = frozenset[str]


class Recorder(Scope):
    """A scope that only notes which pairs it is asked to hold."""

    def __init__(self, assembly: Assembly) -> None:
        super().__init__(assembly)
        self.asked: set[Pair] = set()

    def hold(self, pairs: Pairs, motion: MotionRange) -> Held:
        for one, other in pairs.bodies.tolist():
            self.asked.add(frozenset((self.bodies[one].name, self.bodies[other].name)))
        return Held((), (), None, 0)


def held_by(assembly: Assembly, check: Callable[[Scope], object]) -> set[Pair]:
    recorder = Recorder(assembly)
    list(check(recorder))  # type: ignore[call-overload]
    return recorder.asked


def ways(assembly: Assembly) -> dict[str, set[Pair]]:
    """Every pair of rig parts that anything answers for, by what answers."""
    on_bar = [clamp.part for clamp in assembly.clamps]
    return {
        "bolted": {frozenset(p) for p in bolted_pairs(assembly)},
        bar_space.ID: {frozenset(p) for p in combinations(on_bar, 2)},
        wheel_clash.ID: held_by(assembly, wheel_clash.findings),
        part_clash.ID: held_by(assembly, part_clash.findings),
        pair_gap.ID: {
            frozenset((left.name, right.name)) for _, _, left, right in pair_gap.pairs(assembly)
        },
    }


def all_pairs(assembly: Assembly) -> set[Pair]:
    return {frozenset((a.name, b.name)) for a, b in combinations(assembly.rig_parts(), 2)}


def check_kept(assembly: Assembly) -> None:
    found = ways(assembly)
    every = all_pairs(assembly)
    lost = every - set().union(*found.values())
    assert not lost, sorted(sorted(pair) for pair in lost)
    n = len(assembly.rig_parts())
    assert len(every) == n * (n - 1) // 2
    # Metal of a pair's wheels is held by part-clash too; every other pair by one check alone.
    counted = sum(len(pairs & every) for name, pairs in found.items() if name != pair_gap.ID)
    assert counted == len(every)


@pytest.mark.parametrize("name", ["three-rows-belly", "two-wide-rows-paths-rear", "irregular-bed"])
def test_every_pair_of_a_demo_rig_is_answered_for_once(scenes: object, name: str) -> None:
    check_kept(assemble(load_scene(f"{scenes}/{name}.yaml")))


WHEELS = "use: finger-pair, depth: 1/2"


@pytest.mark.parametrize(
    "stations",
    [
        f"[{{{WHEELS}, at: [-6, 0, 20]}}]",
        f"[{{{WHEELS}, at: gaps}}]",
        f"[{{{WHEELS}, at: rows, pair_gap: 1}}, {{{WHEELS}, at: tracks, name: t}}]",
        f"[{{{WHEELS}, at: outside}}]",
        "[{use: blade-arm, at: gaps, depth: 1}, {use: half-blade-rigid, at: rows, depth: 1}]",
    ],
)
def test_every_pair_is_answered_for_wherever_tools_stand(rig: Rig, stations: str) -> None:
    check_kept(rig(stations=stations))


def test_fingers_of_wheels_that_are_no_pair_are_held_against_each_other(
    rig: Rig, finds: Find
) -> None:
    # Two 8 in wheels 6 in apart run into each other, pair or not.
    assembly = rig(stations=f"[{{{WHEELS}, at: [-3, 3]}}]")
    found = [*finds(assembly, "part-clash"), *finds(assembly, "wheel-clash")]
    broken = {frozenset(f.parts) for f in found if f.verdict is Verdict.FAIL}
    assert frozenset(("place1.finger_wheel", "place2.finger_wheel")) in broken


def test_bolted_pairs_are_listed_once_and_known_from_both_sides(rig: Rig) -> None:
    assembly = rig()
    pairs = bolted_pairs(assembly)
    assert len({frozenset(p) for p in pairs}) == len(pairs)
    mechanism = assembly.mechanism
    for one, other in pairs:
        assert other in mechanism.part(one).bolted_to
        assert one in mechanism.part(other).bolted_to
    assert ("bar", "gap1.blade_clamp") in pairs


def test_only_the_part_above_and_what_is_fixed_to_it_are_bolted(rig: Rig) -> None:
    """A chain of n parts under the bar makes n bolted pairs, not one more."""
    for stations in ("[{use: blade-rigid, at: gaps, depth: 1}]", f"[{{{WHEELS}, at: [0]}}]"):
        assembly = rig(stations=stations)
        assert len(bolted_pairs(assembly)) == len(assembly.rig_parts()) - 1
