"""Draft, side draft and yaw of the whole rig, line by line, as every output tells them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from rigmodel.loads import words
from rigmodel.loads.account import Account
from rigmodel.loads.draft import Pull
from rigmodel.loads.side import SideDraft
from rigmodel.sides import side, way
from rigmodel.units import Unit

NOTHING_N, NOTHING_NM = 0.05, 0.05  # less than any figure shows
HP_KW = 0.745699872
"""The mechanical horsepower, 550 ft lbf/s, kW (from memory)."""


@dataclass(frozen=True)
class Line:
    """One line.

    Attributes:
        what: what is told.
        value: its value, at the middle of its range.
        more: its range, its side, or why it is not known; may be empty.
    """

    what: str
    value: str
    more: str = ""

    @property
    def text(self) -> str:
        """Value and what more there is, in one."""
        return f"{self.value}, {self.more}" if self.more else self.value


def pull_lines(found: Account) -> tuple[Line, ...]:
    """The lines of a rig; empty where the draft is not known."""
    pull, unit = found.pull, found.assembly.scene.unit
    if pull is None:
        return ()
    return (
        Line(
            "Draft of the rig",
            words.force(pull.draft_n, unit),
            f"{words.force(pull.low_n, unit)} to {words.force(pull.high_n, unit)}",
        ),
        Line("Line of the draft", side(pull.line_mm, unit, "the tractor's centre")),
        _side(pull, found.side, unit),
        *_yaw(pull, found.side, unit),
        *_course(pull, unit),
        *_power(pull),
    )


def pull_short(found: Account) -> str:
    """The most of it in few words, for where there is little room; empty as above."""
    pull, unit = found.pull, found.assembly.scene.unit
    if pull is None:
        return ""
    high = "" if pull.high_n == pull.draft_n else f", up to {words.force(pull.high_n, unit)}"
    aside = _side(pull, found.side, unit)
    told = aside.value if pull.side_n is not None and not pull.side_n else aside.text
    yaw, turns = ("not known", "") if pull.turning_nm is None else _turning(pull.turning_nm, unit)
    return f"draft {words.force(pull.draft_n, unit)}{high}; side draft {told}; yaw moment {yaw}" + (
        f", {turns}" if turns else ""
    )


def _side(pull: Pull, of: SideDraft, unit: Unit) -> Line:
    what = "Side draft"
    if pull.side_n is None:
        return Line(what, "not known", _wanting(of))
    if abs(pull.side_n) >= NOTHING_N:
        return Line(what, words.force(abs(pull.side_n), unit), f"to the {way(pull.side_n)}")
    pushed = len(of.stated) + sum(len(group.tools) for group in of.open)
    return Line(what, "none", _why_none(of) if pushed else "every tool is its own mirror image")


def _why_none(of: SideDraft) -> str:
    if of.open:
        return "tools and their mirror images push against each other"
    return "what is stated adds up to zero"


def _wanting(of: SideDraft) -> str:
    open_ = (group for group in of.open if not group.level)
    return "; ".join(f"{group.named}: give side_n on the station" for group in open_)


def _yaw(pull: Pull, of: SideDraft, unit: Unit) -> Iterator[Line]:
    yield Line("Yaw moment of the draft", *_turning(pull.yaw_nm, unit))
    about = "Yaw moment of the side draft, about the rear axle's middle"
    if pull.side_yaw_nm is None or pull.turning_nm is None:
        yield Line(about, "not known", _wanting(of))
    elif abs(pull.side_yaw_nm) >= NOTHING_NM:
        yield Line(about, *_turning(pull.side_yaw_nm, unit))
        yield Line("Both together", *_turning(pull.turning_nm, unit))


def _turning(nm: float, unit: Unit) -> tuple[str, str]:
    if abs(nm) < NOTHING_NM:
        return "none", ""
    return words.moment(abs(nm), unit), f"turns the tractor to the {way(nm)}"


def _course(pull: Pull, unit: Unit) -> Iterator[Line]:
    """What the ground must push the tyres with, so that the tractor goes straight on."""
    for axle, newtons in (("front", pull.front_n), ("rear", pull.rear_n)):
        if newtons is not None and abs(newtons) >= NOTHING_N:
            what = f"Push on the {axle} tyres that holds the course"
            yield Line(what, words.force(abs(newtons), unit), f"to the {way(newtons)}")


def _power(pull: Pull) -> Iterator[Line]:
    if pull.power_kw is not None:
        low, high = (
            pull.power_kw * end / pull.draft_n if pull.draft_n else 0.0
            for end in (pull.low_n, pull.high_n)
        )
        told = f"{pull.power_kw:.1f} kW ({pull.power_kw / HP_KW:.1f} hp)"
        yield Line("Drawbar power", told, f"{low:.1f} to {high:.1f} kW")
