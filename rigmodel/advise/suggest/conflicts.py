"""What the 3D checks have forbidden, told so that it also forbids the same thing elsewhere.

Two pieces that clash also clash wherever they hang the same distance apart on flat soil, and so do
their mirror images. A piece that fails against the tractor or a row fails at that place only. What
a piece fails by itself it fails everywhere on flat soil.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from rigmodel.advise.suggest.options import Option
from rigmodel.advise.suggest.pieces import Key
from rigmodel.advise.suggest.units import Fitted, Kind
from rigmodel.clearance.finding import Finding, Verdict

_EVERYWHERE = frozenset({"shank-travel", "arm-float", "ground-contact"})
# These name no part of a tool, yet are a matter of the tools.
_OF_ALL_TOOLS = frozenset({"coverage", "stand-off"})
OF_THE_FIELD = ("tyre-fit", "frame-fit", "lift")  # as far as they name no tool
_Sided = tuple[Fitted, bool]


@dataclass
class Conflicts:
    """Everything learned so far.

    Attributes:
        flat: whether the soil is the same everywhere.
        alone: pieces that fail at their place.
        units: fitted units that fail wherever they hang.
        pairs: pieces that clash, by what they are and how far the second is left of the first.
        placed: on a bed, pairs of pieces that clash where they hang.
        together: three pieces and more that may not all hang.
        reasons: what failed first, by check id.
        whole: failures that no choice of tools can mend.
    """

    flat: bool
    alone: set[Key] = field(default_factory=set)
    units: set[Fitted] = field(default_factory=set)
    pairs: set[tuple[_Sided, _Sided, float]] = field(default_factory=set)
    placed: set[frozenset[Key]] = field(default_factory=set)
    together: set[frozenset[Key]] = field(default_factory=set)
    reasons: dict[str, Finding] = field(default_factory=dict)
    whole: dict[str, Finding] = field(default_factory=dict)

    def clash(self, one: Key, other: Key) -> bool:
        """Whether two pieces may not both hang."""
        if not self.pairs and not self.placed:
            return False
        if frozenset((one, other)) in self.placed:
            return True
        apart = round(other.centre - one.centre, 1)
        return (one[:2], other[:2], apart) in self.pairs

    def between(self, ones: Collection[Key], others: Collection[Key]) -> Iterator[tuple[Key, Key]]:
        """Every pair of one of the first keys and one of the others that may not both hang."""
        if not self.flat:
            yield from ((a, b) for a in ones for b in others if self.clash(a, b))
            return
        partners: dict[_Sided, list[tuple[_Sided, float]]] = {}
        for a, b, apart in self.pairs:
            partners.setdefault(a, []).append((b, apart))
        there: dict[_Sided, list[Key]] = {}
        for key in others:
            there.setdefault(_sided(key), []).append(key)
        for one in ones:
            for sided, apart in partners.get(_sided(one), ()):
                for other in there.get(sided, ()):
                    if round(other.centre - one.centre, 1) == apart:
                        yield one, other

    def forbids(self, option: Option) -> bool:
        """Whether an option holds a piece, or two, that may not hang."""
        keys = [piece.key for piece in option.pieces]
        if any(key in self.alone or key.fitted in self.units for key in keys):
            return True
        return any(self.clash(one, other) for i, one in enumerate(keys) for other in keys[:i])

    def learn(self, findings: Sequence[Finding], hung: Mapping[str, Key]) -> bool:
        """Takes in what failed.

        Args:
            findings: all findings of a rig.
            hung: the piece that each part of the rig belongs to, by the part's name.

        Returns:
            Whether anything new was learned that forbids something.
        """
        before = self._size()
        for finding in findings:
            if finding.verdict is not Verdict.FAIL:
                continue
            keys = list(dict.fromkeys(hung[p] for p in finding.parts if p in hung))
            self.reasons.setdefault(finding.check, finding)
            if not keys and finding.check in _OF_ALL_TOOLS:
                continue  # other tools, or others of their places, may do
            if not keys:
                self.whole.setdefault(finding.check, finding)
            elif len(keys) == 1:
                self._alone(finding.check, keys[0])
            elif len(keys) == 2:
                self.forbid_pair(keys[0], keys[1])
            else:
                self.together.add(frozenset(keys))
        return self._size() > before

    def learn_field(self, findings: Sequence[Finding], tools: Collection[str]) -> None:
        """Takes in what fails of bar, rows and tractor, whatever hangs on the bar.

        Args:
            findings: all findings of a rig.
            tools: names of all parts of its tools.
        """
        for finding in findings:
            of_a_tool = any(part in tools for part in finding.parts)
            if finding.verdict is Verdict.FAIL and finding.check in OF_THE_FIELD and not of_a_tool:
                self.reasons.setdefault(finding.check, finding)
                self.whole.setdefault(finding.check, finding)

    def _alone(self, check: str, key: Key) -> None:
        if self.flat and check in _EVERYWHERE:
            self.units.add(key.fitted)
        else:
            self.alone.add(key)

    def forbid_pair(self, one: Key, other: Key) -> None:
        """Two pieces clash; on flat soil, so do equal pieces equally far apart, and mirrored."""
        if not self.flat:
            self.placed.add(frozenset((one, other)))
            return
        apart = round(other.centre - one.centre, 1)
        for a, b, by in ((one, other, apart), (other, one, -apart)):
            self.pairs.add((_sided(a), _sided(b), by))
            self.pairs.add((_turned(a), _turned(b), -by))

    def _size(self) -> int:
        kept = (self.alone, self.units, self.pairs, self.placed, self.together)
        return sum(len(known) for known in kept)


def _sided(key: Key) -> _Sided:
    return key.fitted, key.mirrored


def _turned(key: Key) -> _Sided:
    """The mirror image; a pair of wheels is its own."""
    return key.fitted, key.mirrored if key.fitted.kind is Kind.WHEELS else not key.mirrored
