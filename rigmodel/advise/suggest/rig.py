"""From a choice to a rig: stations as a person would write them, assembled and checked in 3D."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from rigmodel.advise.suggest.objective import Objective
from rigmodel.advise.suggest.options import Option
from rigmodel.advise.suggest.pieces import Key, Piece, Set
from rigmodel.advise.suggest.request import Request
from rigmodel.advise.suggest.units import Fitted
from rigmodel.advise.suggest.variants import station_of, with_stations
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.checks.coverage import rig_coverage
from rigmodel.clearance.finding import Finding, Verdict, worst
from rigmodel.clearance.trial import Bench
from rigmodel.coverage import width
from rigmodel.errors import RigmodelError
from rigmodel.spec.scene import Station

_ORDER = (
    *(Set.ROW, Set.CENTRE, Set.LEFT_ROW, Set.RIGHT_ROW, Set.MEASURED, Set.OUTSIDE, Set.TRACK),
)


@dataclass(frozen=True, eq=False)
class Suggestion:
    """A rig that was assembled and checked.

    Attributes:
        assembly: the rig.
        options: what was chosen for each row and strip.
        findings: of every check.
        scores: what the rig comes to by each objective: mm, pieces, kg.
        bought: parts beyond the stock, counted.
    """

    assembly: Assembly
    options: tuple[Option, ...]
    findings: tuple[Finding, ...]
    scores: Mapping[Objective, float]
    bought: Mapping[str, int]

    @property
    def verdict(self) -> Verdict:
        """The worst verdict."""
        return worst(f.verdict for f in self.findings)

    @property
    def stations(self) -> tuple[Station, ...]:
        """What the bar carries."""
        return self.assembly.scene.spec.stations


def rig_of(request: Request, options: Sequence[Option], bench: Bench) -> tuple[Suggestion, Belongs]:
    """The rig of a choice, checked, and which piece each of its parts belongs to.

    Raises:
        RigmodelError: the scene cannot be put together with these stations.
    """
    stations = stations_of(request, [piece for option in options for piece in option.pieces])
    scene = with_stations(request.scene, stations)
    if scene is None:
        raise RigmodelError("the rows, soil, tractor and bar of this scene do not go together")
    assembly = bench.assembled(scene)
    findings = bench.checked(assembly)
    bought = bought_parts(request, options)
    scores = {
        Objective.MISSED: width(rig_coverage(assembly).missed),
        Objective.PARTS: sum(o.costs[Objective.PARTS] for o in options),
        Objective.BOUGHT: float(sum(bought.values())),
        Objective.RANKS: float(len({r for o in options for r in o.ranks})),
        Objective.BEHIND: sum(o.costs[Objective.BEHIND] for o in options),
    }
    found = Suggestion(assembly, tuple(options), findings, scores, bought)
    return found, _belongs(assembly, options)


def bought_parts(request: Request, options: Iterable[Option]) -> dict[str, int]:
    """Parts beyond the stock; none where there is no stock list."""
    if request.stock is None:
        return {}
    needed: dict[str, int] = {}
    for option in options:
        for part, count in option.parts.items():
            needed[part] = needed.get(part, 0) + count
    short = {part: count - request.stock.get(part, 0) for part, count in sorted(needed.items())}
    return {part: count for part, count in short.items() if count > 0}


Belongs = Mapping[str, Key]  # the piece that each part of a rig belongs to, by the part's name


def _belongs(assembly: Assembly, options: Sequence[Option]) -> Belongs:
    pieces = [piece for option in options for piece in option.pieces]
    offset = assembly.scene.spec.toolbar.offset
    found: dict[str, Key] = {}
    for station in assembly.stations:
        spec = assembly.scene.spec.stations[station.index]
        form = (spec.use, tuple(spec.swap.items()))
        same = [p for p in pieces if (p.variant.fitted.use, p.variant.fitted.swap) == form]
        at = station.place_mm + offset
        piece = min(same, key=lambda p: min(abs(c.centre - at) for c in p.clamps))
        found.update(dict.fromkeys(station.parts, piece.key))
    return found


def stations_of(request: Request, pieces: Sequence[Piece]) -> tuple[Station, ...]:
    """Pieces as stations, equal ones written together; wheels first, points in tracks last."""
    groups: dict[tuple[object, ...], list[Piece]] = {}
    for piece in pieces:
        fitted = replace(piece.variant.fitted, rank=0.0)
        one_rank = piece.variant.fitted.rank if piece.how is Set.OUTSIDE else 0.0
        groups.setdefault((piece.how, fitted, one_rank), []).append(piece)
    ranked = sorted(groups.values(), key=lambda same: _ORDER.index(same[0].how))
    return tuple(_station(request, same, i) for i, same in enumerate(ranked))


def _station(request: Request, same: Sequence[Piece], index: int) -> Station:
    ordered = sorted(same, key=lambda p: -p.centre)
    fitted, how = replace(ordered[0].variant.fitted, rank=0.0), ordered[0].how
    if how is Set.MEASURED:
        return _measured(request, ordered, fitted, index)
    if how is Set.OUTSIDE:
        rows = request.scene.spec.rows.places
        middle = sum(rows) / len(rows)
        sides = sorted({"left" if p.centre > middle else "right" for p in ordered})
        fitted = ordered[0].variant.fitted
        where = {"at": "outside", "sides": "both" if len(sides) == 2 else sides[0]}
        return station_of(request, fitted, where)
    return _numbered(request, ordered, fitted, how)


def _numbered(request: Request, ordered: Sequence[Piece], fitted: Fitted, how: Set) -> Station:
    """A station at rows, gaps or tracks, with ranks and hands in turn."""
    rows = request.scene.spec.rows.places
    at = {Set.ROW: "rows", Set.TRACK: "tracks"}.get(how, "gaps")
    total = {"rows": len(rows), "tracks": 2, "gaps": len(rows) - 1}[at]
    numbers = {_number(rows, piece): piece for piece in ordered}
    where: dict[str, object] = {
        "at": at,
        "only": () if len(numbers) == total else tuple(sorted(numbers)),
        "rank": _in_turn([_rank(numbers.get(n + 1)) for n in range(total)]),
    }
    if how in (Set.LEFT_ROW, Set.RIGHT_ROW):
        where["sides"] = "left" if how is Set.LEFT_ROW else "right"
    if how is Set.CENTRE:
        where["hand"] = _in_turn([_hand(numbers.get(n + 1)) for n in range(total)])
    return station_of(request, fitted, where)


def _number(rows: Sequence[float], piece: Piece) -> int:
    """Which row, gap or track a piece stands at, counted from the left, from 1."""
    if piece.how is Set.ROW:
        return min(range(len(rows)), key=lambda i: abs(rows[i] - piece.centre)) + 1
    if piece.how is Set.TRACK:
        return 1 if piece.centre > 0.0 else 2
    return sum(row > piece.centre for row in rows)


def _measured(request: Request, ordered: Sequence[Piece], fitted: Fitted, index: int) -> Station:
    offset = request.scene.spec.toolbar.offset
    where = {
        "at": tuple(piece.centre - offset for piece in ordered),
        "name": f"hoes{index + 1}",
        "rank": _in_turn([_rank(piece) for piece in ordered]),
        "hand": _in_turn([_hand(piece) for piece in ordered]),
    }
    return station_of(request, fitted, where)


def _rank(piece: Piece | None) -> float | None:
    return None if piece is None else piece.variant.fitted.rank


def _hand(piece: Piece | None) -> str | None:
    return None if piece is None else "right" if piece.mirrored else "left"


def _in_turn(values: Sequence[object]) -> object:
    """One value, or the shortest list that goes round to give all; None stands for any value."""
    for length in range(1, len(values) + 1):
        turn = [next((v for v in values[k::length] if v is not None), None) for k in range(length)]
        if all(v is None or v == turn[i % length] for i, v in enumerate(values)):
            known = next(v for v in turn if v is not None)
            filled = tuple(known if v is None else v for v in turn)
            return filled[0] if length == 1 else filled
    return tuple(values)
