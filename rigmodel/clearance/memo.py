"""Clearances already worked out, found again by what they depend on."""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from copy import copy
from dataclasses import dataclass, replace
from itertools import count
from weakref import WeakKeyDictionary

import numpy as np

from meshes_generic.solid import Solid
from meshes_generic.transform import FloatArray
from rigmodel.clearance.broad import Body, BodyTable
from rigmodel.clearance.kinematics import Linkage
from rigmodel.clearance.pieces import PieceTree, piece_tree
from rigmodel.clearance.supports import IntArray
from rigmodel.recent import Recent

_DIGITS = 9
_PAIRS, _BODIES = 50_000, 20_000  # entries kept at least


@dataclass(frozen=True, eq=False)
class Known:
    """What was found for a pair of bodies, whatever limit it was held against.

    Attributes:
        low: proven lower bound, mm.
        high: least value found, mm.
        pieces: numbers of the two pieces where it was found, within their bodies.
        values: joint values there, radians or mm, shape (2, c).
        calls: engine calls that it took.
        inside: whether a part of one body lies inside a closed surface of the other there, and
            `high` is how deep it is, at least.
    """

    low: float
    high: float
    pieces: tuple[int, int]
    values: FloatArray
    calls: int
    inside: bool = False


@dataclass(frozen=True, eq=False)
class Outcome:
    """What a pair of bodies came to.

    Attributes:
        low: proven lower bound of the clearance, mm.
        known: what was found, or None where the bound said enough.
    """

    low: float
    known: Known | None = None

    @property
    def high(self) -> float:
        """Least value found, mm; infinite where none was looked for."""
        return math.inf if self.known is None else self.known.high

    @property
    def calls(self) -> int:
        """Engine calls spent on it."""
        return 0 if self.known is None else self.known.calls


NOTHING = Outcome(-math.inf)
"""What is known of a pair that was never looked at."""


class ClearanceMemo:
    """Keeps what is known of bodies and their pairs, by content, from one survey to the next.

    The clearance of two bodies depends on their solids, on the joints between each and the
    deepest link that carries both (how they sit, how far they move), and on how the two chains
    lie to each other on that link. Nothing else is in the keys, so rows that are shifted copies
    of each other share one entry. Numbers are rounded to a millionth of a µm.

    Attributes:
        outcomes: what pairs came to, by the numbers that `Contents` gives their two bodies.
        boxes: box (2, 3) that a body never leaves, by its number.
        edges: what `Scope` tells of the pieces of a body standing still, by its number.
    """

    def __init__(self) -> None:
        self.outcomes: Recent[tuple[int, int], Outcome] = Recent(_PAIRS)
        self.boxes: Recent[int, FloatArray] = Recent(_BODIES)
        self.edges: Recent[int, FloatArray] = Recent(_BODIES)
        self._known: Recent[bytes, Known] = Recent(_PAIRS)
        self._numbers: Recent[Hashable, int] = Recent(_BODIES)
        self._count = count(1)
        self._solids: WeakKeyDictionary[Solid, int] = WeakKeyDictionary()
        self._trees: WeakKeyDictionary[Solid, PieceTree] = WeakKeyDictionary()

    def __len__(self) -> int:
        return len(self._known)

    def afresh(self) -> ClearanceMemo:
        """A memo that knows nothing of pairs, and of single bodies what this one does."""
        other = copy(self)
        other.outcomes = Recent(_PAIRS)
        other._known = Recent(_PAIRS)
        return other

    def find(self, key: bytes) -> Known | None:
        """What is known under a key."""
        return self._known.get(key)

    def learn(self, key: bytes, known: Known) -> Known:
        """Keeps what was found, together with what was known before, and returns the sum."""
        before = self._known.get(key)
        if before is not None:
            best = known if known.high < before.high else before
            low = min(max(known.low, before.low), best.high)
            known = replace(best, low=low, calls=max(known.calls, before.calls))
        return self._known.keep(key, known)

    def tree(self, solid: Solid) -> PieceTree:
        """A solid taken apart."""
        found = self._trees.get(solid)
        if found is None:
            found = self._trees[solid] = piece_tree(solid)
        return found

    def table(self, linkage: Linkage, bodies: Sequence[Body]) -> BodyTable:
        """Some bodies in flat arrays."""
        return BodyTable(linkage, bodies, [self.tree(body.solid) for body in bodies])

    def keys(self, linkage: Linkage, table: BodyTable, pairs: IntArray) -> list[bytes]:
        """Keys of pairs of bodies (k, 2)."""
        chains = _Rounded(linkage)
        links = table.links[pairs]
        tops = linkage.meets[links[:, 0], links[:, 1]].tolist()
        limbs: dict[tuple[int, int], tuple[int, FloatArray]] = {}
        numbers, roots = [], []
        for pair, top in zip(pairs.tolist(), tops, strict=True):
            for body in pair:
                found = limbs.get((body, top))
                if found is None:
                    found = limbs[body, top] = self._limb(chains, table.bodies[body], top)
                numbers.append(found[0])
                roots.append(found[1])
        ends = np.array(roots).reshape(-1, 2, 4, 4)
        turned = ends[:, 0, :3, :3].transpose(0, 2, 1)
        between = turned @ ends[:, 1, :3, :3]
        offset = turned @ (ends[:, 1, :3, 3] - ends[:, 0, :3, 3])[:, :, None]
        lie = np.concatenate((between, offset), axis=2).reshape(-1, 12)
        rows = np.column_stack((np.array(numbers).reshape(-1, 2), rounded(lie)))
        return [row.tobytes() for row in rows]

    def _limb(self, chains: _Rounded, body: Body, top: int) -> tuple[int, FloatArray]:
        """Number of what hangs below the first seat of a chain, and that seat."""
        linkage = chains.linkage
        path = linkage.path(top, int(linkage.link_of_frame[body.frame]))
        if not path:
            return self.number((self.solid(body.solid), (), ())), linkage.in_link[body.frame]
        below = (*(chains.seats[k] for k in path[1:]), chains.in_link[body.frame])
        joints = tuple(chains.joints[k] for k in path)
        return self.number((self.solid(body.solid), joints, below)), linkage.seats[path[0]]

    def solid(self, solid: Solid) -> int:
        """Number of a solid: the same for solids of equal pieces."""
        number = self._solids.get(solid)
        if number is None:
            places = rounded(np.array([piece.placement for piece in solid.pieces])).tobytes()
            content = (tuple(piece.shape for piece in solid.pieces), places)
            number = self._solids[solid] = self.number(content)
        return number

    def number(self, content: Hashable) -> int:
        """A number for some content: the same as before, or one that nothing else ever had."""
        found = self._numbers.get(content)
        if found is None:
            found = self._numbers.keep(content, next(self._count))
        return found


class _Rounded:
    """What keys are made of, rounded in bulk."""

    def __init__(self, linkage: Linkage) -> None:
        self.linkage = linkage
        self.seats = [row.tobytes() for row in rounded(linkage.seats)]
        self.in_link = [row.tobytes() for row in rounded(linkage.in_link)]
        self.joints = list(
            zip(linkage.turns.tolist(), linkage.low.tolist(), linkage.high.tolist(), strict=True)
        )


def rounded(values: FloatArray) -> FloatArray:
    """Values as they stand in keys; adding 0 turns -0 into 0, which has other bytes."""
    short: FloatArray = np.round(values, _DIGITS) + 0.0
    return short
