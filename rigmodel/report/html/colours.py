"""Every colour of the page, and which of them stand on which.

The hues are those of the palette by Okabe and Ito, "Color Universal Design" (2008; from memory),
darkened where text needs it. A verdict is always told by a shape and a word as well.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

COLOURS: Mapping[str, str] = MappingProxyType(
    {
        "paper": "#ffffff",
        "panel": "#f5f6f6",
        "stage": "#eef1f2",
        "line": "#d3d8da",
        "border": "#7b858c",
        "ink": "#20262b",
        "soft": "#515b62",
        "focus": "#00558b",
        "fail": "#a93c00",
        "fail-tint": "#fcefe7",
        "open": "#5b4a8a",
        "open-tint": "#f1eff8",
        "advise": "#00558b",
        "advise-tint": "#e8f1f8",
        "pass": "#00674c",
        "pass-tint": "#e7f4f0",
        "crop": "#00785a",
        "hoe": "#46525b",
        "wheel": "#8a5a83",
        "soil": "#8f7252",
        "soil-pale": "#d8cab6",
        "soil-dark": "#6a5137",
    }
)

# (foreground, background, least ratio). WCAG 2.2 (W3C, 2023): 4.5 for text (1.4.3), 3 for
# controls, focus and the parts of a drawing that carry meaning (1.4.11).
PAIRS: tuple[tuple[str, str, float], ...] = (
    *((text, back, 4.5) for text in ("ink", "soft") for back in ("paper", "panel", "stage")),
    *((mood, "paper", 4.5) for mood in ("fail", "open", "advise", "pass")),
    *((mood, f"{mood}-tint", 4.5) for mood in ("fail", "open", "advise", "pass")),
    *(("ink", f"{mood}-tint", 4.5) for mood in ("fail", "open", "advise", "pass")),
    *(("soft", f"{mood}-tint", 4.5) for mood in ("fail", "open", "advise", "pass")),
    *(("paper", mood, 4.5) for mood in ("fail", "open", "advise", "pass", "focus")),
    *(("border", back, 3.0) for back in ("paper", "panel", "stage")),
    *(("focus", back, 3.0) for back in ("paper", "panel", "stage")),
    *((mark, "paper", 3.0) for mark in ("crop", "hoe", "wheel", "soil")),
    ("paper", "hoe", 4.5),
    ("paper", "wheel", 4.5),
    ("paper", "crop", 4.5),
)


def variables() -> str:
    """The colours as CSS variables."""
    return ":root{" + "".join(f"--{name}:{value};" for name, value in COLOURS.items()) + "}"
