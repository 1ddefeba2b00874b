"""What is asked of `suggest`: the field and tractor, the parts at hand, and what counts as best."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from rigmodel.catalog.kinds import ABlade, FingerWheel, HalfBlade, walk
from rigmodel.catalog.store import Catalogue, nearest
from rigmodel.errors import Fault, InputError, ReadingError, RigmodelError, shown
from rigmodel.reading.source import MapNode, TextNode, read_source
from rigmodel.spec.resolve import Scene
from rigmodel.units import parse_count, parse_length

MOST_BEST = 10
MOST_OVERLAP_MM = 200.0
PAIR_GAP_MM = 38.1  # 1 1/2 in: the default of `rigmodel new`
WHEEL_DEPTH_MM = 12.7
HOE_DEPTH_MM = 25.4
TRACK_DEPTH_MM = 50.8


@dataclass(frozen=True)
class Request:
    """One question to `suggest`. Lengths are mm.

    Attributes:
        scene: rows, soil, tractor, bar and limits; its stations are replaced.
        stock: how many of each catalogue part are at hand; None = any number of all of them.
        may_buy: whether parts beyond the stock may be bought.
        wheels: whether a pair of finger wheels stands at every row.
        pair_gap: gap between a pair's fingers.
        wheel_depth: working depth of the wheels.
        hoe_depth: working depth of the hoes.
        tracks: whether a narrow point loosens each wheel track.
        track_depth: working depth of those points.
        overlap: how far neighbouring hoes of a gap must overlap, at least; 0 allows gaps up to
            the scene's limit `missed`.
    """

    scene: Scene
    stock: Mapping[str, int] | None = None
    may_buy: bool = True
    wheels: bool = True
    pair_gap: float = PAIR_GAP_MM
    wheel_depth: float = WHEEL_DEPTH_MM
    hoe_depth: float = HOE_DEPTH_MM
    overlap: float = 0.0
    tracks: bool = False
    track_depth: float = TRACK_DEPTH_MM

    @property
    def catalogue(self) -> Catalogue:
        """All parts there are."""
        return self.scene.catalogue


def request_for(
    scene: Scene,
    stock: Mapping[str, int] | None = None,
    may_buy: bool = True,
    wheels: bool = True,
    overlap: float = 0.0,
    tracks: bool = False,
) -> Request:
    """A request that keeps the depths and the pair gap of the scene's own stations.

    Where the scene loosens its wheel tracks, so does what is suggested.

    Raises:
        RigmodelError: the overlap is not between 0 and 200 mm.
    """
    if not 0.0 <= overlap <= MOST_OVERLAP_MM:
        most = scene.say(MOST_OVERLAP_MM)
        raise RigmodelError(f"an overlap of {scene.say(overlap)}: expected 0 to {most}")
    gap, wheel_depth, hoe_depth = PAIR_GAP_MM, WHEEL_DEPTH_MM, HOE_DEPTH_MM
    seen_wheel = seen_hoe = False
    track_depth = TRACK_DEPTH_MM
    for planned in scene.stations:
        kinds = {type(scene.catalogue.parts[node.part]) for node in walk(planned.unit.tool)}
        if FingerWheel in kinds and planned.spec.pair_gap is not None and not seen_wheel:
            gap, wheel_depth, seen_wheel = planned.spec.pair_gap, planned.spec.depth, True
        if planned.spec.at == "tracks":
            tracks, track_depth = True, planned.spec.depth
        elif kinds & {ABlade, HalfBlade} and not seen_hoe:
            hoe_depth, seen_hoe = planned.spec.depth, True
    return Request(
        scene, stock, may_buy, wheels, gap, wheel_depth, hoe_depth, overlap, tracks, track_depth
    )


def read_overlap(text: str, scene: Scene) -> float:
    """An overlap as typed, in mm.

    Raises:
        RigmodelError: it is not a length.
    """
    try:
        return parse_length(text, scene.unit)
    except ReadingError as error:
        raise RigmodelError(f"overlap: {error}") from None


def read_parts_at_hand(path: Path, catalogue: Catalogue) -> Mapping[str, int]:
    """Reads a stock list: a YAML file of lines ``catalogue-id: count``.

    Raises:
        InputError: with every fault found in the file.
    """
    root = read_source(path).root
    faults: list[Fault] = []
    found: dict[str, int] = {}
    for key, node in root.entries.items():
        line = root.key_marks[key][0]
        text = node.text if isinstance(node, TextNode) else ""
        if key not in catalogue.parts:
            near = nearest(key, catalogue.parts)
            hint = f"did you mean '{near}'?" if near else ""
            message = f"the catalogue has no part called {shown(key)}"
            faults.append(Fault(message, str(path), line, 0, key, "a catalogue id", hint, key))
            continue
        try:
            found[key] = parse_count(text)
        except ReadingError:
            kind = "a section" if isinstance(node, MapNode) else shown(text)
            message = f"{kind} is not how many there are"
            faults.append(Fault(message, str(path), line, 0, text, "a whole number", path=key))
    if faults:
        raise InputError(tuple(faults))
    return found
