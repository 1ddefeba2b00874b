"""The part of a film in which anything moves, and a picture cut down to it."""

from __future__ import annotations

import io

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image

from meshes_generic.transform import apply
from rigmodel.assembly.rig import Assembly
from rigmodel.view.camera import project
from rigmodel.view.crop import cropped, region, shifted
from rigmodel.view.describe import describe
from rigmodel.view.film import SweepOptions, describe_sweep
from rigmodel.view.motions import Motion
from rigmodel.view.options import PictureOptions, View
from rigmodel.view.picture import Area, Fill, Words
from rigmodel.view.render import png_child

pixel = st.floats(-900.0, 900.0)


@pytest.mark.parametrize("view", [View.THREE_QUARTER, View.TOP, View.SIDE])
@pytest.mark.parametrize("motion", [m for m in Motion if m is not Motion.ALL])
def test_all_that_moves_is_inside_and_on_whole_pixels(
    rig: Assembly, view: View, motion: Motion
) -> None:
    film = describe_sweep(rig, None, SweepOptions(motion, view))
    area, panel = region(film), film.still.panels[0]
    assert area == Area(*(float(round(v)) for v in (area.left, area.low, area.width, area.height)))
    assert Area(0, 0, film.still.width, film.still.height).holds(area)
    for mover in film.movers:
        for way in mover.ways:
            if mover.surface is not None:
                flat = project(panel.camera, panel.area, apply(way, mover.surface.mesh.vertices))
                assert (flat >= (area.left, area.low)).all()
                assert (flat <= (area.right, area.high)).all()


def _pixels(data: bytes) -> NDArray[np.int64]:
    return np.asarray(Image.open(io.BytesIO(data)).convert("RGB")).astype(np.int64)


def test_a_part_is_drawn_as_it_is_in_the_whole(rig: Assembly) -> None:
    picture = describe(rig, None, PictureOptions(View.THREE_QUARTER, 640, 420))
    area = Area(211.0, 97.0, 230.0, 171.0)
    with png_child() as child:
        child.hand(picture)
        child.hand(cropped(picture, area))
        whole, part = (_pixels(data) for data in child.drawn())
    assert part.shape == (171, 230, 3)
    same = whole[420 - 97 - 171 : 420 - 97, 211 : 211 + 230]
    off = np.abs(part - same).max(axis=2)
    assert off.mean() < 0.5  # of 255: edges fall a hair differently on the samples
    assert (off > 48).mean() < 0.004


@given(pixel, pixel, pixel, pixel)
def test_what_is_shifted_there_and_back_is_where_it_was(
    x: float, y: float, across: float, up: float
) -> None:
    drawn = (Words("a", (x, y), 9.0, "#000000"), Fill(((x, y), (y, x)), "#ffffff"))
    words, fill = shifted(shifted(drawn, across, up), -across, -up)
    assert isinstance(words, Words)
    assert isinstance(fill, Fill)
    assert words.at == pytest.approx((x, y), abs=1e-9)
    assert np.array(fill.points) == pytest.approx(np.array(((x, y), (y, x))), abs=1e-9)
