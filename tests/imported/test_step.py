"""STEP files: written here line by line, read in millimetres whatever unit they state."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from rigmodel.errors import ReadingError
from rigmodel.reading import step_file
from rigmodel.reading.mesh_file import read_body
from rigmodel.reading.mesh_path import MeshSource

# Corners of a box by number (x * 4 + y * 2 + z), outward faces, and two axes of each.
FACES = (
    ((0, 1, 3, 2), (-1, 0, 0), (0, 1, 0)),
    ((4, 6, 7, 5), (1, 0, 0), (0, 1, 0)),
    ((0, 4, 5, 1), (0, -1, 0), (1, 0, 0)),
    ((2, 3, 7, 6), (0, 1, 0), (1, 0, 0)),
    ((0, 2, 6, 4), (0, 0, -1), (1, 0, 0)),
    ((1, 5, 7, 3), (0, 0, 1), (1, 0, 0)),
)


class StepText:
    """The lines of a STEP file (ISO 10303-21) with one box in it."""

    def __init__(self, sizes: tuple[float, float, float], unit: str) -> None:
        self.lines: list[str] = []
        self.edges: dict[tuple[int, int], str] = {}
        self.corners = [
            tuple(side * size for side, size in zip((i, j, k), sizes, strict=True))
            for i in (0, 1)
            for j in (0, 1)
            for k in (0, 1)
        ]
        self.points = [self.add(f"VERTEX_POINT('',{self.point(c)})") for c in self.corners]
        shell = self.add(f"CLOSED_SHELL('',({','.join(self.face(*face) for face in FACES)}))")
        self.product(self.add(f"MANIFOLD_SOLID_BREP('',{shell})"), self.context(unit))

    def add(self, entity: str) -> str:
        self.lines.append(entity)
        return f"#{len(self.lines)}"

    def point(self, at: tuple[float, ...]) -> str:
        return self.add(f"CARTESIAN_POINT('',({','.join(repr(float(c)) for c in at)}))")

    def way(self, to: tuple[float, ...]) -> str:
        return self.add(f"DIRECTION('',({','.join(repr(float(c)) for c in to)}))")

    def axes(self, at: tuple[float, ...], z: tuple[float, ...], x: tuple[float, ...]) -> str:
        return self.add(f"AXIS2_PLACEMENT_3D('',{self.point(at)},{self.way(z)},{self.way(x)})")

    def edge(self, a: int, b: int) -> str:
        key = (min(a, b), max(a, b))
        if key not in self.edges:
            start, end = (self.corners[k] for k in key)
            step = [q - p for p, q in zip(start, end, strict=True)]
            unit = tuple(s / max(map(abs, step)) for s in step)  # along an axis
            vector = self.add(f"VECTOR('',{self.way(unit)},1.0)")
            line = self.add(f"LINE('',{self.point(start)},{vector})")
            ends = ",".join(self.points[k] for k in key)
            self.edges[key] = self.add(f"EDGE_CURVE('',{ends},{line},.T.)")
        return self.add(f"ORIENTED_EDGE('',*,*,{self.edges[key]},{'.T.' if a < b else '.F.'})")

    def face(self, loop: tuple[int, ...], normal: tuple[int, ...], across: tuple[int, ...]) -> str:
        edges = [self.edge(a, b) for a, b in zip(loop, loop[1:] + loop[:1], strict=True)]
        bound = self.add(
            f"FACE_OUTER_BOUND('',{self.add(f'''EDGE_LOOP('',({','.join(edges)}))''')},.T.)"
        )
        plane = self.add(f"PLANE('',{self.axes(self.corners[loop[0]], normal, across)})")
        return self.add(f"ADVANCED_FACE('',({bound}),{plane},.T.)")

    def context(self, unit: str) -> str:
        length = mm = self.add("(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.))")
        if unit == "in":
            sizes = self.add("DIMENSIONAL_EXPONENTS(1.0,0.0,0.0,0.0,0.0,0.0,0.0)")
            inch = self.add(f"LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),{mm})")
            length = self.add(
                f"(CONVERSION_BASED_UNIT('INCH',{inch})LENGTH_UNIT()NAMED_UNIT({sizes}))"
            )
        plane = self.add("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))")
        solid = self.add("(NAMED_UNIT(*)SI_UNIT($,.STERADIAN.)SOLID_ANGLE_UNIT())")
        fine = self.add(f"UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(1.E-05),{length},'','')")
        return self.add(
            "(GEOMETRIC_REPRESENTATION_CONTEXT(3)"
            f"GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT(({fine}))"
            f"GLOBAL_UNIT_ASSIGNED_CONTEXT(({length},{plane},{solid}))"
            "REPRESENTATION_CONTEXT('',''))"
        )

    def product(self, body: str, context: str) -> None:
        origin = self.axes((0, 0, 0), (0, 0, 1), (1, 0, 0))
        shape = self.add(f"ADVANCED_BREP_SHAPE_REPRESENTATION('',({origin},{body}),{context})")
        use = self.add("APPLICATION_CONTEXT('automotive_design')")
        field = self.add(f"PRODUCT_CONTEXT('',{use},'mechanical')")
        product = self.add(f"PRODUCT('box','box','',({field}))")
        form = self.add(f"PRODUCT_DEFINITION_FORMATION('','',{product})")
        stage = self.add(f"PRODUCT_DEFINITION_CONTEXT('part definition',{use},'design')")
        definition = self.add(f"PRODUCT_DEFINITION('design','',{form},{stage})")
        told = self.add(f"PRODUCT_DEFINITION_SHAPE('','',{definition})")
        self.add(f"SHAPE_DEFINITION_REPRESENTATION({told},{shape})")

    def text(self) -> str:
        data = "\n".join(f"#{i + 1}={line};" for i, line in enumerate(self.lines))
        return (
            "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\n"
            "FILE_NAME('','',(''),(''),'','','');\nFILE_SCHEMA(('AUTOMOTIVE_DESIGN'));\nENDSEC;\n"
            f"DATA;\n{data}\nENDSEC;\nEND-ISO-10303-21;\n"
        )


@pytest.mark.parametrize(("unit", "size"), [("mm", 1.0), ("in", 25.4)])
def test_a_step_file_is_read_in_the_unit_it_states(
    tmp_path: Path, capfd: pytest.CaptureFixture[str], unit: str, size: float
) -> None:
    path = tmp_path / "box.step"
    path.write_text(StepText((10, 20, 30), unit).text())
    body = read_body(MeshSource(str(path), "", "y"))
    sizes = np.array((30, 10, 20)) * size  # y up: the file's z points forward, its x left
    assert_allclose(body.vertices.max(axis=0), sizes, rtol=1e-6)
    assert_allclose(body.vertices.min(axis=0), 0.0, atol=1e-6)
    assert body.volume_mm3 == pytest.approx(6000.0 * size**3, rel=1e-5)
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize("text", ["", "ISO-10303-21;\n", "just words\n"])
def test_what_is_no_step_file_is_refused_and_nothing_is_printed(
    tmp_path: Path, capfd: pytest.CaptureFixture[str], text: str
) -> None:
    path = tmp_path / "box.stp"
    path.write_text(text)
    with pytest.raises(ReadingError, match=r"box\.stp"):
        read_body(MeshSource(str(path), "", "z"))
    assert capfd.readouterr() == ("", "")


def test_a_missing_converter_and_a_slow_one_are_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "box.step"
    path.write_text(StepText((1, 1, 1), "mm").text())
    monkeypatch.setattr(step_file, "SECONDS", 0.001)
    with pytest.raises(ReadingError, match="longer than"):
        read_body(MeshSource(str(path), "", "z"))
    monkeypatch.setattr(step_file, "find_spec", lambda name: None)
    with pytest.raises(ReadingError, match=r"not installed.*STL"):
        read_body(MeshSource(str(path), "", "z"))
