"""The cautions that every output carries."""

from __future__ import annotations

CAUTIONS: tuple[str, ...] = (
    "This is a check of shapes and motion. It does not replace the tractor's and the makers' "
    "manuals, local rules, or a trial assembly by hand before the first run.",
    "Before anyone reaches under or between tools: implement lowered and blocked on stands, engine "
    "off, key out, parking brake on. Wear eye protection when cutting and drilling.",
    "Keep people clear of a lifted or moving rig. Keep all guards on.",
    "What carries loads, and anything welded to or drilled in a tractor's frame, is for a licensed "
    "engineer and the maker. Road transport is under local rules.",
)
