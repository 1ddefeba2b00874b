"""Marks on the bar and settings of the tools, as they stand on the sheet."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rigmodel.catalog.kinds import TrailingArm
from rigmodel.sheet.facts import Facts
from rigmodel.sheet.words import counted, differs, ordinal, printable, runs, sided
from rigmodel.shop.marks import Mark, ToolMark

SETTINGS_NOTE = (
    "Depth follows from the shank; set it with the rig on its blocks. Springs of arms and spring "
    "holders: the setting is not modelled here. Follow the maker's manual, and set equal tools "
    "alike."
)


@dataclass(frozen=True)
class MarkRow:
    """One clamp.

    Attributes:
        number: counted from the left, from 1.
        place: from the bar's centre to the clamp's middle, with LEFT, RIGHT or CENTRE.
        hole: holes from the one at the bar's centre, or an empty string.
        name: station.
        tool: what it carries.
        tool_place: where the tool's middle is, if not at the clamp's; or an empty string.
        face: ``front`` for a clamp whose plate is on the bar's front, else empty.
    """

    number: int
    place: str
    hole: str
    name: str
    tool: str
    tool_place: str
    face: str


@dataclass(frozen=True)
class SettingRow:
    """Tools that are set alike.

    Attributes:
        numbers: their marks.
        tool: what they are.
        depth: working depth.
        shows: length of shank above its holder.
        foot: from the shank's foot to the middle of its holder.
        hole: hole the shank hangs in, counted from the lowest setting, or an empty string.
        arm: angle of the arm and what it drops, or an empty string.
        rank: where it stands before or behind the bar, or an empty string.
    """

    numbers: str
    tool: str
    depth: str
    shows: str
    foot: str
    hole: str
    arm: str
    rank: str


@dataclass(frozen=True)
class BarDrawing:
    """The bar to scale; places in mm from its centre, left positive.

    Attributes:
        reach_mm: from the bar's centre to the farthest thing drawn.
        length_mm: the bar.
        length: the same in words.
        half: half of it in words.
        clamps: number, place, width of each clamp.
        rows: name and place of each row.
        tools: right and left edge of each tool's working width.
        free: right and left end of each stretch kept free.
    """

    reach_mm: float
    length_mm: float
    length: str
    half: str
    clamps: tuple[tuple[int, float, float], ...]
    rows: tuple[tuple[str, float], ...]
    tools: tuple[tuple[float, float], ...]
    free: tuple[tuple[float, float], ...]


def mark_rows(facts: Facts) -> tuple[MarkRow, ...]:
    """Every clamp from the bar's left end to its right end."""
    return tuple(_mark_row(facts, i + 1, mark) for i, mark in enumerate(facts.marks))


def _mark_row(facts: Facts, number: int, mark: Mark) -> MarkRow:
    unit = facts.unit
    hole = "" if mark.hole is None else counted(abs(mark.hole), "hole")
    apart = [t for t in mark.tools if differs(t.centre_mm, mark.centre_mm)]
    return MarkRow(
        number,
        sided(mark.centre_mm, unit),
        "centre hole" if mark.hole == 0 else hole,
        printable(mark.station),
        ", ".join(facts.tools[t.name] for t in mark.tools),
        ", ".join(sided(t.centre_mm, unit) for t in apart),
        "front" if mark.face == "front" else "",
    )


def marks_note(facts: Facts) -> str:
    """How to read the marks."""
    widths: dict[float, list[int]] = {}
    for i, mark in enumerate(facts.marks):
        widths.setdefault(round(mark.width_mm, 2), []).append(i + 1)
    told = [
        f"{facts.tape(width / 2.0)} each way"
        + (f" (marks {runs(numbers)})" if len(widths) > 1 else "")
        for width, numbers in widths.items()
    ]
    text = (
        "LEFT and RIGHT are the driver's, looking forward. A mark is the middle of a clamp; its "
        f"edges lie {'; '.join(told)}."
    )
    scene = facts.assembly.scene
    if scene.tube.hole_pitch is not None:
        text += (
            " Holes count from the one at the bar's centre, which counts 0; they lie "
            f"{scene.say(scene.tube.hole_pitch)} apart."
        )
    return text


def setting_rows(facts: Facts) -> tuple[SettingRow, ...]:
    """Tools set alike on one line, in the order of their first mark."""
    depths = {tool.part: tool.depth_mm for tool in facts.assembly.tools}
    groups: dict[tuple[str, ...], list[int]] = {}
    for i, mark in enumerate(facts.marks):
        for tool in mark.tools:
            told = _set_words(facts, mark, tool, depths[tool.name])
            groups.setdefault(told, []).append(i + 1)
    return tuple(SettingRow(runs(numbers), *told) for told, numbers in groups.items())


def _set_words(facts: Facts, mark: Mark, tool: ToolMark, depth_mm: float) -> tuple[str, ...]:
    shows = foot = "–"
    hole = ""
    shank = tool.shank
    if shank is not None:
        shows, foot = facts.tape(shank.above_mm), facts.tape(shank.slide_mm)
        if shank.hole is not None:
            hole = f"the {ordinal(shank.hole)} hole from its lowest setting"
        if not shank.in_range:
            hole = "OUT OF REACH: the shank is too short or too long"
    return (
        facts.tools[tool.name],
        facts.tape(depth_mm),
        shows,
        foot,
        hole,
        _arm_words(facts, tool),
        _rank_words(facts, mark),
    )


def _arm_words(facts: Facts, tool: ToolMark) -> str:
    if tool.arm_deg is None:
        return ""
    assembly = facts.assembly
    place = next(t for t in assembly.tools if t.part == tool.name)
    part = assembly.mechanism.part(place.arm.removesuffix(".float"))
    entry = assembly.scene.catalogue.parts[part.item]
    assert isinstance(entry, TrailingArm)  # only arms float
    drop = entry.length * math.sin(math.radians(-tool.arm_deg))
    below = drop >= 0.0
    return (
        f"arm {abs(tool.arm_deg):.1f}° {'below' if below else 'above'} level: its end "
        f"{facts.tape(abs(drop))} {'lower' if below else 'higher'} than its pivot"
    )


def _rank_words(facts: Facts, mark: Mark) -> str:
    if not mark.rank_mm:
        return ""
    where, end = ("ahead of", "front") if mark.rank_mm > 0.0 else ("behind", "rear")
    text = f"cross tube, {facts.tape(abs(mark.rank_mm))} {where} its place on the bar"
    if mark.rank_hole is not None:
        text += f": the {ordinal(mark.rank_hole)} hole from its {end} end under the bar's middle"
    return text


def bar_drawing(facts: Facts) -> BarDrawing:
    """The bar to scale with its clamps, the rows and the working widths."""
    assembly = facts.assembly
    bar = assembly.scene.spec.toolbar
    clamps = tuple((i + 1, m.centre_mm, m.width_mm) for i, m in enumerate(facts.marks))
    rows = tuple((row.name, row.y_mm - bar.offset) for row in assembly.rows)
    tools = tuple((t.low_mm - bar.offset, t.high_mm - bar.offset) for t in assembly.tools)
    far = [bar.length / 2.0, *(abs(y) for _, y in rows), *(abs(y) for t in tools for y in t)]
    return BarDrawing(
        max(far),
        bar.length,
        facts.tape(bar.length),
        facts.tape(bar.length / 2.0),
        clamps,
        rows,
        tools,
        tuple((stretch.low, stretch.high) for stretch in bar.no_clamp),
    )
