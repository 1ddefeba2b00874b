"""A scene together with its own catalogue and mesh files, as it is sent to the page and taken away.

What is sent is several files, or one ZIP archive of them. Nothing of it is trusted: every name must
be a plain path below the scene's folder that any system can hold, and sizes are counted as they are
unpacked, whatever an archive says of itself.
"""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from types import MappingProxyType

from rigmodel.errors import RigmodelError, shown
from rigmodel.files import safe_stem
from rigmodel.page.asked import MOST_UNPACKED
from rigmodel.reading.fields import inside, path_problem
from rigmodel.reading.mesh_path import STEP_FILES, TRIANGLE_FILES
from rigmodel.reading.source import MAX_BYTES
from rigmodel.spec.resolve import Scene

MOST_FILES = 64
TEXTS = (".yaml", ".yml")
KINDS = (*TEXTS, *TRIANGLE_FILES, *STEP_FILES)
_SCENE = re.compile(r"^\ufeff?(?:stations|rows|[\"'](?:stations|rows)[\"'])[ \t]*:", re.MULTILINE)
_LITTER = re.compile(  # what systems put into archives unasked
    r"(^|/)(__MACOSX|\.DS_Store|Thumbs\.db|desktop\.ini|\._[^/]*)(/|$)", re.IGNORECASE
)
_DEEPEST, _LONGEST = 8, 400
_LINK = 0o120000  # a symbolic link, in the upper half of a ZIP entry's attributes
_WHEN = (1980, 1, 1, 0, 0, 0)  # the same rig gives the same archive


class ParcelError(RigmodelError):
    """What was sent cannot be taken for a scene with its own files."""


@dataclass(frozen=True)
class Parcel:
    """A scene's text and the files beside it.

    Attributes:
        name: the scene's file name.
        text: its text.
        files: its own files by path below the scene's folder.
    """

    name: str
    text: str
    files: Mapping[str, bytes]


def unpacked(sent: Iterable[tuple[str, bytes]]) -> Parcel:
    """What was sent, as a scene and its own files.

    Args:
        sent: names and bytes of the files, or those of one ZIP archive.

    Raises:
        ParcelError: with what is wrong and what is expected.
    """
    given = list(sent)
    if not given:
        raise ParcelError("no file was sent; choose a scene, with its catalogue and mesh files")
    if len(given) == 1 and given[0][1][:4] == b"PK\x03\x04":
        given = _from_archive(given[0][1])
    files: dict[str, bytes] = {}
    for name, data in given:
        path = _path(name)
        if path.lower() in (known.lower() for known in files):
            raise ParcelError(f"{shown(path)} is there twice; names must differ in more than case")
        files[path] = data
    if len(files) > MOST_FILES:
        raise ParcelError(_too_many(len(files)))
    total = sum(map(len, files.values()))
    if total > MOST_UNPACKED:
        raise ParcelError(_too_big())
    for path, data in files.items():
        if not path.lower().endswith(KINDS):
            raise ParcelError(
                f"{shown(path)} is neither a scene or catalogue (YAML) nor a mesh; expected "
                + ", ".join(KINDS)
            )
        if path.lower().endswith(TEXTS) and len(data) > MAX_BYTES:
            raise ParcelError(f"{shown(path)} is too big; the limit of a text is 1 MiB")
    return _with_scene(files)


def packed(scene_name: str, text: str, files: Mapping[str, bytes]) -> bytes:
    """A scene and its own files as a ZIP archive that `unpacked` takes; equal ones are equal."""
    return archived({scene_name: text.encode("utf-8"), **dict(sorted(files.items()))})


