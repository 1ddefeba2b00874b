"""What is wrong with a study file beyond its form: places and values that no scene could have."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from rigmodel.advise.study.load import SceneLoader
from rigmodel.advise.study.plan import Axis, StudyPlan, put
from rigmodel.advise.study.spec import StudySpec
from rigmodel.errors import Fault, InputError
from rigmodel.reading.faults import path_text
from rigmodel.reading.source import ListNode, MapNode, Source
from rigmodel.sheet.fields import nearest_name, steps

_UNKNOWN = ("in the catalogue", "is not known")  # a name nothing has, whatever else is varied
_NO_KEY = "is not a key known here"


def fault_at(
    source: Source, loc: tuple[str | int, ...], problem: str, expected: str = "", hint: str = ""
) -> Fault:
    """A fault at a place of a file."""
    line, column, value = source.locate(loc)
    return Fault(problem, source.name, line, column, value, expected, hint, path_text(loc))


def path_faults(source: Source, spec: StudySpec, tree: Any) -> Iterator[Fault]:
    """Names in `set` that lie nowhere in the scene, or are varied twice."""
    seen: dict[str, int] = {}
    for i, vary in enumerate(spec.vary):
        for path in vary.paths:
            loc = ("vary", i, "set")
            if seen.setdefault(path, i) != i:
                told = f"'{path}' is varied twice, first in vary[{seen[path] + 1}]"
                yield fault_at(source, loc, told, "each value of the scene only once")
            try:
                put(json.loads(json.dumps(tree)), steps(path), "")
            except LookupError as error:
                told = f"the scene has no place '{path}': {error.args[0]}"
                near = nearest_name(path)
                hint = f"did you mean '{near}'?" if near and near != path else ""
                yield fault_at(source, loc, told, "such as rows.spacing or stations[2].depth", hint)


def value_faults(source: Source, scene: Source, plan: StudyPlan) -> Iterator[Fault]:
    """Faults of the scene itself, and of each value put into it alone.

    Only what no other value could mend is told: what a key may not hold, and names that nothing
    has. That two values do not go together is an answer of the study, not a fault.
    """
    loader = SceneLoader(plan.files, plan.catalogues)
    varied = {path for axis in plan.axes for path in axis.paths}
    tree = json.loads(plan.scene)
    known = set()
    for fault in _faults(loader, tree, plan.origin):
        known.add((fault.path, fault.message))
        if not any(_within(fault.path, path) or _within(path, fault.path) for path in varied):
            yield (
                fault_at(scene, _loc(fault.path), fault.message, fault.expected, fault.hint)
                if fault.path
                else fault
            )
    for i, axis in enumerate(plan.axes):
        yield from _axis_faults(source, loader, plan, i, axis)


def _axis_faults(
    source: Source, loader: SceneLoader, plan: StudyPlan, i: int, axis: Axis
) -> Iterator[Fault]:
    for k in range(len(axis.values)):
        tree = json.loads(plan.scene)
        axis.put_into(tree, k)
        for fault in _faults(loader, tree, plan.origin):
            if _NO_KEY in fault.message and any(_names(p, fault) for p in axis.paths):
                yield fault_at(
                    source, ("vary", i, "set"), fault.message, fault.expected, fault.hint
                )
            elif any(_within(fault.path, path) for path in axis.paths):
                loc = _value_loc(source, i, k)
                told = f"{fault.path}: {fault.message}"
                yield fault_at(source, loc, told, fault.expected, fault.hint)


def _faults(loader: SceneLoader, tree: Any, origin: str) -> Iterator[Fault]:
    """What the scene's own rules say of a tree, and names that the catalogue does not have."""
    try:
        loader.spec(tree, origin)
    except InputError as error:
        yield from error.faults
        return
    try:
        loader.scene(tree, origin)
    except InputError as error:
        yield from (f for f in error.faults if any(words in f.message for words in _UNKNOWN))


def _value_loc(source: Source, i: int, k: int) -> tuple[str | int, ...]:
    """Where value k of an axis is written; a range makes its values itself."""
    items = source.root.entries["vary"]
    axis = items.items[i] if isinstance(items, ListNode) else None
    given = axis.entries if isinstance(axis, MapNode) else {}
    form = next((key for key in ("values", "together") if key in given), None)
    return ("vary", i, "range") if form is None else ("vary", i, form, k)


def _names(path: str, fault: Fault) -> bool:
    """Whether an unknown key is a step of a path."""
    return fault.value in steps(path) and _within(path, fault.path)


def _within(inner: str, outer: str) -> bool:
    """Whether one dotted name is another, or lies in it; everything lies in an empty one."""
    return inner == outer or not outer or inner.startswith((f"{outer}.", f"{outer}["))


def _loc(path: str) -> tuple[str | int, ...]:
    try:
        return steps(path)
    except ValueError:  # a key with unusual characters
        return ()
