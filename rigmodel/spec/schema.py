"""The JSON Schema of scene and catalogue files, for editors that complete and check YAML."""

from __future__ import annotations

import json
from typing import Any

from pydantic import BaseModel

from rigmodel.catalog.kinds import CatalogueFile
from rigmodel.spec.scene import SceneSpec

DIALECT = "https://json-schema.org/draft/2020-12/schema"
_MODELS: dict[str, type[BaseModel]] = {"scene": SceneSpec, "catalogue": CatalogueFile}


def schema(which: str) -> dict[str, Any]:
    """The schema of a ``scene`` or ``catalogue`` file."""
    return {"$schema": DIALECT, **_MODELS[which].model_json_schema()}


def schema_text(which: str) -> str:
    """The same as JSON text with a trailing newline."""
    return json.dumps(schema(which), indent=2, ensure_ascii=False) + "\n"
