"""Draws pictures: ``python -m rigmodel.view.draw FOLDER`` with them, pickled, on stdin.

This runs in a process of its own, because without a working graphics library it does not fail but
die. Nothing else in the package imports it. It never opens a window on a screen: the caller names
the off screen kind in the environment. The pickle comes from the parent process alone.
"""

from __future__ import annotations

import os
import pickle
import sys
from collections.abc import Iterator, Sequence
from itertools import count
from typing import TypeVar

import numpy as np
import vtkmodules.vtkRenderingFreeType
import vtkmodules.vtkRenderingOpenGL2  # noqa: F401
from numpy.typing import NDArray
from PIL import Image
from vtkmodules.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray, vtk_to_numpy
from vtkmodules.vtkCommonCore import vtkPoints, vtkUnsignedCharArray
from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkImageData, vtkPolyData
from vtkmodules.vtkFiltersCore import vtkPolyDataNormals
from vtkmodules.vtkIOImage import vtkPNGWriter
from vtkmodules.vtkRenderingCore import (
    vtkActor,
    vtkActor2D,
    vtkCoordinate,
    vtkLight,
    vtkPolyDataMapper,
    vtkPolyDataMapper2D,
    vtkProp,
    vtkRenderer,
    vtkRenderWindow,
    vtkTextActor,
)

from meshes_generic.mesh import IntArray, Mesh, merge
from meshes_generic.shapes import Box
from meshes_generic.transform import FloatArray
from rigmodel.view.edges import CREASE_DEG
from rigmodel.view.picture import Align, Drawn, Fill, Lines, Panel, Picture, Style, Words

SAMPLES = 2  # drawn this many times larger each way and averaged down
_FAR = 40000.0  # the eye stands this far off, mm
Pixels = NDArray[np.uint8]
_Described = TypeVar("_Described")


def rgb(colour: str) -> tuple[float, float, float]:
    """``#rrggbb`` as three shares of 1."""
    red, green, blue = (int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5))
    return red, green, blue


def cells(indices: IntArray) -> vtkCellArray:
    """Cells of one size each, from their point indices (n, k)."""
    array = vtkCellArray()
    flat = numpy_to_vtkIdTypeArray(np.ascontiguousarray(indices, dtype=np.int64).ravel(), deep=True)
    array.SetData(indices.shape[1], flat)
    return array


def points_of(values: FloatArray) -> vtkPoints:
    """Points (n, 3)."""
    points = vtkPoints()
    points.SetData(numpy_to_vtk(np.ascontiguousarray(values, dtype=np.float32), deep=True))
    return points


def surface_actor(mesh: Mesh, style: Style, shade: FloatArray | None = None) -> vtkActor:
    """A mesh, smooth where it is round and sharp at its creases."""
    data = vtkPolyData()
    data.SetPoints(points_of(mesh.vertices))
    data.SetPolys(cells(mesh.faces))
    if shade is not None:
        levels = np.round(255.0 * shade[:, None] * np.array(rgb(style.colour))).astype(np.uint8)
        data.GetPointData().SetScalars(numpy_to_vtk(levels, deep=True))
    normals = vtkPolyDataNormals()
    normals.SetInputData(data)
    normals.SetFeatureAngle(CREASE_DEG)
    normals.ConsistencyOff()
    mapper = vtkPolyDataMapper()
    mapper.SetInputConnection(normals.GetOutputPort())
    mapper.SetScalarVisibility(shade is not None)
    mapper.SetResolveCoincidentTopologyToPolygonOffset()
    mapper.SetRelativeCoincidentTopologyPolygonOffsetParameters(1.0, 1.0)
    actor = vtkActor()
    actor.SetMapper(mapper)
    look = actor.GetProperty()
    look.SetColor(*rgb(style.colour))
    look.SetOpacity(style.opacity)
    look.SetAmbient(0.5)
    look.SetDiffuse(0.7)
    look.SetSpecular(0.45 * style.gloss)
    look.SetSpecularPower(18.0)
    if style.opacity < 1.0:
        look.BackfaceCullingOn()
        actor.ForceTranslucentOn()
    return actor


def strokes(ends: FloatArray) -> vtkPolyData:
    """Straight strokes (n, 2, 3)."""
    data = vtkPolyData()
    data.SetPoints(points_of(ends.reshape(-1, 3)))
    data.SetLines(cells(np.arange(2 * len(ends)).reshape(-1, 2)))
    return data


