"""Which version of the program results depend on."""

from __future__ import annotations

import hashlib
from functools import cache
from pathlib import Path

_ROOT = Path(__file__).parents[3]
# All that a result depends on besides the study's own files.
_ROOMS = (
    "meshes_generic",
    *(f"rigmodel/{room}" for room in ("reading", "catalog", "spec", "assembly", "clearance")),
    "rigmodel/loads",
    "rigmodel/advise/study",
)


@cache
def program_digest() -> str:
    """Digest of the parts of this program that results depend on."""
    digest = hashlib.sha256()
    for room in _ROOMS:
        for path in sorted((_ROOT / room).rglob("*")):
            if path.suffix in (".py", ".yaml"):
                digest.update(path.relative_to(_ROOT).as_posix().encode() + b"\0")
                digest.update(path.read_bytes())
    return digest.hexdigest()
