"""The clamp that a strut is pinned to."""

from typing import Literal

from pydantic import Field

from rigmodel.catalog.part import PartEntry
from rigmodel.reading.fields import PositiveLength


class StrutClamp(PartEntry):
    """Plate on top of the bar with a lug that a strut's end is pinned to, and two U-bolts."""

    kind: Literal["strut-clamp"]
    fits: PositiveLength = Field(description="Outside size of the square bar it goes round")
    width: PositiveLength = Field(description="Length of bar it covers")
    plate_thickness: PositiveLength = Field(description="Thickness of its plate")
    plate_depth: PositiveLength = Field(description="Its plate, fore and aft")
    bolt_diameter: PositiveLength = Field(description="Diameter of the U-bolts' rod")
    lug_thickness: PositiveLength = Field(description="Thickness of the lug in the strut's slot")
    pin_up: PositiveLength = Field(description="Middle of the pin over the plate")
    pin_diameter: PositiveLength = Field(description="Diameter of the pin")

    @property
    def pin_over_bar(self) -> float:
        """Middle of the pin over the bar's axis, mm."""
        return self.fits / 2.0 + self.plate_thickness + self.pin_up

    @property
    def past_pin(self) -> float:
        """How far a strut's end reaches past its pin, mm: one and a half pins, as is usual."""
        return 1.5 * self.pin_diameter
