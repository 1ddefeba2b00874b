"""What the browser may ask to be done to a session, read strictly from JSON."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from rigmodel.page import lists, scene_edits
from rigmodel.page.asked import RequestError
from rigmodel.page.checking import Checked
from rigmodel.page.session import Session
from rigmodel.page.text_edit import Path
from rigmodel.units import Unit

MAX_STEPS = 400
FARTHEST_MM = 1e5


def act(session: Session, asked: Mapping[str, Any]) -> str:
    """Does one thing.

    Args:
        session: to what.
        asked: ``what``, the ``version`` the fitter saw, and whatever else the action takes.

    Returns:
        A sentence for the fitter, or an empty string.

    Raises:
        RigmodelError: it cannot be done; nothing has been changed.
    """
    action = _ACTIONS.get(_text(asked, "what"))
    if action is None:
        raise RequestError("this page does not know how to do that")
    return action(session, asked)


def _text(asked: Mapping[str, Any], name: str) -> str:
    value = asked.get(name)
    if not isinstance(value, str):
        raise RequestError(f"{name} must be a text")
    return value


def _number(asked: Mapping[str, Any], name: str) -> int:
    value = asked.get(name)
    if not isinstance(value, int) or isinstance(value, bool):
        raise RequestError(f"{name} must be a whole number")
    return value


def _steps(asked: Mapping[str, Any]) -> int:
    return max(-MAX_STEPS, min(MAX_STEPS, _number(asked, "count")))


def _path(asked: Mapping[str, Any]) -> Path:
    value = asked.get("path")
    ok = isinstance(value, list) and value and isinstance(value[0], str) and len(value) <= 8
    if not ok or not all(
        isinstance(s, str) or (isinstance(s, int) and not isinstance(s, bool) and s >= 0)
        for s in value or ()
    ):
        raise RequestError("path must be a list of keys")
    return tuple(value or ())


def _changed(
    session: Session, asked: Mapping[str, Any], edit: Callable[[str, Checked], str]
) -> str:
    session.change(_number(asked, "version"), edit)
    return ""


def _set(session: Session, asked: Mapping[str, Any]) -> str:
    path, typed = _path(asked), _text(asked, "typed")
    return _changed(
        session,
        asked,
        lambda text, checked: scene_edits.write_value(
            lists.owned(text, checked.scene, path), path, typed, checked.scene.unit
        ),
    )


def _nudge(session: Session, asked: Mapping[str, Any]) -> str:
    path, count = _path(asked), _steps(asked)
    return _changed(
        session,
        asked,
        lambda text, checked: scene_edits.nudge(
            lists.owned(text, checked.scene, path), checked.scene, path, count
        ),
    )


def _move(session: Session, asked: Mapping[str, Any]) -> str:
    index, count = _number(asked, "index"), _steps(asked)
    return _changed(
        session,
        asked,
        lambda text, checked: scene_edits.move_station(text, checked.scene, index, count),
    )


def _place(session: Session, asked: Mapping[str, Any]) -> str:
    index, name, to = _number(asked, "index"), _text(asked, "name"), asked.get("to")
    if not isinstance(to, int | float) or isinstance(to, bool) or not abs(to) < FARTHEST_MM:
        raise RequestError("to must be a place on the bar in mm")
    return _changed(
        session,
        asked,
        lambda text, checked: scene_edits.place_station(
            text, checked.assembly, index, name, float(to)
        ),
    )


_Edit = Callable[[str, Any, int], str]


def _station(edit: _Edit) -> Callable[[Session, Mapping[str, Any]], str]:
    def action(session: Session, asked: Mapping[str, Any]) -> str:
        index = _number(asked, "index")
        return _changed(session, asked, lambda text, checked: edit(text, checked.scene, index))

    return action


def _list_add(session: Session, asked: Mapping[str, Any]) -> str:
    name = _text(asked, "list")
    return _changed(session, asked, lambda text, checked: lists.add(text, checked.scene, name))


def _list_remove(session: Session, asked: Mapping[str, Any]) -> str:
    name, index = _text(asked, "list"), _number(asked, "index")
    return _changed(
        session, asked, lambda text, checked: lists.remove(text, checked.scene, name, index)
    )


def _add(session: Session, asked: Mapping[str, Any]) -> str:
    use, at = _text(asked, "use"), _text(asked, "at")
    return _changed(
        session,
        asked,
        lambda text, checked: scene_edits.add_station(text, checked.scene, use, at),
    )


def _remedy(session: Session, asked: Mapping[str, Any]) -> str:
    parts = asked.get("parts")
    if not isinstance(parts, list) or not all(isinstance(part, str) for part in parts):
        raise RequestError("parts must be a list of texts")
    session.apply_remedy(_number(asked, "version"), _text(asked, "check"), tuple(parts))
    return "The remedy has been written into the scene and checked."


def _rewrite(session: Session, asked: Mapping[str, Any]) -> str:
    session.rewrite(_number(asked, "version"), _text(asked, "text"))
    return ""


def _undo(session: Session, asked: Mapping[str, Any]) -> str:
    session.undo(_number(asked, "version"))
    return ""


def _redo(session: Session, asked: Mapping[str, Any]) -> str:
    session.redo(_number(asked, "version"))
    return ""


def _speak(session: Session, asked: Mapping[str, Any]) -> str:
    wanted = _text(asked, "unit")
    if wanted not in {unit.value for unit in Unit}:
        raise RequestError("there is no such unit")
    session.speak(Unit(wanted))
    return ""


def _save(session: Session, asked: Mapping[str, Any]) -> str:
    return f"Saved to {session.save_to_origin(_number(asked, 'version'))}."


_ACTIONS: Mapping[str, Callable[[Session, Mapping[str, Any]], str]] = {
    "set": _set,
    "nudge": _nudge,
    "move": _move,
    "place": _place,
    "copy": _station(scene_edits.copy_station),
    "rows": _station(scene_edits.to_all_rows),
    "mirror": _station(scene_edits.mirror_station),
    "remove": _station(scene_edits.remove_station),
    "add": _add,
    "list-add": _list_add,
    "list-remove": _list_remove,
    "remedy": _remedy,
    "text": _rewrite,
    "undo": _undo,
    "redo": _redo,
    "speak": _speak,
    "save": _save,
}
