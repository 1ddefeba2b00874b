"""The scene as text that gives the same rig again."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml
from pydantic import BaseModel

from rigmodel.errors import RigmodelError
from rigmodel.reading.source import MAX_BYTES
from rigmodel.spec.load import scene_from_text
from rigmodel.spec.resolve import Scene

_DIGITS = 6  # of a millimetre, far finer than any tape


def spec_text(scene: Scene) -> str:
    """The scene's file as it was written, comments and all, if it still says the same.

    Otherwise (the scene came as text, or its file was changed since) what was read, written out:
    every length in mm with its unit.
    """
    written = _as_written(scene)
    return written_out(scene) if written is None else written


def written_out(scene: Scene) -> str:
    """The scene's own values as YAML, without its comments; mesh files as seen from its folder."""
    home = Path(scene.origin).parent.resolve()
    plain = _Writer(home).section(scene.spec)
    return str(yaml.safe_dump(plain, sort_keys=False, allow_unicode=True, width=100))


def _as_written(scene: Scene) -> str | None:
    if not scene.origin:
        return None
    path = Path(scene.origin)
    try:
        if not path.is_file() or path.stat().st_size > MAX_BYTES:
            return None
        text = path.read_text(encoding="utf-8-sig")
        same = scene_from_text(text, scene.origin, path.parent).spec == scene.spec
    except (OSError, ValueError, RigmodelError):
        return None
    return text if same else None


@dataclass(frozen=True)
class _Writer:
    """Writes values as a scene file has them.

    Attributes:
        home: the folder that paths count from.
    """

    home: Path

    def section(self, model: BaseModel) -> dict[str, Any]:
        """Every field that was given."""
        fields = type(model).model_fields
        return {
            name: self._value(getattr(model, name), f"{field.annotation}{field.metadata}")
            for name, field in fields.items()
            if name in model.model_fields_set
        }

    def _value(self, value: object, rule: str) -> Any:
        if isinstance(value, BaseModel):
            return self.section(value)
        if isinstance(value, dict):
            return {key: self._value(item, rule) for key, item in value.items()}
        if isinstance(value, tuple | list):
            return [self._value(item, rule) for item in value]
        if isinstance(value, float):
            number = f"{round(value, _DIGITS) + 0.0:.{_DIGITS}f}".rstrip("0").rstrip(".")
            unit = "deg" if "AngleRule" in rule else "mm"
            return float(number) if "NumberRule" in rule else f"{number} {unit}"
        if isinstance(value, str) and "MeshPathRule" in rule:
            path = Path(value)
            return (
                path.relative_to(self.home).as_posix() if path.is_relative_to(self.home) else value
            )
        return value
