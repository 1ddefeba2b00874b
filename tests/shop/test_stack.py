"""Bolt lengths: what is clamped fits under the nut, on every rig and for every kind of clamp."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from rigmodel.assembly.rig import Assembly
from rigmodel.catalog.part import Fastener
from rigmodel.catalog.store import builtin_catalogue
from rigmodel.catalog.threads import thread
from rigmodel.shop.fasteners import (
    PIVOT_TORQUE,
    SET_BOLT_TORQUE,
    WITH_BOLT,
    FastenerLine,
    fastener_list,
    torque_table,
)
from rigmodel.shop.items import items
from rigmodel.shop.stack import NO_NUT, NOT_LISTED, SET_BOLT, Stack, is_u_bolt, stack_of
from rigmodel.shop.torque import NO_GRADE

IN = 25.4
PARTS = builtin_catalogue().parts


def stacks(rig: Assembly) -> list[Stack]:
    return [line.stack for line in fastener_list(rig) if isinstance(line.stack, Stack)]


def test_no_bolt_is_too_short(any_rig: Assembly) -> None:
    assert stacks(any_rig)
    for stack in stacks(any_rig):
        assert stack.length_mm is not None
        shown = stack.length_mm - stack.grip_mm - stack.washer_mm - stack.nut_mm
        assert shown >= stack.past_mm - 1e-4


def test_the_longest_stack_of_a_line_is_the_one_measured(any_rig: Assembly) -> None:
    lines = fastener_list(any_rig)
    for item in items(any_rig):
        for fastener in item.entry.fasteners:
            found = stack_of(fastener, item.entry, item.on)
            if isinstance(found, Stack) and "nut" not in fastener.what:
                listed = _line(lines, fastener, item.part_id, found)
                assert isinstance(listed.stack, Stack)
                assert listed.stack.least_mm >= found.least_mm - 1e-9
                assert listed.thinnest_mm <= found.grip_mm + 1e-9


def _line(
    lines: tuple[FastenerLine, ...], fastener: Fastener, part_id: str, stack: Stack
) -> FastenerLine:
    return next(
        line
        for line in lines
        if (line.what, line.size) == (fastener.what, fastener.size)
        and part_id in line.parts
        and isinstance(line.stack, Stack)
        and line.stack.length_mm == stack.length_mm
    )


def test_every_fastener_is_counted(any_rig: Assembly) -> None:
    wanted = sum(f.count for item in items(any_rig) for f in item.entry.fasteners)
    assert sum(line.count for line in fastener_list(any_rig)) == wanted


def test_a_u_bolt_by_hand() -> None:
    """2 in of bar, 3/8 in of plate, a 0.347 in flange nut and two threads of 1/16 in: 2.847 in."""
    clamp = PARTS["bar-clamp-2"]
    stack = stack_of(clamp.fasteners[0], clamp, PARTS["tube-2x1-4"])
    assert isinstance(stack, Stack)
    assert stack.grip_mm == pytest.approx(2.375 * IN)
    assert stack.washer_mm == 0.0
    assert stack.least_mm == pytest.approx(2.847 * IN)
    assert stack.length_mm == pytest.approx(3.0 * IN)
    assert stack.width_mm == pytest.approx(2.0 * IN)


def test_a_metric_blade_bolt_by_hand() -> None:
    """10 mm of upright, 12 of shank, 2.2 of washer, 8.4 of nut, 3 of thread: 35.6, sold as 40."""
    bolt = Fastener(what="bolt", size="M10", count=2, spanner=16.0)
    nut = Fastener(what="hex nut", size="M10", count=2, spanner=16.0)
    blade = PARTS["blade-8"].model_copy(update={"fasteners": (bolt, nut), "tang_thickness": 10.0})
    stack = stack_of(bolt, blade, PARTS["shank-40x12-500"])
    assert isinstance(stack, Stack)
    assert stack.least_mm == pytest.approx(35.6)
    assert stack.length_mm == 40.0


def test_a_clamp_round_a_thicker_tube_takes_the_tubes_size() -> None:
    clamp, tube = PARTS["bar-clamp-2"], PARTS["tube-2x1-4"].model_copy(update={"size": 51.2})
    stack = stack_of(clamp.fasteners[0], clamp, tube)
    assert isinstance(stack, Stack)
    assert stack.layers[0] == ("bar", 51.2)


def test_the_tee_clamp_reaches_round_bar_and_cross_tube() -> None:
    for name in ("tee-clamp-2", "tee-clamp-3", "tee-clamp-50"):
        clamp = PARTS[name]
        stack = stack_of(clamp.fasteners[0], clamp, None)
        assert isinstance(stack, Stack)
        assert [layer for layer, _ in stack.layers][:3] == ["bar", "plate", "cross tube"]
        assert stack.grip_mm > 2.0 * stack.layers[0][1]


def test_what_is_not_known_is_said() -> None:
    bolt = Fastener(what="bolt", size="3/8-16", count=2, spanner=14.3)
    blade, shank = PARTS["blade-8"], PARTS["shank-straight-20"]
    bare = blade.model_copy(update={"fasteners": (bolt,)})
    assert stack_of(bolt, bare, shank) == NO_NUT
    assert stack_of(bolt, blade, None) == NOT_LISTED
    holder = PARTS["rigid-holder"]
    assert stack_of(holder.fasteners[0], holder, PARTS["bar-clamp-2"]) == SET_BOLT
    odd = bolt.model_copy(update={"size": "3/8 BSW"})
    assert "not a thread" in str(stack_of(odd, blade, shank))
    lock = Fastener(what="lock nut", size="3/8-16", count=2, spanner=14.3)
    locked = blade.model_copy(update={"fasteners": (bolt, lock)})
    assert "lock nut is not in the tables" in str(stack_of(bolt, locked, shank))


def test_u_bolts_are_known_by_any_spelling() -> None:
    for what in ("U-bolt", "u-bolt", "U bolt"):
        assert is_u_bolt(Fastener(what=what, size="M10", count=1, spanner=16.0))


def test_a_grade_that_is_not_given_is_not_guessed(any_rig: Assembly) -> None:
    for line in fastener_list(any_rig):
        if not line.grade:
            assert line.dry is None
            assert line.oiled is None
            assert line.torque_note in (NO_GRADE, WITH_BOLT, SET_BOLT_TORQUE, PIVOT_TORQUE)


GRADED = """parts:
  bar-clamp-2:
    kind: bar-clamp
    fits: 2
    width: 2 3/4
    plate_thickness: 3/8
    plate_height: 4
    bolt_diameter: 3/8
    fasteners:
      - {what: U-bolt, size: 3/8-16, count: 2, spanner: 9/16, grade: GRADE}
      - {what: flange nut, size: 3/8-16, count: 4, spanner: 9/16}
