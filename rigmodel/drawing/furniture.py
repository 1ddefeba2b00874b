"""What every sheet carries: the frame, the title block, the cautions, tables and notes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache

from rigmodel import __version__
from rigmodel.drawing.lettering import on_paper, shortened, text_width, wrapped
from rigmodel.drawing.primitives import (
    LETTER_MM,
    SMALL_MM,
    TITLE_MM,
    Circle,
    Item,
    Layer,
    Point,
    Polyline,
    Words,
)
from rigmodel.drawing.sheet import Box, Paper
from rigmodel.report.cautions import CAUTIONS
from rigmodel.units import Unit

# Frame: 20 mm on the filing side, 10 mm elsewhere (ISO 5457); title block 180 mm (ISO 7200); both
# from memory.
_FILING_MM, _BORDER_MM = 20.0, 10.0
BLOCK_WIDTH_MM, BLOCK_HEIGHT_MM = 180.0, 26.0
_LINE = 1.55  # from base line to base line, in letter heights
_PAD_MM = 1.5
_CAUTION = "Caution: " + " ".join(CAUTIONS)
UNIT_NAMES = {
    Unit.MM: "millimetres",
    Unit.CM: "centimetres",
    Unit.M: "metres",
    Unit.IN: "inches",
    Unit.FT: "feet and inches",
}


@dataclass(frozen=True)
class Title:
    """What the title block says.

    Attributes:
        scene: the scene's title.
        sheet: what the sheet shows.
        scale: such as ``1:10``.
        unit: unit of the numbers.
        number: of this sheet, from 1.
        of: how many sheets there are.
        date: given by the caller; may be empty.
    """

    scene: str
    sheet: str
    scale: str
    unit: Unit
    number: int
    of: int
    date: str


def frame_box(paper: Paper) -> Box:
    """The inside of the frame."""
    width, height = paper.size_mm
    return Box(_FILING_MM, _BORDER_MM, width - _BORDER_MM, height - _BORDER_MM)


@cache
def _cautions(paper: Paper) -> tuple[str, ...]:
    return wrapped(_CAUTION, SMALL_MM, frame_box(paper).width - 2 * _PAD_MM)


def _foot(paper: Paper) -> float:
    """Top of the cautions' strip."""
    return frame_box(paper).bottom + len(_cautions(paper)) * SMALL_MM * _LINE + 2 * _PAD_MM


def drawing_area(paper: Paper) -> Box:
    """Where views and tables may stand: inside the frame, over the title block."""
    frame = frame_box(paper)
    return Box(
        frame.left + 3.0, _foot(paper) + BLOCK_HEIGHT_MM + 2.0, frame.right - 3.0, frame.top - 3.0
    )


def notes_area(paper: Paper) -> Box:
    """Where notes stand: left of the title block."""
    frame, foot = frame_box(paper), _foot(paper)
    return Box(
        frame.left + _PAD_MM,
        foot + _PAD_MM,
        frame.right - BLOCK_WIDTH_MM - 2 * _PAD_MM,
        foot + BLOCK_HEIGHT_MM,
    )


def rectangle(box: Box, layer: Layer) -> Polyline:
    """A box as a closed line."""
    corners = (
        (box.left, box.bottom),
        (box.right, box.bottom),
        (box.right, box.top),
        (box.left, box.top),
    )
    return Polyline(corners, layer, closed=True)


def _line(a: Point, b: Point, layer: Layer = Layer.TABLE) -> Polyline:
    return Polyline((a, b), layer)


def furniture(paper: Paper, title: Title, notes: Sequence[str]) -> tuple[Item, ...]:
    """Frame, cautions, title block and notes of one sheet."""
    return (
        rectangle(frame_box(paper), Layer.FRAME),
        *_caution_strip(paper),
        *_block(paper, title),
        *_notes(paper, notes),
    )


def _caution_strip(paper: Paper) -> Iterator[Item]:
    frame, top = frame_box(paper), _foot(paper)
    yield _line((frame.left, top), (frame.right, top))
    for k, text in enumerate(_cautions(paper)):
        base = top - _PAD_MM - SMALL_MM - k * SMALL_MM * _LINE
        yield Words(on_paper(text), (frame.left + _PAD_MM, base), SMALL_MM)


