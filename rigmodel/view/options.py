"""What may be asked of a picture, and what is said when it cannot be had."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeVar

from rigmodel.assembly.model import JointKind
from rigmodel.errors import RigmodelError, shown

LEAST_PIXELS, MOST_PIXELS = 320, 8000
_SIZE = re.compile(r"(\d{1,5})\s*[x×]\s*(\d{1,5})", re.ASCII | re.IGNORECASE)
_Choice = TypeVar("_Choice", bound=StrEnum)


class PictureError(RigmodelError):
    """A picture could not be made; the message is one line."""

    def text(self) -> str:
        """The message."""
        return str(self)


class View(StrEnum):
    """Where to look from; `sheet` shows the other four together."""

    THREE_QUARTER = "three-quarter"
    TOP = "top"
    FRONT = "front"
    SIDE = "side"
    SHEET = "sheet"


class Ghost(StrEnum):
    """Other poses that can be drawn faintly."""

    FLOAT = "float"
    TRIP = "trip"
    LIFT = "lift"
    STEER = "steer"

    @property
    def joint_kind(self) -> JointKind:
        """The kind of joint that moves in it."""
        return JointKind(self.value)


@dataclass(frozen=True)
class PictureOptions:
    """What a picture should show.

    Attributes:
        view: where to look from.
        width: pixels.
        height: pixels.
        ghosts: other poses to draw faintly.
        replace: whether a file that is there may be written over.
        letters: size of letters against the usual; larger ones leave no room for each station.
    """

    view: View = View.THREE_QUARTER
    width: int = 1600
    height: int = 1000
    ghosts: tuple[Ghost, ...] = ()
    replace: bool = False
    letters: float = 1.0

    def __post_init__(self) -> None:
        """Refuses sizes nobody can look at or no machine can draw."""
        for name, pixels in (("width", self.width), ("height", self.height)):
            if not LEAST_PIXELS <= pixels <= MOST_PIXELS:
                raise PictureError(
                    f"a picture's {name} must be {LEAST_PIXELS} to {MOST_PIXELS} pixels, "
                    f"not {pixels}"
                )


def picture_options(view: str, size: str, ghosts: str, replace: bool) -> PictureOptions:
    """Reads the options as they are written on the command line.

    Args:
        view: such as ``top``.
        size: such as ``1600x1000``.
        ghosts: such as ``float,trip``; may be empty.
        replace: whether a file that is there may be written over.

    Raises:
        PictureError: one of them does not read.
    """
    width, height = read_size(size)
    words = [word.strip().lower() for word in ghosts.split(",") if word.strip()]
    chosen = tuple(
        choice_of(Ghost, word, "a pose to draw faintly") for word in dict.fromkeys(words)
    )
    return PictureOptions(
        choice_of(View, view.strip().lower(), "a view"),
        width,
        height,
        chosen,
        replace,
    )


def read_size(size: str) -> tuple[int, int]:
    """Width and height in pixels from a text such as ``1600x1000``.

    Raises:
        PictureError: it does not read.
    """
    match = _SIZE.fullmatch(size.strip())
    if match is None:
        raise PictureError(f"{shown(size)} is not a size in pixels such as 1600x1000")
    return int(match[1]), int(match[2])


def choice_of(kind: type[_Choice], word: str, what: str) -> _Choice:
    """The member of that value, or a sentence with all there are.

    Raises:
        PictureError: there is none.
    """
    try:
        return kind(word)
    except ValueError:
        names = ", ".join(member.value for member in kind)
        raise PictureError(f"{shown(word)} is not {what}; expected one of {names}") from None
