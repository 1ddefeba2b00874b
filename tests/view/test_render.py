"""Pictures as drawn, and what happens where they cannot be."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from vtkmodules.util.numpy_support import vtk_to_numpy
from vtkmodules.vtkIOImage import vtkPNGReader

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Findings
from rigmodel.view import child, palette, render
from rigmodel.view.camera import project
from rigmodel.view.child import DrawingChild
from rigmodel.view.describe import describe
from rigmodel.view.options import PictureError, PictureOptions, View
from rigmodel.view.picture import Style
from rigmodel.view.render import png_of, render_picture

SMALL = PictureOptions(View.SIDE, 480, 320)
Pixels = NDArray[np.uint8]


def _read(file: Path) -> Pixels:
    """Pixels (height, width, 3), rows from below."""
    reader = vtkPNGReader()
    reader.SetFileName(str(file))
    reader.Update()
    image = reader.GetOutput()
    width, height, _ = image.GetDimensions()
    values: Pixels = vtk_to_numpy(image.GetPointData().GetScalars()).reshape(height, width, -1)
    return values


def _rgb(colour: str) -> list[int]:
    return [int(colour[i : i + 2], 16) for i in (1, 3, 5)]


@pytest.mark.parametrize("view", list(View))
def test_a_picture_has_its_size_and_is_not_blank(
    rig: Assembly, findings: Findings, view: View, tmp_path: Path
) -> None:
    target = tmp_path / "rig.png"
    render_picture(rig, findings, PictureOptions(view, 700, 500), target)
    pixels = _read(target)
    assert pixels.shape == (500, 700, 3)
    away = np.abs(pixels.astype(np.int64) - np.array(_rgb(palette.BACKGROUND)))
    plain = np.asarray(away.max(axis=2) <= 2)
    assert 0.15 < plain.mean() < 0.95
    assert len(np.unique(pixels.reshape(-1, 3), axis=0)) > 500
    assert plain[:, :8].all() if view is not View.SHEET else True
    assert [file.name for file in tmp_path.iterdir()] == ["rig.png"]


def test_things_are_drawn_where_the_description_says(
    rig: Assembly, findings: Findings, tmp_path: Path
) -> None:
    options = PictureOptions(View.SIDE)
    (panel,) = describe(rig, findings, options).panels
    render_picture(rig, findings, options, tmp_path / "side.png")
    pixels = _read(tmp_path / "side.png")

    def at(x: float, y: float) -> list[int]:
        return [int(value) for value in pixels[int(y), int(x)]]

    tyre = rig.at_work(rig.mechanism.part("tractor.rear.left.tyre")).bounds()
    middle = (tyre[0] + tyre[1]) / 2.0
    rubber = middle + np.array((0.0, 0.0, 0.8 * (tyre[1, 2] - middle[2])))
    (x, y), (rim_x, rim_y) = project(panel.camera, panel.area, np.array((rubber, middle)))
    assert max(at(x, y)) < 70
    assert min(at(rim_x, rim_y)) > 70
    for mark in panel.marks:
        for x, y in mark.ends:
            if mark.shape.value == "diamond":
                assert min(at(x, y)) > 200  # the white cross
                assert at(x, y + 7.0) == pytest.approx(_rgb(palette.FAIL), abs=20)


def test_a_file_that_is_there_is_kept(rig: Assembly, tmp_path: Path) -> None:
    target = tmp_path / "rig.png"
    target.write_bytes(b"mine")
    with pytest.raises(PictureError, match=r"rig\.png"):
        render_picture(rig, None, SMALL, target)
    assert target.read_bytes() == b"mine"
    render_picture(rig, None, replace(SMALL, replace=True), target)
    assert _read(target).shape == (320, 480, 3)


@pytest.mark.parametrize("name", ["nowhere/rig.png", "."])
def test_a_target_that_cannot_be_written_is_refused(
    rig: Assembly, tmp_path: Path, name: str
) -> None:
    with pytest.raises(PictureError, match="cannot write"):
        render_picture(rig, None, SMALL, tmp_path / name)
    assert list(tmp_path.iterdir()) == []


@pytest.fixture
def no_graphics(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A machine without a driver: no EGL vendor, and no OSMesa that could stand in for it."""
    junk = tmp_path / "junk"
    junk.mkdir()
    for name in ("libOSMesa.so", "libOSMesa.so.6", "libOSMesa.so.8"):
        (junk / name).write_bytes(b"no library")
    monkeypatch.setenv("LD_LIBRARY_PATH", str(junk))
    monkeypatch.setenv("__EGL_VENDOR_LIBRARY_FILENAMES", str(junk / "none.json"))