def archived(files: Mapping[str, bytes]) -> bytes:
    """Files as a ZIP archive, in their order; equal ones are equal."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(zipfile.ZipInfo(name, _WHEN), data, zipfile.ZIP_DEFLATED)
    return made.getvalue()


def own_files(folder: Path, scene: Scene | None = None) -> Mapping[str, bytes]:
    """A scene's own files by path below its folder.

    Args:
        folder: the scene's folder.
        scene: the scene, where only files that it names are its own; without it, all that are
            there.

    Raises:
        ParcelError: one of them cannot be read any more.
    """
    home = folder.resolve()
    if scene is None:
        paths = sorted(path for path in home.rglob("*") if path.is_file())
    else:
        named = [inside(home, text) for text in scene.spec.catalogue]
        named += [Path(source.path) for source in scene.catalogue.bodies]
        paths = sorted({path for path in named if path.is_relative_to(home)})
    try:
        return MappingProxyType({p.relative_to(home).as_posix(): p.read_bytes() for p in paths})
    except OSError as error:
        raise ParcelError(f"cannot read {error.filename}: {error.strerror}") from None


def _from_archive(data: bytes) -> list[tuple[str, bytes]]:
    found: list[tuple[str, bytes]] = []
    room = MOST_UNPACKED
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            entries = [e for e in archive.infolist() if not e.is_dir()]
            entries = [e for e in entries if not _LITTER.search(e.filename)]
            if len(entries) > MOST_FILES:
                raise ParcelError(_too_many(len(entries)))
            for entry in entries:
                if (entry.external_attr >> 16) & 0o170000 == _LINK:
                    raise ParcelError(f"{shown(entry.filename)} is a link; send the file itself")
                with archive.open(entry) as stream:
                    content = stream.read(room + 1)  # no more than that, whatever its head says
                room -= len(content)
                if room < 0:
                    raise ParcelError(_too_big())
                found.append((entry.filename, content))
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError) as error:
        raise ParcelError(f"the archive is damaged: {error}") from None
    except (RuntimeError, NotImplementedError):  # a password, or a way of packing not known here
        raise ParcelError("the archive cannot be unpacked here; pack it as a plain ZIP") from None
    if not found:
        raise ParcelError("the archive holds no file")
    return found


def _path(name: str) -> str:
    """A name as a path below the scene's folder."""
    problem = path_problem(name)
    if problem:
        raise ParcelError(f"{problem}; names must be plain paths below the scene's folder")
    parts = PurePosixPath(name).parts
    if len(parts) > _DEEPEST or len(name) > _LONGEST or any(safe_stem(p) != p for p in parts):
        raise ParcelError(f"{shown(name[:_LONGEST])} cannot stand as a file name on every system")
    return "/".join(parts)


def _too_big() -> str:
    return f"this is too big; a scene with its own files has at most {MOST_UNPACKED >> 20} MiB"


def _too_many(count: int) -> str:
    return f"there are {count} files; a scene has at most {MOST_FILES} with its own"


def _with_scene(files: Mapping[str, bytes]) -> Parcel:
    texts = [path for path in files if path.lower().endswith(TEXTS)]
    scenes = [path for path in texts if _SCENE.search(files[path].decode("utf-8", "replace"))]
    if len(texts) == 1:
        scenes = texts
    if len(scenes) != 1:
        told = ", ".join(shown(path) for path in scenes[:4])
        raise ParcelError(
            f"{told} are scenes; send one, with its own catalogue and mesh files"
            if scenes
            else "there is no scene among these files: a scene has rows: and stations:"
        )
    (scene,) = scenes
    folder = scene.rpartition("/")[0]
    prefix = f"{folder}/" if folder else ""
    outside = [path for path in files if not path.startswith(prefix)]
    if outside:
        raise ParcelError(f"{shown(outside[0])} is not in the scene's folder, {shown(folder)}")
    try:
        text = files[scene].decode("utf-8")
    except UnicodeDecodeError:
        raise ParcelError(f"{shown(scene)} is not UTF-8 text; save it as UTF-8") from None
    own = {path.removeprefix(prefix): data for path, data in files.items() if path != scene}
    return Parcel(scene.removeprefix(prefix), text, MappingProxyType(own))
