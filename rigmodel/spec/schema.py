"""The JSON Schema of scene and catalogue files, for editors that complete and check YAML."""

from __future__ import annotations

import json
from typing import Any

from pydantic import BaseModel

from rigmodel.catalog.kinds import CatalogueFile
from rigmodel.spec.scene import SceneSpec

DIALECT = "https://json-schema.org/draft/2020-12/schema"
_KEYWORDS = {
    "ge": "minimum",
    "le": "maximum",
    "gt": "exclusiveMinimum",
    "lt": "exclusiveMaximum",
}
_MODELS: dict[str, type[BaseModel]] = {"scene": SceneSpec, "catalogue": CatalogueFile}


def schema(which: str) -> dict[str, Any]:
    """The schema of a ``scene`` or ``catalogue`` file."""
    found = _with_keywords(_MODELS[which].model_json_schema())
    return {"$schema": DIALECT, **found}


def _with_keywords(node: Any) -> Any:
    """The bounds of angles and counts, which pydantic leaves in its own words, as JSON Schema's."""
    if isinstance(node, dict):
        return {
            _KEYWORDS.get(key, key) if isinstance(value, int | float) else key: _with_keywords(
                value
            )
            for key, value in node.items()
        }
    return [_with_keywords(item) for item in node] if isinstance(node, list) else node


def schema_text(which: str) -> str:
    """The same as JSON text with a trailing newline."""
    return json.dumps(schema(which), indent=2, ensure_ascii=False) + "\n"
