"""All pictures of a rig from one process that draws while this one goes on with the papers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import TracebackType

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Findings
from rigmodel.outputs.made import SheetPicture
from rigmodel.sheet.write import SHEET_PICTURE
from rigmodel.view.child import DrawingChild
from rigmodel.view.describe import described_on, stage_of
from rigmodel.view.options import PictureError, PictureOptions, View
from rigmodel.view.render import png_child

ENDINGS: Mapping[str, View] = {f"-{view.value}.png": view for view in View}
# The sheet's own picture is drawn first: it is small, and what it waits for is loaded with it.
_ASKED = (SHEET_PICTURE, *(PictureOptions(view) for view in ENDINGS.values()))


class Pictures:
    """Pictures of every view; use it in a ``with`` statement, started before the rig is read.

    Attributes:
        why_not: why there are none, once that is known; one line.
    """

    def __init__(self) -> None:
        """Starts the process that draws; where it cannot be started, there are no pictures."""
        self.why_not = ""
        self._child: DrawingChild | None = None
        self._drawn: tuple[bytes, ...] | None = None
        try:
            self._child = png_child()
        except PictureError as error:
            self.why_not = str(error)

    def __enter__(self) -> Pictures:
        """The pictures."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Ends the process."""
        if self._child is not None:
            self._child.__exit__(kind, error, trace)

    def begin(self, assembly: Assembly, findings: Findings, told: Callable[[str], None]) -> None:
        """Describes every picture; the process draws them meanwhile and after."""
        if self._child is None:
            return
        stage = stage_of(assembly, findings)
        for options in _ASKED:
            told(f"picture: {options.view.value}")
            self._child.hand(described_on(stage, options))

    def of_views(self) -> Mapping[str, bytes]:
        """The picture of each view by the ending of its name; waits for them."""
        return dict(zip(ENDINGS, self._all()[1:], strict=False))

    def of_sheet(self) -> SheetPicture:
        """The setup sheet's picture, or why there is none; waits for it."""
        drawn = self._all()
        return (drawn[0], "") if drawn else (b"", self.why_not)

    def _all(self) -> tuple[bytes, ...]:
        if self._drawn is None:
            self._drawn = ()
            if self._child is not None:
                try:
                    self._drawn = tuple(self._child.drawn())
                except PictureError as error:
                    self.why_not = str(error)
        return self._drawn
