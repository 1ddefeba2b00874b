"""A comparison of two rigs as text for the shop, and as JSON."""

from __future__ import annotations

import json
from collections.abc import Iterator

from rigmodel.advise.compare import SAME_MM, ClampStep, Comparison, Deed, Other, Reset
from rigmodel.advise.standing import Standing
from rigmodel.lines import wrapped
from rigmodel.shop.words import rank
from rigmodel.sides import at_side, side, way
from rigmodel.units import Unit, format_length

_KEYS = ("deed", "tools", "before", "after", "from_mm", "to_mm")


def comparison_text(found: Comparison, unit: Unit, width: int = 100) -> str:
    """What to do, in the order of doing it.

    Args:
        found: what `compare` returned.
        unit: unit to print lengths in.
        width: columns to wrap to.
    """
    lines = list(_lines(found, unit))
    told = (part for line in lines for part in wrapped(line, max(width, 60), rest=5))
    return "\n".join(told) + "\n"


def _lines(found: Comparison, unit: Unit) -> Iterator[str]:
    yield f"From: {found.before}"
    yield f"To:   {found.after}"
    yield ""
    yield summary(found)
    if found.stands is not None:
        yield _standing(found.stands, "first", found.rows[1], unit)
    if found.stands_back is not None:
        yield _standing(found.stands_back, "second", found.rows[0], unit)
    yield ""
    if found.others:
        yield "Tractor and bar"
        yield from (f"  - {_other(other, unit)}" for other in found.others)
        yield ""
    steps = [s for s in found.steps if s.deed is not Deed.STAY or s.resets]
    if steps:
        yield "On the bar, in this order (marks are the middle of a clamp from the bar's centre)"
        yield from (f"{i:>3}. {_step(step, unit)}" for i, step in enumerate(steps, start=1))
        yield ""
    stays = [s for s in found.steps if s.deed is Deed.STAY and not s.resets]
    if stays:
        yield "Stay as they are"
        yield from (f"  - {_where(s, unit)}" for s in stays)
        yield ""
    yield (
        "Only the way from one rig to the other is worked out here: check the second one with "
        "`rigmodel check`."
    )


def summary(found: Comparison) -> str:
    """How much work it is, in a sentence or two."""
    moved = len(found.of(Deed.SLIDE, Deed.REHANG))
    off, on = len(found.of(Deed.TAKE_OFF)), len(found.of(Deed.PUT_ON))
    if not found.same_bar:
        head = "The bars differ: every clamp comes off the one and goes on the other."
    elif found.nothing_moves and not (off or on):
        head = "The same rig: nothing on the bar is touched."
    elif found.nothing_moves:
        one, two = found.rows
        head = (
            f"The same rig serves {_count(one, 'row')} and {_count(two, 'row')} without moving "
            "anything: every clamp that both use stays at its mark."
            if one != two
            else "Every clamp that both use stays at its mark."
        )
    else:
        head = ""
    told = (
        f"{_count(found.loosened, 'clamp')} loosened, and fewer cannot do: {moved} moved, {off} "
        f"taken off; {on} put on."
    )
    return f"{head} {told}".strip()


def _standing(found: Standing, which: str, rows: int, unit: Unit) -> str:
    """What a rig does over the other's rows with nothing moved."""
    other = "second" if which == "first" else "first"
    served = ", ".join(f"{row} by its {by}" for row, by in found.rows)
    told = (
        f"As it stands, no clamp moved, the {which} rig serves the {other}'s {_count(rows, 'row')} "
        f"too: {served}."
    )
    if found.idle:
        told += f" Its {', '.join(found.idle)} stand{'s' * (len(found.idle) == 1)} by no row."
    for low, high in sorted(found.unworked, reverse=True):
        told += (
            f" It leaves {format_length(high - low, unit)} that the {other} hoes, from "
            f"{side(high, unit)} to {side(low, unit)}: put a tool there."
        )
    return told


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def _other(other: Other, unit: Unit) -> str:
    if isinstance(other.before, str) or isinstance(other.after, str):
        return f"{other.what}: {other.before} → {other.after}"
    by = other.after - other.before
    if other.kind == "deg":
        return f"{other.what}: {other.before:g}° → {other.after:g}°"
    sign = "+" if by > 0.0 else "−"
    half = f", {format_length(abs(by) / 2.0, unit)} a side" if other.each_side else ""
    return (
        f"{other.what}: {format_length(other.before, unit)} → {format_length(other.after, unit)} "
        f"({sign}{format_length(abs(by), unit)}{half})"
    )


def _where(step: ClampStep, unit: Unit) -> str:
    name = step.before if step.before == step.after else f"{step.before} → {step.after}"
    return f"{name} ({step.tools}), {at_side(step.from_mm or 0.0, unit)}"


def _step(step: ClampStep, unit: Unit) -> str:
    name = step.before or step.after
    told = f"{name} ({step.tools})"
    from_, to = at_side(step.from_mm or 0.0, unit), at_side(step.to_mm or 0.0, unit)
    if step.deed in (Deed.TAKE_OFF, Deed.LAY_BY):
        return f"Take off {told}, {from_}{', and lay it by' * (step.deed is Deed.LAY_BY)}."
    if step.deed is Deed.PUT_ON:
        return f"Put on {told}, {to}."
    becomes = f", where it is {step.after}" if step.after != step.before else ""
    sets = "".join(f" {_reset(reset, unit)}" for reset in step.resets)
    if step.deed is Deed.STAY:
        return f"Leave {told} at its mark, {to}{becomes}.{sets}"
    does = f"Move {told}" if step.deed is Deed.SLIDE else f"Hang {told} on again"
    if abs(step.by_mm) <= SAME_MM:
        return f"{does}, {to}{becomes}.{sets}"
    by = f"{format_length(abs(step.by_mm), unit)} to the {way(step.by_mm)}"
    return f"{does} {by}: {from_} → {to}{becomes}.{sets}"


def _reset(reset: Reset, unit: Unit) -> str:
    if reset.what == "rank":
        was, becomes = (rank(v, unit) or "no rank" for v in (reset.from_mm, reset.to_mm))
        return f"Set its rank: {was} → {becomes}."
    was, becomes = (format_length(v, unit) for v in (reset.from_mm, reset.to_mm))
    return f"Set {reset.what} so that {becomes} shows above its holder (was {was})."


def comparison_json(found: Comparison) -> str:
    """The comparison as JSON text with a trailing newline; lengths are mm, angles degrees."""
    value = {
        "from": found.before,
        "to": found.after,
        "rows": list(found.rows),
        "same_bar": found.same_bar,
        "nothing_moves": found.nothing_moves,
        "clamps_loosened": found.loosened,
        "stands": _plain_standing(found.stands),
        "stands_back": _plain_standing(found.stands_back),
        "steps": [_plain(step) for step in found.steps],
        "others": [
            {"what": o.what, "from": o.before, "to": o.after, "kind": o.kind} for o in found.others
        ],
    }
    return json.dumps(value, indent=2, ensure_ascii=False) + "\n"


def _plain_standing(found: Standing | None) -> dict[str, object] | None:
    if found is None:
        return None
    return {
        "rows": [list(pair) for pair in found.rows],
        "idle": list(found.idle),
        "unworked_mm": [list(strip) for strip in found.unworked],
    }


def _plain(step: ClampStep) -> dict[str, object]:
    plain: dict[str, object] = {key: getattr(step, key) for key in _KEYS}
    plain["loosened"] = step.loosened
    plain["resets"] = [
        {"what": r.what, "from_mm": r.from_mm, "to_mm": r.to_mm} for r in step.resets
    ]
    return plain
