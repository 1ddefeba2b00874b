"""One customer's scene while it is worked on: its text, what was undone, and what was found."""

from __future__ import annotations

import contextlib
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from rigmodel.clearance.trial import Bench
from rigmodel.errors import Fault, InputError
from rigmodel.files import write_whole
from rigmodel.page import scene_edits
from rigmodel.page.checking import Checked, WatchedMemo, check_text, cured
from rigmodel.page.parcel import own_files, packed
from rigmodel.page.precedence import Precedence
from rigmodel.page.record import ConflictError, Record, RecordFile, digest, history, locked
from rigmodel.page.text_edit import EditError
from rigmodel.units import Unit

QUIET_SECONDS = 0.3  # remedies wait so long for the next change, as the fitter may be turning on


class _StopError(Exception):  # the scene has changed; remedies for the old one are not wanted
    pass


class Session:
    """A scene with its history. All methods may be called from several threads.

    Args:
        id: unguessable name of the session.
        record: what is known of it.
        folder: where catalogue and mesh files of the scene may lie.
        file: where the record is kept.
        locks: folder of the locks that servers hold while they write.
        precedence: looking for remedies gives way to what somebody waits for.
    """

    def __init__(
        self,
        id: str,
        record: Record,
        folder: Path,
        file: RecordFile,
        locks: Path,
        precedence: Precedence,
    ) -> None:
        self.id = id
        self.record = record
        self.folder = folder
        self.stamp = time.time_ns() // 1_000_000  # goes on rising over a restart of the server
        self.faults: tuple[Fault, ...] = ()
        self.checked: Checked | None = None
        self.lock = threading.RLock()
        self._file, self._locks, self._precedence = file, locks, precedence
        self._bench = Bench()
        self._cures = WatchedMemo(self._going_on)
        self._curing_for: Checked | None = None
        self._curing = threading.Lock()
        self._worker: threading.Thread | None = None
        self._read(record.text, record.unit)

    @property
    def unit(self) -> Unit:
        """Unit the page speaks."""
        if self.checked is not None:
            return self.checked.scene.unit
        return Unit(self.record.unit) if self.record.unit else Unit.MM

    def refresh(self) -> None:
        """Takes over what another server has made of the scene since.

        Raises:
            DamagedError: what it left cannot be read.
        """
        if not self._file.changed:
            return
        with self.lock:
            record = self._file.read()
            if record is not None and record != self.record:
                self.record = record
                self._read(record.text, record.unit)

    @property
    def stale(self) -> bool:
        """Whether there is something to refresh from."""
        return self._file.changed

    def change(self, version: int, edit: Callable[[str, Checked], str]) -> None:
        """Makes one change that the fitter asked for, if the scene still reads after it.

        Args:
            version: the version the fitter saw.
            edit: makes the new text of the old one and what it was checked to be.

        Raises:
            ConflictError: the scene has been changed since.
            EditError: the change cannot be written.
            InputError: the scene would not read; nothing is changed.
        """
        with self.lock:
            self._expect(version)
            if self.checked is None:
                raise EditError("correct the scene's text first")
            new = edit(self.record.text, self.checked)
            if new == self.record.text:
                return
            found = self._checked(new, self.record.unit)
            undo = history((*self.record.undo, self.record.text))
            self._keep(text=new, undo=undo, redo=())
            self._show(found, ())

    def rewrite(self, version: int, text: str) -> None:
        """Puts a text of the fitter's own in place; faults are kept and shown.

        Raises:
            ConflictError: the scene has been changed since.
        """
        with self.lock:
            self._expect(version)
            if text != self.record.text:
                self._put(text, (*self.record.undo, self.record.text), ())

    def undo(self, version: int) -> None:
        """Takes the last change back.

        Raises:
            ConflictError: the scene has been changed since.
            EditError: there is nothing to take back.
        """
        with self.lock:
            self._expect(version)
            if not self.record.undo:
                raise EditError("there is nothing to undo")
            *rest, text = self.record.undo
            self._put(text, tuple(rest), (*self.record.redo, self.record.text))

    def redo(self, version: int) -> None:
        """Makes the last change that was taken back again.

        Raises:
            ConflictError: the scene has been changed since.
            EditError: nothing was taken back.
        """
        with self.lock:
            self._expect(version)
            if not self.record.redo:
                raise EditError("there is nothing to do again")
            *rest, text = self.record.redo
            self._put(text, (*self.record.undo, self.record.text), tuple(rest))

    def speak(self, unit: Unit) -> None:
        """Answers in another unit from now on; the scene's text stays as it is."""
        with self.lock:
            self._keep(unit=unit.value)
            self._read(self.record.text, unit.value)

    def apply_remedy(self, version: int, check: str, parts: tuple[str, ...]) -> None:
        """Applies the remedy of one finding.

        Raises:
            ConflictError: the scene has been changed since.
            EditError: there is no such remedy, or it cannot be written.
            InputError: the scene would not read.
        """

        def edit(text: str, checked: Checked) -> str:
            for finding in checked.findings.findings:
                if (finding.check, finding.parts) == (check, parts) and finding.remedy:
                    return scene_edits.write_changes(text, finding.remedy.changes)
            raise EditError("this remedy is no longer to be had")

        self.change(version, edit)

    def save_to_origin(self, version: int) -> Path:
        """Writes the scene back to the file it was opened from.

        Raises:
            ConflictError: the file has been changed by something else since.
            EditError: it was not opened from a file.
            FileError: it cannot be written.
        """
        with self.lock:
            self._expect(version)
            if not self.record.origin:
                raise EditError("this scene was not opened from a file; download it instead")
            path = Path(self.record.origin)
            data = self.record.text.encode()
            with locked(self._locks, str(path)):
                if path.exists() and digest(path.read_bytes()) != self.record.saved:
                    raise ConflictError(
                        f"{path.name} has been changed by another program since it was opened; "
                        "nothing was written. Download this scene to keep both."
                    )
                write_whole(path, data, replace=True)
                self._keep(saved=digest(data))
            self.stamp += 1
            return path

    def parcel(self) -> bytes:
        """The scene and its own files as a ZIP archive.

        Raises:
            ParcelError: one of the files cannot be read.
        """
        with self.lock:
            text, checked, home = self.record.text, self.checked, self.record.home
        if home and checked is None:
            return packed(self.record.name, text, {})  # what else lies there is not known for its
        scene = checked.scene if home and checked is not None else None
        return packed(self.record.name, text, own_files(self.folder, scene))

    @property
    def unsaved(self) -> bool:
        """Whether the scene differs from the file it was opened from."""
        origin = self.record.origin
        return bool(origin) and digest(self.record.text.encode()) != self.record.saved

    def settled(self, seconds: float = 60.0) -> Checked | None:
        """What was found with remedies, waiting for them at most so long; None if it has faults."""
        worker = self._worker
        if worker is not None:
            worker.join(seconds)
        return self.checked

    def _expect(self, version: int) -> None:
        self.refresh()
        if version != self.record.version:
            raise ConflictError(
                "this scene has been changed in another tab or window; the newest state is shown "
                "now, and your last change was not made"
            )

    def _checked(self, text: str, unit: str) -> Checked:
        return check_text(text, self.record.name, self.folder, unit, self._bench)

    def _put(self, text: str, undo: tuple[str, ...], redo: tuple[str, ...]) -> None:
        self._keep(text=text, undo=history(undo), redo=redo)
        self._read(text, self.record.unit)

    def _keep(self, **changes: Any) -> None:
        """Writes the record down with some of it changed; only then is it so."""
        before = self.record.version
        record = replace(self.record, version=before + 1, **changes)
        try:
            self._file.write(record, after=before)
        except ConflictError:
            self.refresh()
            raise
        self.record = record

    def _read(self, text: str, unit: str) -> None:
        try:
            self._show(self._checked(text, unit), ())
        except InputError as error:
            self._show(None, error.faults)

    def _show(self, found: Checked | None, faults: tuple[Fault, ...]) -> None:
        self.checked, self.faults = found, faults
        self.stamp += 1
        if found is not None and found.fails and not found.cured:
            self._worker = threading.Thread(target=self._cure, args=(found,), daemon=True)
            self._worker.start()

    def _cure(self, found: Checked) -> None:
        """Looks for remedies in a thread of its own; given up once the scene has changed."""
        time.sleep(QUIET_SECONDS)
        with contextlib.suppress(_StopError), self._curing:
            self._curing_for = found
            self._going_on()
            better = cured(found, self._cures, self._going_on)
            with self.lock:
                if self.checked is found:
                    self.checked = better
                    self.stamp += 1

    def _going_on(self) -> None:
        self._precedence.give_way()
        if self.checked is not self._curing_for:
            raise _StopError
