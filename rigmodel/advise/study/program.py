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
_FILES = ("rigmodel/*.py", "rigmodel/sheet/fields.py")  # what stands under every room, and names


@cache
def program_digest() -> str:
    """Digest of the parts of this program that results depend on."""
    digest = hashlib.sha256()
    for path in program_files():
        digest.update(path.relative_to(_ROOT).as_posix().encode() + b"\0")
        digest.update(path.read_bytes())
    return digest.hexdigest()


def program_files() -> tuple[Path, ...]:
    """The files that results depend on, in an order of their own."""
    rooms = (path for room in _ROOMS for path in (_ROOT / room).rglob("*"))
    files = (path for pattern in _FILES for path in _ROOT.glob(pattern))
    return tuple(
        sorted({p for p in (*rooms, *files) if p.suffix in (".py", ".yaml") and p.is_file()})
    )
