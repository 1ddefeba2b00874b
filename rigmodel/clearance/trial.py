"""Changed scenes, put together and checked again: what remedies and relaxations are made of.

A remedy of `check` and a relaxation of `suggest` are the same thing: some values of a scene are
written differently, a judge looks at the scene that comes of it, and the least change that the
judge calls good is kept. Only the judges differ.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Hashable, Iterable, Sequence
from typing import Generic, TypeVar

from pydantic import BaseModel

from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly
from rigmodel.assembly.workbench import Workbench
from rigmodel.clearance.finding import Change, Choice, Finding, Key, Knob
from rigmodel.clearance.runner import failing, near, run, unsagged
from rigmodel.clearance.scope import Memo
from rigmodel.loads.account import Account
from rigmodel.spec.resolve import Scene, resolve
from rigmodel.spec.scene import SceneSpec
from rigmodel.spec.struts import Strut
from rigmodel.units import Unit

MAX_CHOICES = 8
MOST_JUDGED = 6  # values of one knob that are judged in vain before it is given up
_GRAIN = 1e-6  # of a step
_INCH_STEP, _MM_STEP, _DEG_STEP = 25.4 / 16.0, 1.0, 0.25
_Answer = TypeVar("_Answer")


class Bench:
    """Puts scenes together and checks them; keeps what one has in common with the next.

    Args:
        memo: clearances known from earlier checks; it is added to.
    """

    def __init__(self, memo: Memo | None = None) -> None:
        self.memo = Memo() if memo is None else memo
        self.workbench = Workbench()

    def assembled(self, scene: Scene) -> Assembly:
        """A scene put together."""
        return assemble(scene, self.workbench)

    def findings(self, scene: Scene, only: Sequence[str] = ()) -> tuple[Finding, ...]:
        """Findings of all checks on a scene, or of those whose ids are given."""
        return self.checked(self.assembled(scene), only)

    def failing(self, scene: Scene, only: Sequence[str] = ()) -> frozenset[Key]:
        """What fails of a scene, and no more of it: enough to tell whether a change helps."""
        return self.broken(self.assembled(scene), only)

    def broken(self, assembly: Assembly, only: Sequence[str] = ()) -> frozenset[Key]:
        """The same of a scene that has been put together."""
        return failing(assembly, self.memo, only)

    def near(self, scene: Scene, finding: Finding) -> bool:
        """Whether it is plain at a glance that the two parts of a finding are still too near."""
        return near(self.assembled(scene), self.memo, finding)

    def unsagged(self, scene: Scene, check: str) -> frozenset[Key]:
        """What fails a check even if the bar does not sag: quicker, and a part of what fails."""
        return unsagged(self.assembled(scene), self.memo, check)

    def checked(
        self, assembly: Assembly, only: Sequence[str] = (), loads: Account | None = None
    ) -> tuple[Finding, ...]:
        """The same of a scene that has been put together, and maybe of its weights and forces."""
        return run(assembly, self.memo, only, loads)


def changed_scene(
    scene: Scene, changes: Iterable[Change], stations: Collection[int] = ()
) -> Scene | None:
    """The scene with some values written differently; None where they do not go together.

    Args:
        scene: what is changed.
        changes: what is written.
        stations: of its stations only these are kept, counted from 0; all if empty.
    """
    spec: object = scene.spec
    for change in changes:
        spec = _written(spec, change.path, change.value)
    if not isinstance(spec, SceneSpec):
        return None
    if stations:
        kept = tuple(station for k, station in enumerate(spec.stations) if k in stations)
        spec = spec.model_copy(update={"stations": kept})
    found = resolve(spec, scene.catalogue, scene.origin)
    return found if isinstance(found, Scene) else None


def _written(old: object, path: tuple[str | int, ...], value: object) -> object:
    """A copy of `old` in which `value` stands at `path`."""
    if not path:
        return value
    step, rest = path[0], path[1:]
    if isinstance(old, BaseModel):
        name = str(step)
        return old.model_copy(update={name: _written(getattr(old, name), rest, value)})
    if isinstance(old, tuple):
        place = int(step)
        return (*old[:place], _written(old[place], rest, value), *old[place + 1 :])
    if isinstance(old, dict):
        return {**old, step: _written(old.get(step), rest, value)}
    raise TypeError(f"nothing can be written at {path!r}")


def tape_step(unit: Unit, kind: str = "mm") -> float:
    """The least turn of a value that a tape or a level shows: 1/16 in, 1 mm or a quarter degree."""
    if kind == "deg":
        return _DEG_STEP
    if kind != "mm":
        return 1.0
    return _INCH_STEP if unit in (Unit.IN, Unit.FT) else _MM_STEP


def least_step(works: Callable[[int], bool], most: int, first: int = 1) -> int | None:
    """The least whole number from `first` to `most` that works; None where none was found.

    Powers of two are tried until one works, then the stretch before it is halved: right where more
    is always as good or better.
    """
    low, high = first - 1, 1 << (first - 1).bit_length()
    while high <= most and not works(high):
        low, high = high, high * 2
    if high > most:
        if low >= most or not works(most):
            return None
        high = most
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if works(middle) else (middle, high)
    return high


class Trials(Generic[_Answer]):
    """Changes of one scene, each judged once.

    Args:
        scene: what is changed.
        judge: looks at a changed scene.
    """

    def __init__(self, scene: Scene, judge: Callable[[Scene], _Answer]) -> None:
        self.scene, self.judge = scene, judge
        self._known: dict[Hashable, _Answer | None] = {}

    def answer(self, changes: Sequence[Change]) -> _Answer | None:
        """What the judge says of the scene after some changes; None where they do not go together.

        Raises:
            TypeError: a change names no place in the scene.
        """
        key = _key(changes)
        if key not in self._known:
            scene = changed_scene(self.scene, changes)
            self._known[key] = None if scene is None else self.judge(scene)
        return self._known[key]

    def least(
        self,
        cure: Knob | Choice,
        good: Callable[[_Answer], bool],
        step: float | None = None,
        besides: Sequence[Change] = (),
        hopeless: Callable[[Sequence[Change]], bool] | None = None,
        too_little: float = 0.0,
    ) -> tuple[Change, ...] | None:
        """The least change of a value that is good, or None where none is.

        Args:
            cure: the value, and how far it may be turned or what may stand in its place.
            good: whether an answer will do.
            step: turn in steps of so much; if not given, to the values that a tape shows.
            besides: changes that are made as well.
            hopeless: sees quicker than the judge that some changes will not do.
            too_little: a turn of so much or less is known not to do.
        """
        judged: list[bool] = []  # what the judge said of changes that were not hopeless

        def works(changes: Sequence[Change]) -> bool:
            made = (*changes, *besides)
            if hopeless is not None and _key(made) not in self._known and hopeless(made):
                return False
            if hopeless is not None and len(judged) >= MOST_JUDGED and not any(judged):
                return False
            answer = self.answer(made)
            judged.append(answer is not None and good(answer))
            return judged[-1]

        if isinstance(cure, Choice):
            made = (chosen(cure, value) for value in cure.values[:MAX_CHOICES])
            return next((changes for changes in made if works(changes)), None)
        way = 1.0 if cure.toward > cure.start else -1.0
        size = tape_step(self.scene.unit, cure.unit) if step is None else step
        # A value between two marks of a tape goes to the next mark first.
        beyond = (cure.start * way / size) % 1.0 if step is None else 0.0
        beyond = beyond if _GRAIN < beyond < 1.0 - _GRAIN else 0.0
        most = int(abs(cure.toward - cure.start) / size + beyond + _GRAIN)

        def after(count: int) -> tuple[Change, ...]:
            return turned(cure, (count - beyond) * size * way)

        first = max(1, int(too_little / size + beyond - _GRAIN))
        found = least_step(lambda count: works(after(count)), most, first)
        return None if found is None else after(found)


def _key(changes: Sequence[Change]) -> Hashable:
    return tuple((change.path, change.value) for change in changes)


def chosen(cure: Choice, value: object) -> tuple[Change, ...]:
    """One of a choice's values put in place, with what it needs."""
    return (Change(cure.path, value, cure.was, cure.unit), *cure.also)


