"""What a bolt clamps, from its head or crown to its nut, and so how long it must be. All mm."""

from __future__ import annotations

from dataclasses import dataclass

from rigmodel.catalog.kinds import (
    ABlade,
    AnyPart,
    BarClamp,
    FlatShank,
    HalfBlade,
    Point,
    RoundShank,
    SpringHolder,
    SquareTube,
    TeeClamp,
    TrailingArm,
)
from rigmodel.catalog.part import Fastener
from rigmodel.catalog.strut_clamp import StrutClamp
from rigmodel.catalog.threads import (
    BOLT_LENGTHS,
    U_BOLT_LENGTHS,
    bolt_length,
    thread,
    u_bolt_length,
)

THREADS_PAST = 2  # full threads past the nut
NOT_LISTED = "not known: what it clamps is not in the catalogue"
SET_BOLT = "not known: how deep it screws in is not in the catalogue"
NO_NUT = "not known: no nut of its size is listed with it"

Layer = tuple[str, float]


@dataclass(frozen=True)
class Stack:
    """A bolt's length and what it follows from.

    Attributes:
        layers: what it clamps, from head or crown to nut, mm each.
        washer_mm: room for a washer under a plain nut; 0 under a flange nut.
        nut: which nut.
        nut_mm: greatest height of that nut.
        past_mm: two threads past the nut.
        length_mm: the next length it is sold in; None if there is none so long.
        source: where those lengths come from.
        u_bolt: the length is that inside the bend.
        width_mm: inside width of a U-bolt, else 0.
    """

    layers: tuple[Layer, ...]
    washer_mm: float
    nut: str
    nut_mm: float
    past_mm: float
    length_mm: float | None
    source: str
    u_bolt: bool = False
    width_mm: float = 0.0

    @property
    def grip_mm(self) -> float:
        """Thickness of all that is clamped."""
        return sum(mm for _, mm in self.layers)

    @property
    def least_mm(self) -> float:
        """The shortest it may be: grip, washer, nut and two threads."""
        return self.grip_mm + self.washer_mm + self.nut_mm + self.past_mm


def is_nut(fastener: Fastener) -> bool:
    """Whether it is a nut of some kind."""
    return "nut" in fastener.what.lower().split()


def is_u_bolt(fastener: Fastener) -> bool:
    """Whether it is a U-bolt."""
    return fastener.what.lower().replace(" ", "-") == "u-bolt"


def is_set_bolt(fastener: Fastener) -> bool:
    """Whether it presses on a shank instead of clamping two parts."""
    return fastener.what.lower() in ("set bolt", "set screw", "grub screw")


def is_pivot(fastener: Fastener) -> bool:
    """Whether something turns on it."""
    return fastener.what.lower() in ("pivot bolt", "pivot pin", "pin")


def is_bolt(fastener: Fastener) -> bool:
    """Whether it has a length of its own: any bolt, screw or pin."""
    words = fastener.what.lower().replace("-", " ").split()
    return any(word in ("bolt", "bolts", "screw", "screws", "pin") for word in words)


def stack_of(fastener: Fastener, part: AnyPart, on: AnyPart | None) -> Stack | str:
    """The stack of a bolt that belongs to a part, or why it is not known.

    Args:
        fastener: the bolt.
        part: the part it belongs to.
        on: what that part is fixed to, or None.
    """
    if is_set_bolt(fastener):
        return SET_BOLT
    layers = _layers(fastener, part, on)
    if not layers:
        return NOT_LISTED
    return _sized(fastener, part, layers, layers[0][1] if is_u_bolt(fastener) else 0.0)


def _layers(fastener: Fastener, part: AnyPart, on: AnyPart | None) -> tuple[Layer, ...]:
    if isinstance(part, BarClamp | TeeClamp | StrutClamp) and is_u_bolt(fastener):
        return _round_bar(part, on)
    if isinstance(part, StrutClamp) and is_pivot(fastener) and isinstance(on, SquareTube):
        return (("strut", on.size),)
    if isinstance(part, SpringHolder | TrailingArm) and is_pivot(fastener):
        return (("bracket over its cheeks", part.bracket_width),)
    if isinstance(part, ABlade | HalfBlade | Point) and fastener.what.lower() == "bolt":
        if isinstance(on, FlatShank):
            return ("upright", part.tang_thickness), ("shank", on.thickness)
        if isinstance(on, RoundShank):
            return ("upright", part.tang_thickness), ("stem", on.diameter)
    return ()


def _round_bar(part: BarClamp | TeeClamp | StrutClamp, on: AnyPart | None) -> tuple[Layer, ...]:
    """What a clamp's U-bolts hold together."""
    plate = ("plate", part.plate_thickness)
    if isinstance(part, StrutClamp):  # what it is fixed to is told as the strut pinned to it
        return ("bar", part.fits), plate
    bar = ("bar", _round(part.fits, on))
    if isinstance(part, BarClamp):
        return bar, plate
    return (
        bar,
        plate,
        ("cross tube", part.cross_fits),
        ("strap, as thick as the bolt", part.bolt_diameter),
    )


def _round(fits: float, on: AnyPart | None) -> float:
    """Size of the tube a clamp goes round: its own, or the tube's where that is a bit more."""
    return max(fits, on.size) if isinstance(on, SquareTube) else fits


def _sized(
    fastener: Fastener, part: AnyPart, layers: tuple[Layer, ...], width_mm: float
) -> Stack | str:
    of = thread(fastener.size)
    if of is None:
        return f"not known: '{fastener.size}' is not a thread in the tables"
    nut = next((f for f in part.fasteners if is_nut(f) and thread(f.size) == of), None)
    if nut is None:
        return NO_NUT
    height, washer = of.height_mm(nut.what.lower()), of.height_mm("washer")
    if height is None or washer is None:
        return f"not known: the height of a {nut.size} {nut.what} is not in the tables"
    washer = 0.0 if nut.what.lower() == "flange nut" else washer
    past = THREADS_PAST * of.pitch_mm
    least = sum(mm for _, mm in layers) + washer + height + past
    u_bolt = is_u_bolt(fastener)
    length = u_bolt_length(least, of.metric) if u_bolt else bolt_length(least, of.metric)
    source = U_BOLT_LENGTHS if u_bolt else BOLT_LENGTHS
    return Stack(
        layers, washer, nut.what, height, past, length, source, u_bolt=u_bolt, width_mm=width_mm
    )
