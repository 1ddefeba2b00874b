"""`Made`: what several outputs of one checked rig share, each part of it made once."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from typing import TYPE_CHECKING

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Findings

if TYPE_CHECKING:  # each output imports what it needs when it is made
    from rigmodel.drawing.sheet import Sheet
    from rigmodel.loads.account import Account
    from rigmodel.shop.listing import ShopList

SheetPicture = tuple[bytes, str]  # a PNG and an empty text, or no bytes and why there is none


class Made:
    """A checked rig, and what has been made of it so far.

    Args:
        assembly: the rig.
        findings: what was found in it.
        sheet_picture: gives the picture for the setup sheet; drawn for it alone if left out.
    """

    def __init__(
        self,
        assembly: Assembly,
        findings: Findings,
        sheet_picture: Callable[[], SheetPicture] | None = None,
    ) -> None:
        self.assembly = assembly
        self.findings = findings
        self._sheet_picture = sheet_picture

    @cached_property
    def drawings(self) -> tuple[Sheet, ...]:
        """The sheets of the fabrication drawing."""
        from rigmodel.drawing.draw import drawings  # noqa: PLC0415
        from rigmodel.drawing.stamp import stamp_of  # noqa: PLC0415

        return drawings(self.assembly, stamp=stamp_of(self.findings))

    @cached_property
    def account(self) -> Account:
        """Weights and forces."""
        from rigmodel.loads.account import Account  # noqa: PLC0415

        return self.findings.loads or Account(self.assembly)

    @cached_property
    def listing(self) -> ShopList:
        """Parts, fasteners, cuts and marks."""
        from rigmodel.shop.listing import shop_list  # noqa: PLC0415

        return shop_list(self.assembly, loads=self.account)

    @cached_property
    def setup_sheet(self) -> tuple[bytes, bytes]:
        """The setup sheet as PDF and as HTML."""
        from rigmodel.sheet.content import sheet_content  # noqa: PLC0415
        from rigmodel.sheet.write import sheet_pages, sheet_picture  # noqa: PLC0415

        if self._sheet_picture is None:
            picture = sheet_picture(self.assembly, self.findings)
        else:
            picture = self._sheet_picture()
        return sheet_pages(sheet_content(self.assembly, self.findings), *picture)
