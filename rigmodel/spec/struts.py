"""Struts: pin-ended braces from the frame that the bar hangs on down to places on the bar."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from pydantic import Field

from rigmodel.catalog.entry import Entry
from rigmodel.catalog.kinds import SquareTube
from rigmodel.catalog.store import Catalogue
from rigmodel.catalog.strut_clamp import StrutClamp
from rigmodel.reading.fields import Ident, Length, Number, PositiveLength
from rigmodel.spec.problem import Loc, Problem, unknown
from rigmodel.units import Unit, format_length

_FIT_MM = 0.5  # a clamp and its bar match within this


class Strut(Entry):
    """A tube, pinned at both ends, that keeps the bar from sinking and from bending back.

    Its upper end is pinned to the frame that the bar hangs on, which rises with the bar.
    """

    at: Length = Field(description="Where it holds the bar, from the bar's centre, left positive")
    top: Length = Field(
        description="Its upper pin along the bar, from the bar's centre, left positive"
    )
    height: PositiveLength = Field(description="Its upper pin over the bar's centre")
    ahead: Length = Field(default=0.0, description="Its upper pin ahead of the bar's centre")
    tube: Ident = Field(description="Square tube from the catalogue that it is cut from")
    clamp: Ident = Field(description="Strut clamp that its foot is pinned to")
    yield_mpa: Number | None = Field(
        default=None, description="Yield strength of its steel, MPa", gt=0, le=3000
    )

    def written(self, length: Callable[[float], str]) -> dict[str, str]:
        """Its values as a scene has them, without those left out.

        Args:
            length: writes mm as text.
        """
        found = {"at": length(self.at), "top": length(self.top), "height": length(self.height)}
        if self.ahead:
            found["ahead"] = length(self.ahead)
        found |= {"tube": self.tube, "clamp": self.clamp}
        if self.yield_mpa is not None:
            found["yield_mpa"] = f"{self.yield_mpa:g}"
        return found


def strut_problems(
    struts: Sequence[Strut], catalogue: Catalogue, bar: SquareTube, unit: Unit
) -> Iterator[Problem]:
    """Struts that do not go together with the catalogue or with the bar.

    Args:
        struts: the struts.
        catalogue: all parts.
        bar: the bar's section.
        unit: unit to say lengths in.
    """
    for index, strut in enumerate(struts):
        loc: Loc = ("toolbar", "struts", index)
        if not isinstance(catalogue.parts.get(strut.tube), SquareTube):
            tubes = _ids(catalogue, SquareTube)
            yield unknown((*loc, "tube"), strut.tube, "square tube", tubes)
        clamp = catalogue.parts.get(strut.clamp)
        if not isinstance(clamp, StrutClamp):
            clamps = _ids(catalogue, StrutClamp)
            yield unknown((*loc, "clamp"), strut.clamp, "strut clamp", clamps)
            continue
        if abs(clamp.fits - bar.size) > _FIT_MM:
            fitting = strut_clamps(catalogue, bar.size)
            yield Problem(
                (*loc, "clamp"),
                f"clamp '{strut.clamp}' goes round a {format_length(clamp.fits, unit)} bar, but "
                f"the bar is {format_length(bar.size, unit)}",
                "a strut-clamp for the bar's size",
                fitting[0] if fitting else "",
            )
        least = clamp.pin_over_bar + 2.0 * clamp.past_pin
        if strut.height < least:
            yield Problem(
                (*loc, "height"),
                f"a strut whose upper pin is {format_length(strut.height, unit)} over the bar's "
                f"centre does not rise from its clamp, whose pin is "
                f"{format_length(clamp.pin_over_bar, unit)} over it",
                f"{format_length(least, unit)} or more",
            )


def strut_clamps(catalogue: Catalogue, size: float) -> tuple[str, ...]:
    """Strut clamps for a bar of some size, by id."""
    return tuple(
        name
        for name, part in catalogue.parts.items()
        if isinstance(part, StrutClamp) and abs(part.fits - size) <= _FIT_MM
    )


def _ids(catalogue: Catalogue, kind: type) -> list[str]:
    return [name for name, part in catalogue.parts.items() if isinstance(part, kind)]
