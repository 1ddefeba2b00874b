"""Where sessions are kept."""

from __future__ import annotations

import os
from pathlib import Path


def usual_folder() -> Path:
    """Where sessions are kept if nothing else is said."""
    base = os.environ.get("XDG_STATE_HOME", "")
    return (Path(base) if base else Path.home() / ".local" / "state") / "rigmodel" / "page"