@pytest.mark.usefixtures("no_graphics")
def test_without_graphics_one_line_says_what_to_install(rig: Assembly, tmp_path: Path) -> None:
    target = tmp_path / "rig.png"
    with pytest.raises(PictureError) as caught:
        render_picture(rig, None, SMALL, target)
    message = caught.value.text()
    assert message == render.NO_GRAPHICS
    assert "\n" not in message
    # Debian's own names; with what they depend on they hold every library the child opens
    # (read off an strace of it on Debian 12 with vtk 9.7).
    assert "apt-get install libegl1 libegl-mesa0 libgl1-mesa-dri" in message
    assert not target.exists()


@pytest.mark.parametrize("code", [-11, -6, -9, 3, 0])
def test_a_child_that_dies_is_no_picture(
    rig: Assembly, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int
) -> None:
    monkeypatch.setattr(DrawingChild, "_finish", lambda self: (code, ""))
    with pytest.raises(PictureError, match="apt-get install"):
        render_picture(rig, None, SMALL, tmp_path / "rig.png")
    assert list(tmp_path.iterdir()) == []


def test_half_a_file_from_the_child_is_no_picture(
    rig: Assembly, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(self: DrawingChild) -> tuple[int, str]:
        (self._folder / "0").write_bytes(b"\x89PN")
        return 0, ""

    monkeypatch.setattr(DrawingChild, "_finish", broken)
    with pytest.raises(PictureError):
        render_picture(rig, None, SMALL, tmp_path / "rig.png")
    assert list(tmp_path.iterdir()) == []


def test_a_library_that_is_missing_is_named(
    rig: Assembly, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = (
        "Traceback (most recent call last):\n  File x\n"
        "ImportError: libGL.so.1: cannot open shared object file: No such file or directory\n"
    )
    monkeypatch.setattr(DrawingChild, "_finish", lambda self: (1, said))
    with pytest.raises(PictureError, match=r"libGL\.so\.1.*apt-get install.* libgl1$"):
        render_picture(rig, None, SMALL, tmp_path / "rig.png")


def test_an_exception_in_the_child_is_told_in_one_line(rig: Assembly) -> None:
    picture = describe(rig, None, SMALL)
    (panel,) = picture.panels
    wrong = replace(panel.surfaces[0], style=Style("no colour"))
    bad = replace(picture, panels=(replace(panel, surfaces=(wrong,)),))
    with pytest.raises(PictureError, match="ValueError") as caught:
        png_of(bad)
    assert "\n" not in caught.value.text()


def test_without_the_package_the_message_says_so(
    rig: Assembly, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(child, "find_spec", lambda name: None)
    with pytest.raises(PictureError, match="pip install vtk"):
        png_of(describe(rig, None, SMALL))


def test_no_display_is_opened(rig: Assembly, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("DISPLAY", "WAYLAND_DISPLAY"):
        monkeypatch.setenv(name, ":77")
        assert name not in child.environment()
    monkeypatch.setenv("VTK_DEFAULT_OPENGL_WINDOW", "vtkXOpenGLRenderWindow")
    assert png_of(describe(rig, None, SMALL)).startswith(b"\x89PNG")


def test_the_child_finds_this_package_from_anywhere(
    rig: Assembly, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "rigmodel").mkdir()
    (tmp_path / "rigmodel" / "__init__.py").write_text("raise SystemExit(9)\n")
    monkeypatch.chdir(tmp_path)
    assert png_of(describe(rig, None, SMALL)).startswith(b"\x89PNG")