def _block(paper: Paper, title: Title) -> Iterator[Item]:
    frame, foot = frame_box(paper), _foot(paper)
    box = Box(frame.right - BLOCK_WIDTH_MM, foot, frame.right, foot + BLOCK_HEIGHT_MM)
    yield rectangle(box, Layer.TABLE)
    middle = foot + 12.0
    yield _line((box.left, middle), (box.right, middle))
    split = box.left + 104.0
    yield from _cell(Box(box.left, middle, split, box.top), "rig", title.scene, TITLE_MM)
    yield _line((split, middle), (split, box.top))
    yield from _cell(Box(split, middle, box.right, box.top), "sheet shows", title.sheet, TITLE_MM)
    cells = (
        ("scale", title.scale, 24.0),
        ("lengths in", UNIT_NAMES[title.unit], 42.0),
        ("sheet", f"{title.number} of {title.of}", 24.0),
        ("date", title.date, 34.0),
        ("made by", f"rigmodel {__version__}", 38.0),
    )
    left = box.left
    for label, text, width in cells:
        yield from _cell(Box(left, foot, left + width, middle), label, text, LETTER_MM)
        left += width
        yield _line((left, foot), (left, middle))
    yield from _third_angle((left + (box.right - left) / 2.0, (foot + middle) / 2.0))


def _cell(box: Box, label: str, text: str, height: float) -> Iterator[Item]:
    yield Words(label, (box.left + _PAD_MM, box.top - 1.2 - SMALL_MM), SMALL_MM)
    room = box.width - 2 * _PAD_MM
    if text_width(on_paper(text), height) > room:
        height = min(height, LETTER_MM)
    shown = shortened(on_paper(text), height, room)
    if shown:
        yield Words(shown, (box.left + _PAD_MM, box.bottom + 2.4), height)


def _third_angle(centre: Point) -> Iterator[Item]:
    """The sign of third-angle projection: a cone's end and side (ISO 5456-2; from memory)."""
    u, v = centre
    ring, cone = u - 4.2, u + 1.2
    yield Circle((ring, v), 1.5, Layer.TABLE)
    yield Circle((ring, v), 3.0, Layer.TABLE)
    yield Polyline(
        ((cone, v - 1.5), (cone, v + 1.5), (cone + 6.0, v + 3.0), (cone + 6.0, v - 3.0)),
        Layer.TABLE,
        closed=True,
    )
    yield _line((ring - 4.0, v), (cone + 7.0, v), Layer.CENTRE)
    yield _line((ring, v - 4.0), (ring, v + 4.0), Layer.CENTRE)


def _notes(paper: Paper, notes: Sequence[str]) -> Iterator[Item]:
    area = notes_area(paper)
    lines = [
        line
        for note in notes
        for k, line in enumerate(wrapped(on_paper(note), LETTER_MM, area.width))
    ]
    height = LETTER_MM
    if len(lines) * height * _LINE > area.height:
        height = SMALL_MM
        lines = [line for note in notes for line in wrapped(on_paper(note), height, area.width)]
    most = int(area.height / (height * _LINE))
    for k, line in enumerate(lines[:most]):
        shown = line if k < most - 1 or len(lines) <= most else line + " …"
        yield Words(shown, (area.left, area.top - height - k * height * _LINE), height)


@dataclass(frozen=True)
class Table:
    """A table of texts.

    Attributes:
        heads: one text over each column.
        rows: the texts of each row.
    """

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    @property
    def widths(self) -> tuple[float, ...]:
        """Width of each column, mm."""
        columns = zip(self.heads, *self.rows, strict=True)
        return tuple(
            max(text_width(on_paper(text), LETTER_MM) for text in column) + 2 * _PAD_MM
            for column in columns
        )

    @property
    def width(self) -> float:
        """Width of the whole, mm."""
        return sum(self.widths)


ROW_MM = 2 * LETTER_MM


def table_height(rows: int) -> float:
    """Height of a table with that many rows, mm."""
    return (rows + 1) * ROW_MM


def rows_that_fit(height: float) -> int:
    """How many rows a table of that height can have."""
    return max(0, int((height + 1e-6) / ROW_MM) - 1)


def table_items(table: Table, corner: Point, widths: Sequence[float]) -> Iterator[Item]:
    """A table with its upper left corner at a point, mm on paper."""
    left, top = corner
    right, bottom = left + sum(widths), top - table_height(len(table.rows))
    yield rectangle(Box(left, bottom, right, top), Layer.TABLE)
    for k, row in enumerate((table.heads, *table.rows)):
        base = top - k * ROW_MM
        at = left
        for text, width in zip(row, widths, strict=True):
            place = (at + _PAD_MM, base - ROW_MM + (ROW_MM - LETTER_MM) / 2.0)
            if text:
                yield Words(shortened(on_paper(text), LETTER_MM, width - 2 * _PAD_MM), place)
            at += width
        if k:
            yield _line((left, base), (right, base))
    at = left
    for width in widths[:-1]:
        at += width
        yield _line((at, top), (at, bottom))
