"""What all kinds of part have in common."""

from pydantic import Field

from rigmodel.catalog.entry import Entry
from rigmodel.reading.fields import Count, PositiveLength


class Fastener(Entry):
    """Bolts or nuts that belong to a part."""

    what: str = Field(description="What it is, such as 'U-bolt' or 'bolt'", min_length=1)
    size: str = Field(description="Thread, such as 3/8-16 or M10", min_length=1)
    count: Count = Field(description="How many on one part", ge=1, le=64)
    spanner: PositiveLength = Field(description="Width across flats of the spanner it takes")
    grade: str = Field(default="", description="Strength grade as marked on the head, if known")


class PartEntry(Entry):
    """Fields shared by all parts."""

    summary: str = Field(default="", description="One line for people", max_length=200)
    fasteners: tuple[Fastener, ...] = Field(default=(), description="Bolts and nuts it comes with")