def lines_actor(lines: Lines) -> vtkActor:
    """Straight strokes, unlit."""
    mapper = vtkPolyDataMapper()
    mapper.SetInputData(strokes(lines.ends))
    actor = vtkActor()
    actor.SetMapper(mapper)
    look = actor.GetProperty()
    look.SetColor(*rgb(lines.colour))
    look.SetLineWidth(lines.width * SAMPLES)
    look.SetOpacity(lines.opacity)
    look.LightingOff()
    return actor


def panel_renderer(panel: Panel, picture: Picture) -> vtkRenderer:
    """One view with its camera and lights."""
    renderer = vtkRenderer()
    area = panel.area
    renderer.SetViewport(
        area.left / picture.width,
        area.low / picture.height,
        area.right / picture.width,
        area.high / picture.height,
    )
    renderer.SetBackground(*rgb(picture.background))
    renderer.SetUseOIT(False)  # what shows through is drawn from far to near, which is enough
    gathered: dict[Style, list[Mesh]] = {}
    for surface in panel.surfaces:
        if surface.style.opacity < 1.0:
            renderer.AddActor(surface_actor(surface.mesh, surface.style, surface.shade))
        else:
            gathered.setdefault(surface.style, []).append(surface.mesh)
    for style, meshes in gathered.items():
        renderer.AddActor(surface_actor(merge(meshes), style))
    for lines in panel.lines:
        if len(lines.ends):
            renderer.AddActor(lines_actor(lines))
    _aim(renderer, panel)
    _light(renderer, panel)
    return renderer


def _aim(renderer: vtkRenderer, panel: Panel) -> None:
    camera, wanted = renderer.GetActiveCamera(), panel.camera
    camera.ParallelProjectionOn()
    camera.SetFocalPoint(*wanted.centre)
    camera.SetPosition(*(wanted.centre + wanted.toward * _FAR))
    camera.SetViewUp(*wanted.up)
    camera.SetParallelScale(wanted.half_height)
    renderer.ResetCameraClippingRange()


def _light(renderer: vtkRenderer, panel: Panel) -> None:
    """A key light over the eye's left shoulder, a weaker one from the right, sky from above."""
    renderer.AutomaticLightCreationOff()
    toward, up = panel.camera.toward, panel.camera.up
    right = np.cross(up, toward)
    for direction, strength in (
        (toward - 0.55 * right + 0.75 * up, 0.72),
        (toward + 0.9 * right + 0.1 * up, 0.26),
        (np.array((0.0, 0.0, 1.0)) + 0.05 * toward, 0.22),
    ):
        light = vtkLight()
        light.SetLightTypeToSceneLight()
        light.PositionalOff()
        light.SetFocalPoint(0.0, 0.0, 0.0)
        light.SetPosition(*direction)
        light.SetIntensity(strength)
        renderer.AddLight(light)


def fills_actor(fills: list[Fill]) -> vtkActor2D:
    """Convex polygons, each in its own colour, in order."""
    places, triangles, colours = [], [], []
    start = 0
    for fill in fills:
        n = len(fill.points)
        places.append(np.column_stack((np.array(fill.points) * SAMPLES, np.zeros(n))))
        triangles.append(np.array([(start, start + i, start + i + 1) for i in range(1, n - 1)]))
        shade = [round(255 * share) for share in (*rgb(fill.colour), fill.opacity)]
        colours += [shade] * (n - 2)
        start += n
    data = vtkPolyData()
    data.SetPoints(points_of(np.concatenate(places)))
    data.SetPolys(cells(np.concatenate(triangles)))
    table = np.array(colours, dtype=np.uint8)
    array: vtkUnsignedCharArray = numpy_to_vtk(table, deep=True)
    data.GetCellData().SetScalars(array)
    mapper = vtkPolyDataMapper2D()
    mapper.SetInputData(data)
    place = vtkCoordinate()
    place.SetCoordinateSystemToDisplay()
    mapper.SetTransformCoordinate(place)
    actor = vtkActor2D()
    actor.SetMapper(mapper)
    return actor