stations:
"""


def test_a_given_grade_has_its_torque(built: Callable[[str, str], Assembly]) -> None:
    """31 lbf ft dry and 23 oiled for 3/8-16 of grade 5: the table in test_torque."""
    lines = fastener_list(built("stations:\n", GRADED.replace("GRADE", "Grade 5")))
    line = next(ln for ln in lines if ln.what == "U-bolt" and ln.size == "3/8-16")
    assert line.dry is not None
    assert line.oiled is not None
    assert round(line.dry.torque_lbf_ft) == 31
    assert round(line.oiled.torque_lbf_ft) == 23
    assert line.torque_note == ""


def test_a_grade_outside_the_tables_is_said(built: Callable[[str, str], Assembly]) -> None:
    lines = fastener_list(built("stations:\n", GRADED.replace("GRADE", "L9")))
    line = next(ln for ln in lines if ln.what == "U-bolt" and ln.size == "3/8-16")
    assert line.dry is None
    assert "'L9'" in line.torque_note


def test_torque_by_grade_leaves_out_what_clamps_nothing(any_rig: Assembly) -> None:
    lines = fastener_list(any_rig)
    told = {line.size for line in torque_table(lines)}
    clamping = {ln.size for ln in lines if ln.torque_note in (NO_GRADE, "")}
    assert told == {size for size in clamping if thread(size) is not None}
