"""Imports go one way, and `rigmodel check` loads nothing heavy."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
# What a room may import lies on a lower step. A room that is not named here stands on OUTPUT.
STEPS = {
    "meshes_generic": 0,
    "rigmodel": 1,
    "rigmodel.units": 1,
    "rigmodel.errors": 1,
    "rigmodel.files": 1,
    "rigmodel.lines": 1,
    "rigmodel.coverage": 1,
    "rigmodel.recent": 1,
    "rigmodel.sides": 1,
    "rigmodel.reading": 2,
    "rigmodel.catalog": 3,
    "rigmodel.spec": 4,
    "rigmodel.assembly": 5,
    "rigmodel.loads": 6,
    "rigmodel.clearance": 7,
    "rigmodel.cli": 9,
}
OUTPUT = 8
FREE = {"rigmodel.files", "rigmodel.coverage"}  # used by outputs too; they import next to nothing
HEAVY = ("trimesh", "pyvista", "vtk", "vtkmodules", "scipy", "matplotlib", "fcl", "shapely")


def name_of(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


FILES = {
    name_of(path): path
    for package in ("meshes_generic", "rigmodel")
    for path in sorted((ROOT / package).rglob("*.py"))
}
NAMES = frozenset(FILES)


def imported(name: str, tree: ast.Module) -> Iterator[str]:
    """Every module that a module imports, inside functions too, but not for typing alone."""
    typing_only = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.dump(node.test)
        for inner in ast.walk(node)
    }
    for node in ast.walk(tree):
        if id(node) in typing_only:
            continue
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = name.split(".")[: -node.level] if node.level else []
            source = ".".join([*above, *filter(None, [node.module])])
            for alias in node.names:
                inner = f"{source}.{alias.name}"
                yield inner if inner in NAMES else source


def room(module: str) -> str:
    parts = module.split(".")
    return parts[0] if parts[0] == "meshes_generic" else ".".join(parts[:2])


def step(module: str) -> int:
    return STEPS.get(room(module), OUTPUT)


GRAPH = {
    name: {
        target
        for target in imported(name, ast.parse(path.read_text()))
        if target in NAMES and target != name
    }
    for name, path in FILES.items()
}


@pytest.mark.parametrize("name", sorted(NAMES))
def test_imports_go_down_the_steps(name: str) -> None:
    for target in GRAPH[name]:
        if room(target) in (room(name), "rigmodel"):
            continue
        if room(target) in FREE:
            continue
        if step(name) == step(target) == 1:
            continue
        if step(name) == step(target) == OUTPUT:  # outputs may share one another's tools
            continue
        assert step(target) < step(name), f"{name} imports {target}"


def test_the_generic_part_makers_know_nothing_of_the_trade() -> None:
    for name, targets in GRAPH.items():
        if name.startswith("meshes_generic"):
            assert all(target.startswith("meshes_generic") for target in targets), name


def test_no_module_imports_itself_in_a_circle() -> None:
    done: set[str] = set()

    def visit(name: str, trail: tuple[str, ...]) -> None:
        assert name not in trail, " -> ".join((*trail, name))
        if name in done:
            return
        for target in GRAPH[name]:
            visit(target, (*trail, name))
        done.add(name)

    for name in GRAPH:
        visit(name, ())


@pytest.mark.parametrize("extra", [[], ["--json"]])
def test_check_loads_nothing_heavy(scenes: Path, extra: list[str]) -> None:
    code = (
        "import sys; from rigmodel.cli import main; main(sys.argv[1:]);"
        f"print(sorted(set({HEAVY!r}) & set(sys.modules)), file=sys.stderr)"
    )
    command = [sys.executable, "-c", code, "check", str(scenes / "rear-hitch-inches.yaml"), *extra]
    done = subprocess.run(command, capture_output=True, text=True, check=True, cwd=ROOT)
    assert done.stderr.splitlines()[-1] == "[]"


def test_importing_rigmodel_loads_no_room() -> None:
    code = (
        "import sys, rigmodel;"
        "print([m for m in sys.modules if m.startswith(('rigmodel.', 'numpy', 'pydantic'))])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT
    )
    assert done.stdout.strip() == "[]"


def test_three_calls_are_all() -> None:
    import rigmodel  # noqa: PLC0415

    assert set(rigmodel.__all__) == {"__version__", "load_scene", "assemble", "check"}
    assert all(callable(getattr(rigmodel, name)) for name in ("load_scene", "assemble", "check"))
    with pytest.raises(AttributeError, match="nothing"):
        rigmodel.nothing  # noqa: B018