def words_actor(words: Words) -> vtkTextActor:
    """One line of text."""
    actor = vtkTextActor()
    actor.SetInput(words.text)
    look = actor.GetTextProperty()
    look.SetFontFamilyToArial()
    look.SetFontSize(round(words.size * SAMPLES))
    look.SetColor(*rgb(words.colour))
    look.SetBold(words.bold)
    look.SetVerticalJustificationToCentered()
    {
        Align.LEFT: look.SetJustificationToLeft,
        Align.CENTRE: look.SetJustificationToCentered,
        Align.RIGHT: look.SetJustificationToRight,
    }[words.align]()
    actor.GetPositionCoordinate().SetCoordinateSystemToDisplay()
    actor.SetPosition(words.at[0] * SAMPLES, words.at[1] * SAMPLES)
    return actor


def overlay_props(overlay: Sequence[Drawn]) -> list[vtkProp]:
    """Everything flat, in order: runs of fills in one actor each, words one by one."""
    props: list[vtkProp] = []
    run: list[Fill] = []
    for item in overlay:
        if isinstance(item, Fill):
            run.append(item)
            continue
        if run:
            props.append(fills_actor(run))
            run = []
        props.append(words_actor(item))
    if run:
        props.append(fills_actor(run))
    return props


def overlay_renderer(picture: Picture) -> vtkRenderer:
    """What lies over the views, in a layer of its own."""
    renderer = vtkRenderer()
    renderer.SetLayer(1)
    renderer.InteractiveOff()
    for prop in overlay_props(picture.overlay):
        renderer.AddViewProp(prop)
    return renderer


def _window(width: int, height: int) -> vtkRenderWindow:
    window = vtkRenderWindow()
    window.SetOffScreenRendering(True)
    window.SetShowWindow(False)
    window.SetMultiSamples(0)
    window.SetDPI(72)
    window.SetSize(width * SAMPLES, height * SAMPLES)
    return window


def warm_up() -> None:
    """Draws next to nothing, which loads what drawing needs while there is nothing to draw yet."""
    window, renderer = _window(8, 8), vtkRenderer()
    renderer.AddActor(surface_actor(Box(1.0, 1.0, 1.0).mesh(), Style("#ffffff")))
    renderer.AddViewProp(words_actor(Words("0", (1.0, 1.0), 8.0, "#ffffff")))
    window.AddRenderer(renderer)
    window.Render()


def window_of(picture: Picture) -> vtkRenderWindow:
    """The picture in an off screen window `SAMPLES` times as large."""
    window = _window(picture.width, picture.height)
    window.SetNumberOfLayers(2)
    ground = vtkRenderer()  # what no panel covers
    ground.SetBackground(*rgb(picture.background))
    window.AddRenderer(ground)
    for panel in picture.panels:
        window.AddRenderer(panel_renderer(panel, picture))
    window.AddRenderer(overlay_renderer(picture))
    return window


def pixels(window: vtkRenderWindow, picture: Picture) -> Pixels:
    """The drawn picture, shape (height, width, 3), rows from below, 0 to 255."""
    window.Render()
    taken = vtkUnsignedCharArray()
    wide, high = picture.width * SAMPLES, picture.height * SAMPLES
    window.GetPixelData(0, 0, wide - 1, high - 1, 0, taken, 0)
    fine = Image.frombuffer("RGB", (wide, high), vtk_to_numpy(taken).tobytes())
    averaged: Pixels = np.asarray(fine.reduce(SAMPLES))
    return averaged


def write_png(values: Pixels, file: str) -> None:
    """Writes pixels (height, width, 3), rows from below, as PNG."""
    image = vtkImageData()
    image.SetDimensions(values.shape[1], values.shape[0], 1)
    flat = numpy_to_vtk(np.ascontiguousarray(values.reshape(-1, 3)), deep=True)
    image.GetPointData().SetScalars(flat)
    writer = vtkPNGWriter()
    writer.SetFileName(file)
    writer.SetInputData(image)
    writer.Write()


def handed(kind: type[_Described]) -> Iterator[tuple[_Described, str]]:
    """What stdin holds, one after the other, each with the file it is to be drawn into."""
    warm_up()
    for number in count():
        try:
            described = pickle.load(sys.stdin.buffer)
        except EOFError:
            return
        if not isinstance(described, kind):
            raise TypeError(f"stdin must hold a {kind.__name__}")
        yield described, os.path.join(sys.argv[1], str(number))


def main() -> None:
    """Reads pictures from stdin and writes them into the folder named on the command line."""
    for picture, file in handed(Picture):
        write_png(pixels(window_of(picture), picture), file)


if __name__ == "__main__":
    main()