def turned(knob: Knob, by: float) -> tuple[Change, ...]:
    """A knob turned by so much, no farther than it goes, with all that is turned with it."""
    within = min if knob.toward > knob.start else max  # sums of steps are off by a last digit
    value = within(knob.start + by, knob.toward)
    if knob.build is None:
        first = Change(knob.path, value, knob.start, knob.unit)
    else:
        place, values = knob.build
        new = (*values[:place], value, *values[place + 1 :])
        first = Change(knob.path, new, values, knob.unit)
    way = 1.0 if knob.toward > knob.start else -1.0
    more = (
        Change(path, start + abs(by) * share * way, start, knob.unit)
        for path, start, share in knob.also
    )
    return (first, *more)


def shown_value(scene: Scene, value: object, unit: str) -> str:
    """A value of a change as a person reads it."""
    if isinstance(value, tuple):
        return "[" + ", ".join(shown_value(scene, item, unit) for item in value) + "]"
    if isinstance(value, Strut):
        told = value.written(scene.say)
        return "{" + ", ".join(f"{name}: {text}" for name, text in told.items()) + "}"
    if isinstance(value, int | float) and unit == "mm":
        return scene.say(float(value))
    if not isinstance(value, int | float):
        return str(value)
    return f"{value:g}°" if unit == "deg" else f"{value:g} {unit}".rstrip()
