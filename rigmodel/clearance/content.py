"""Bodies by content: a number and a box for each, as seen from a frame that carries them all.

What a pair of bodies comes to depends on nothing above the deepest frame that carries both. So
bodies are numbered by their solids and by the joints and seats below such a frame; that is where
the same numbers are found again when something else of the rig has changed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import cached_property

import numpy as np

from meshes_generic.transform import FloatArray
from rigmodel.assembly.model import Mechanism
from rigmodel.clearance.broad import Body, BodyTable, root_boxes
from rigmodel.clearance.kinematics import Linkage
from rigmodel.clearance.memo import ClearanceMemo, rounded
from rigmodel.clearance.supports import IntArray
from rigmodel.recent import Recent

_WAYS = np.array(((0.0, -1.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, -1.0)))  # right, left, down


class Contents:
    """Bodies of one mechanism under one motion.

    Args:
        linkage: the compiled mechanism.
        bodies: the bodies.
        memo: where numbers and boxes are kept; it is added to.
    """

    def __init__(self, linkage: Linkage, bodies: Sequence[Body], memo: ClearanceMemo) -> None:
        self._linkage, self._bodies, self._memo = linkage, bodies, memo
        self._views: dict[int, View] = {}

    def view(self, chosen: IntArray) -> View:
        """Some bodies as seen from the deepest frame that carries all of them."""
        frames = (self._bodies[k].frame for k in chosen.tolist())
        return self.seen_from(common_frame(self._linkage.mechanism, frames))

    def seen_from(self, frame: int) -> View:
        """The bodies below a frame as seen from it; frame 0 is the world."""
        found = self._views.get(frame)
        if found is None:
            found = self._views[frame] = View(self._linkage, self._bodies, self._memo, frame)
        return found


class View:
    """Bodies as seen from one frame that carries them; what they are asked for must be below it.

    Args:
        linkage: the compiled mechanism.
        bodies: the bodies.
        memo: where numbers and boxes are kept; it is added to.
        frame: index of the frame.
    """

    def __init__(
        self, linkage: Linkage, bodies: Sequence[Body], memo: ClearanceMemo, frame: int
    ) -> None:
        self._linkage, self._bodies, self._memo = linkage, bodies, memo
        self._top = int(linkage.link_of_frame[frame])
        self._base = linkage.in_link[frame][:3, 3]
        self._link_numbers: dict[int, int] = {self._top: 0}
        self._numbers = np.zeros(len(bodies), dtype=np.int64)

    @cached_property
    def _seats(self) -> list[bytes]:
        """Seat of every link; those next below count from the frame's own place."""
        seats = self._linkage.seats.copy()
        seats[self._linkage.parent == self._top, :3, 3] -= self._base
        return [row.tobytes() for row in rounded(seats)]

    @cached_property
    def _in_link(self) -> list[bytes]:
        places = self._linkage.in_link.copy()
        places[self._linkage.link_of_frame == self._top, :3, 3] -= self._base
        return [row.tobytes() for row in rounded(places)]

    def numbers(self, chosen: IntArray) -> IntArray:
        """Numbers of some bodies by content, shape as given."""
        links = self._linkage.link_of_frame
        new = np.zeros(len(self._numbers), dtype=np.bool_)
        new[chosen] = True
        for k in np.flatnonzero(new & (self._numbers == 0)).tolist():
            body = self._bodies[k]
            self._numbers[k] = self._memo.number(
                (
                    self._link(int(links[body.frame])),
                    self._in_link[body.frame],
                    self._memo.solid(body.solid),
                )
            )
        found: IntArray = self._numbers[chosen]
        return found

    def _link(self, link: int) -> int:
        found = self._link_numbers.get(link)
        if found is None:
            linkage = self._linkage
            joint = linkage.joints[link]
            span = (bool(linkage.turns[link]), float(linkage.low[link]), float(linkage.high[link]))
            # The name keeps apart two joints that are alike: they move each by itself.
            content = (
                self._link(int(linkage.parent[link])),
                self._seats[link],
                span,
                "" if joint is None else joint.name,
            )
            found = self._link_numbers[link] = self._memo.number(content)
        return found

    def boxes(self, chosen: IntArray) -> FloatArray:
        """Boxes that some bodies never leave, seen from the frame, shape (n, 2, 3), mm."""
        found = self._each(
            chosen,
            self._memo.boxes,
            lambda table: root_boxes(self._linkage, table, self._top) - self._base,
        )
        return np.array(found).reshape(-1, 2, 3)

    def edges(self, chosen: IntArray) -> list[FloatArray]:
        """Right and left edge and bottom of each piece of some bodies at work, each (k, 3), mm.

        Edges are mm left of the frame, the bottom mm over it. Only for a linkage that stands still.
        """
        return self._each(chosen, self._memo.edges, self._edges_of)

    def _edges_of(self, table: BodyTable) -> list[FloatArray]:
        reach = table.shapes.support(table.numbers, _WAYS @ table.placements[:, :3, :3])
        reach += (table.placements[:, :3, 3] - self._base) @ _WAYS.T
        return np.split(reach * (-1.0, 1.0, -1.0), table.start[1:-1])

    def _each(
        self,
        chosen: IntArray,
        kept: Recent[int, FloatArray],
        made: Callable[[BodyTable], Iterable[FloatArray]],
    ) -> list[FloatArray]:
        """What is kept of some bodies; what is not is made for all of those together."""
        numbers = self.numbers(chosen).tolist()
        found = {number: value for number in numbers if (value := kept.get(number)) is not None}
        bodies = dict(zip(numbers, chosen.tolist(), strict=True))
        missing = {number: k for number, k in bodies.items() if number not in found}
        if missing:
            table = self._memo.table(self._linkage, [self._bodies[k] for k in missing.values()])
            found.update((n, kept.keep(n, v)) for n, v in zip(missing, made(table), strict=True))
        return [found[number] for number in numbers]


def common_frame(mechanism: Mechanism, frames: Iterable[int]) -> int:
    """The deepest frame that carries all of some frames; the world for none."""
    found = -1
    for frame in dict.fromkeys(frames):
        found = frame if found < 0 else _met(mechanism, found, frame)
        if found == 0:
            break
    return max(found, 0)


def _met(mechanism: Mechanism, one: int, other: int) -> int:
    """The deepest frame that carries two: parents come before children."""
    while one != other:
        if one > other:
            one = mechanism.frames[one].parent
        else:
            other = mechanism.frames[other].parent
    return one
