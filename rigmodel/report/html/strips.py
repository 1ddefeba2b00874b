"""Coverage across the bed as a drawing: rows, hoes, finger wheels, and what comes of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache, lru_cache

from rigmodel.assembly.model import Role
from rigmodel.assembly.rig import Assembly, ToolPlace
from rigmodel.clearance.checks.coverage import rig_coverage
from rigmodel.coverage import Coverage, Strip, width
from rigmodel.report.html.across import LEFT, WIDE, Scale, grid
from rigmodel.report.html.markup import Html, scrolled, tag
from rigmodel.sides import side

_LANE, _GAP, _AXIS = 24.0, 12.0, 40.0
_LETTER = 6.4  # width of a letter of the labels, on the safe side


def coverage_chart(assembly: Assembly) -> Html:
    """The drawing with its caption, its key, and the same in words."""
    found = rig_coverage(assembly)
    scale = _scale(assembly, found)
    body, height = _lanes(assembly, found, scale)
    told = in_words(assembly, found)
    drawing = tag(
        "svg",
        {
            "class": "coverage",
            "viewBox": f"0 0 {WIDE:g} {height + _AXIS:g}",
            "role": "img",
            "aria-label": f"Strips across the bed, seen from behind. {told}",
        },
        _patterns(),
        list(grid(assembly.scene.unit, scale, height)),
        body,
    )
    return tag(
        "figure",
        None,
        scrolled("Coverage drawing", drawing),
        tag("figcaption", None, told),
        _key(),
    )


def in_words(assembly: Assembly, found: Coverage) -> str:
    """What the drawing shows, as a sentence."""
    say = assembly.scene.say
    texts = [f"Field strip {say(found.field[1] - found.field[0])} wide"]
    for name, strips in (("missed", found.missed), ("worked twice", found.doubled)):
        listed = "; ".join(
            f"{say(high - low)} at {side((low + high) / 2, assembly.scene.unit)}"
            for low, high in strips
        )
        texts.append(f"{name}: {say(width(strips))} in all ({listed})" if strips else f"no {name}")
    return ". ".join(text[0].upper() + text[1:] for text in texts) + "."


def _scale(assembly: Assembly, found: Coverage) -> Scale:
    edges = [y for tool in assembly.tools for y in (tool.low_mm, tool.high_mm)]
    edges += [*found.field, *(y for band in found.bands for y in band)]
    low, high = min(edges), max(edges)
    margin = 0.02 * (high - low)
    return Scale(low - margin, high + margin)


def _lanes(assembly: Assembly, found: Coverage, scale: Scale) -> tuple[list[Html], float]:
    drawn: list[Html] = []
    top = 6.0
    drawn += _rows(assembly, scale, top)
    top += _LANE + _GAP
    for title, kind, roles in (
        ("Hoes", "hoe", (Role.BLADE,)),
        ("Finger wheels", "wheel", (Role.FINGER_WHEEL,)),
    ):
        tools = [t for t in assembly.tools if assembly.mechanism.part(t.part).role in roles]
        if not tools:
            continue
        lanes = _stacked(tools)
        drawn.append(_title(title, top + len(lanes) * _LANE / 2.0))
        for lane in lanes:
            drawn += [_tool(tool, scale, top, kind) for tool in lane]
            top += _LANE
        top += _GAP
    drawn += _result(found, scale, top)
    return drawn, top + _LANE + 4.0


def _stacked(tools: Sequence[ToolPlace]) -> list[list[ToolPlace]]:
    """Tools in as few lanes as keep them from lying over each other."""
    lanes: list[list[ToolPlace]] = []
    for tool in sorted(tools, key=lambda t: -t.high_mm):
        for lane in lanes:
            if lane[-1].low_mm >= tool.high_mm:
                lane.append(tool)
                break
        else:
            lanes.append([tool])
    return lanes


def _title(text: str, y: float) -> Html:
    return tag("text", {"class": "lane", "x": LEFT - 10.0, "y": y + 4.0}, text)


def _rows(assembly: Assembly, scale: Scale, top: float) -> Iterator[Html]:
    yield _title("Rows", top + _LANE / 2.0)
    for row in assembly.rows:
        band = (row.y_mm - row.keep_out_mm, row.y_mm + row.keep_out_mm)
        yield scale.box(band, top, _LANE, "band")
        yield from _label(row.name, scale, band, top, "ink")


@lru_cache(maxsize=1024)  # a bar that is raised leaves the bed as it is
def _tool(tool: ToolPlace, scale: Scale, top: float, kind: str) -> Html:
    strip = (tool.low_mm, tool.high_mm)
    return tag(
        "g",
        None,
        tag("title", None, tool.part),
        scale.box(strip, top + 2.0, _LANE - 4.0, kind),
        list(_label(tool.station, scale, strip, top, "paper")),
    )


def _label(text: str, scale: Scale, strip: Strip, top: float, kind: str) -> Iterator[Html]:
    room = scale.x(strip[0]) - scale.x(strip[1])
    if room < len(text) * _LETTER:
        return
    middle = scale.x((strip[0] + strip[1]) / 2.0)
    yield tag("text", {"class": f"name {kind}", "x": middle, "y": top + _LANE / 2.0 + 4.0}, text)


def _result(found: Coverage, scale: Scale, top: float) -> Iterator[Html]:
    yield _title("Result", top + _LANE / 2.0)
    yield scale.box(found.field, top, _LANE, "field")
    for strips, kind in (
        (found.worked, "worked"),
        (found.doubled, "doubled"),
        (found.missed, "missed"),
        (found.bands, "band"),
    ):
        for strip in strips:
            yield scale.box(strip, top, _LANE, kind)
    yield tag("g", {"class": "cross"}, list(_crosses(found, scale, top)))


def _crosses(found: Coverage, scale: Scale, top: float) -> Iterator[Html]:
    """A small arrow under every missed strip: the narrowest is only a hair wide."""
    for low, high in found.missed:
        x, y = scale.x((low + high) / 2.0), top - 3.0
        yield tag("path", {"d": f"M{x:.1f} {y:.1f}l-4.5 -7h9z"})


@cache
def _patterns() -> Html:
    def pattern(name: str, size: int, *content: Html) -> Html:
        turn = "rotate(45)"
        return tag(
            "pattern",
            {
                "id": name,
                "width": size,
                "height": size,
                "patternUnits": "userSpaceOnUse",
                "patternTransform": turn,
            },
            *content,
        )

    def ground(kind: str) -> Html:
        return tag("rect", {"class": f"ground {kind}", "width": 12, "height": 12})

    def stroke(kind: str, d: str) -> Html:
        return tag("path", {"class": f"stroke {kind}", "d": d})

    return tag(
        "defs",
        None,
        pattern("hatch-missed", 7, ground("missed"), stroke("missed", "M0 0V7")),
        pattern("hatch-doubled", 6, ground("doubled"), stroke("doubled", "M0 3H6M3 0V6")),
        pattern("hatch-band", 10, ground("band"), stroke("band", "M0 0V10")),
    )


@cache
def _key() -> Html:
    def entry(kind: str, text: str) -> Html:
        box = tag("rect", {"class": f"strip {kind}", "x": 1, "y": 1, "width": 26, "height": 14})
        swatch = tag("svg", {"viewBox": "0 0 28 16", "aria-hidden": "true"}, box)
        return tag("li", None, swatch, text)

    return tag(
        "ul",
        {"class": "key"},
        entry("band", "keep-out band round a row"),
        entry("worked", "worked once"),
        entry("doubled", "worked twice (cross-hatched)"),
        entry("missed", "missed (hatched, under an arrow)"),
    )
