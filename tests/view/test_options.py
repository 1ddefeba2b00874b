"""Options of a picture as they are written."""

from __future__ import annotations

import pytest

from rigmodel.assembly.model import JointKind
from rigmodel.errors import RigmodelError
from rigmodel.view.options import Ghost, PictureError, PictureOptions, View, picture_options


def test_options_read() -> None:
    options = picture_options("Top ", " 800×600 ", "float, LIFT,float", True)
    assert options == PictureOptions(View.TOP, 800, 600, (Ghost.FLOAT, Ghost.LIFT), True)


def test_defaults() -> None:
    assert picture_options("three-quarter", "1600x1000", "", False) == PictureOptions()


@pytest.mark.parametrize("view", ["", "back", "three quarter", "top\n\x1b[31m"])
def test_a_view_that_is_not_one_is_refused(view: str) -> None:
    with pytest.raises(PictureError, match="three-quarter, top, front, side, sheet") as caught:
        picture_options(view, "1600x1000", "", False)
    assert "\n" not in caught.value.text()
    assert "\x1b" not in caught.value.text()


@pytest.mark.parametrize("size", ["", "1600", "x", "1600x", "-5x800", "16.5x900", "1e3x900"])
def test_a_size_that_does_not_read_is_refused(size: str) -> None:
    with pytest.raises(PictureError, match="1600x1000"):
        picture_options("top", size, "", False)


@pytest.mark.parametrize("size", ["319x1000", "1600x0", "8001x1000", "99999x99999"])
def test_a_size_nobody_can_use_is_refused(size: str) -> None:
    with pytest.raises(PictureError, match="320 to 8000"):
        picture_options("top", size, "", False)


@pytest.mark.parametrize("ghosts", ["roll", "float;trip", "float,up"])
def test_a_ghost_that_is_not_one_is_refused(ghosts: str) -> None:
    with pytest.raises(PictureError, match="float, trip, lift, steer"):
        picture_options("top", "1600x1000", ghosts, False)


def test_each_ghost_moves_its_own_kind_of_joint() -> None:
    kinds = [ghost.joint_kind for ghost in Ghost]
    assert kinds == [JointKind.FLOAT, JointKind.TRIP, JointKind.LIFT, JointKind.STEER]


def test_the_error_is_one_of_ours() -> None:
    assert issubclass(PictureError, RigmodelError)
