"""What every catalogue entry and every section of a scene shares."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Entry(BaseModel):
    """No unknown keys, and frozen."""

    model_config = ConfigDict(extra="forbid", frozen=True, validate_default=False)
