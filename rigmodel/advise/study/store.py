"""Keeps the results of a study: one Parquet file a batch while it runs, one in all at the end.

A batch's file is written whole or not at all and carries the study's fingerprint, so a run that was
killed goes on where it stood: what has a file is done, what has none is not.
"""

from __future__ import annotations

import io
import os
from collections.abc import Iterator, Sequence
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np

from rigmodel.advise.study.cases import Outcome, Result
from rigmodel.advise.study.plan import StudyError, StudyPlan
from rigmodel.advise.study.results import OUTCOMES, Results
from rigmodel.files import FileError, write_whole

_FINGERPRINT, _NAME, _PLAN = b"rigmodel.study", b"rigmodel.name", b"rigmodel.axes"
_OWN = ("case", "outcome", "room_mm", "room_check", "checks", "reason")


class Store:
    """The files of one study.

    Args:
        plan: the study.
        target: the Parquet file it ends in; parts lie beside it while it runs.
    """

    def __init__(self, plan: StudyPlan, target: Path) -> None:
        self.plan, self.target = plan, target
        self.folder = target.with_name(f"{target.stem}.parts")

    def open(self, replace: bool = False) -> None:
        """Makes the folder of parts, and refuses files of another study.

        Raises:
            FileError: results of another study are there and may not be replaced, or the folder
                cannot be made.
        """
        for path in (self.target, *self._parts()):
            if path.is_file() and not self._ours(path):
                if not replace:
                    raise FileError(
                        f"{path} holds another study, or the same one before it was changed; give "
                        "--force to write over it"
                    )
                path.unlink()
        try:
            self.folder.mkdir(exist_ok=True)
        except OSError as error:
            raise FileError(f"cannot write {self.folder}: {error.strerror}") from None

    def finished(self) -> bool:
        """Whether the whole study is in its file already."""
        return self.target.is_file() and self._ours(self.target)

    def missing(self) -> tuple[int, ...]:
        """Where the batches start that are still to do."""
        return tuple(start for start in self.plan.starts() if not self._part(start).is_file())

    def add(self, start: int, results: Sequence[Result]) -> None:
        """Keeps the results of a batch."""
        write_whole(self._part(start), self._bytes(results), replace=True)

    def finish(self) -> None:
        """Puts all parts into one file, in the order they were worked on; takes the parts away.

        One part is in memory at a time.

        Raises:
            StudyError: a case is missing or is there twice.
        """
        parquet = _parquet()
        half = self.folder / ".part-all.parquet"
        with parquet.ParquetWriter(half, self._schema) as writer:
            for start in self.plan.starts():
                part = self._part(start)
                table = parquet.read_table(part) if part.is_file() else None
                cases = [] if table is None else table.column("case").to_pylist()
                if tuple(cases) != self.plan.batch_cases(start):
                    raise StudyError(f"the parts in {self.folder} do not hold every case once")
                writer.write_table(table)
        with half.open("rb+") as file:
            os.fsync(file.fileno())
        os.replace(half, self.target)
        self.discard_parts()

    def discard_parts(self) -> None:
        """Takes the parts away, and what a killed run left half written."""
        for path in (*self._parts(), *self.folder.glob(".part-*")):
            path.unlink()
        if self.folder.is_dir():
            self.folder.rmdir()

    def results(self) -> Results:
        """The results of a finished study; texts stay in the file until they are asked for."""
        outcomes = np.zeros(self.plan.total, np.int8)
        rooms = np.full(self.plan.total, np.nan)
        group_of = np.zeros(self.plan.total, np.int32)
        with _parquet().ParquetFile(self.target) as file:
            for group in range(file.num_row_groups):
                table = file.read_row_group(group, columns=["case", "outcome", "room_mm"])
                cases = table.column("case").to_numpy()
                ended = table.column("outcome").to_pylist()
                outcomes[cases] = [OUTCOMES.index(Outcome(told)) for told in ended]
                rooms[cases] = table.column("room_mm").to_numpy()
                group_of[cases] = group

        def fetch(cases: Sequence[int] | None) -> Iterator[Result]:
            if cases is None:
                yield from self._read(None)
                return
            wanted = frozenset(cases)
            groups = sorted({int(group_of[case]) for case in wanted})
            yield from (r for r in self._read(groups) if r.case in wanted)

        return Results(outcomes, rooms, fetch)

    def _part(self, start: int) -> Path:
        return self.folder / f"part-{start:08d}.parquet"

    def _parts(self) -> list[Path]:
        return sorted(self.folder.glob("part-*.parquet"))

    def _ours(self, path: Path) -> bool:
        parquet = _parquet()
        try:
            found = parquet.read_schema(path).metadata or {}
        except (OSError, ValueError):  # not a Parquet file at all
            return False
        return bool(found.get(_FINGERPRINT) == self.plan.fingerprint.encode())

    @cached_property
    def _schema(self) -> Any:
        import pyarrow  # noqa: PLC0415

        texts, numbers = pyarrow.string(), pyarrow.float64()
        fields = [("case", pyarrow.int64())]
        fields += [(f"{i + 1} {axis.name}", texts) for i, axis in enumerate(self.plan.axes)]
        fields += [("outcome", texts), ("room_mm", numbers), ("room_check", texts)]
        fields += [("checks", pyarrow.list_(texts)), ("reason", texts)]
        metadata = {
            _FINGERPRINT: self.plan.fingerprint.encode(),
            _NAME: self.plan.name.encode(),
            _PLAN: repr([(a.name, a.paths, a.labels) for a in self.plan.axes]).encode(),
        }
        return pyarrow.schema(fields, metadata=metadata)

    def _bytes(self, results: Sequence[Result]) -> bytes:
        import pyarrow  # noqa: PLC0415

        labels = [self.plan.labels(result.case) for result in results]
        columns: list[list[Any]] = [[r.case for r in results]]
        columns += [[told[i] for told in labels] for i in range(len(self.plan.axes))]
        columns += [
            [r.outcome.value for r in results],
            [r.room_mm for r in results],
            [r.room_check for r in results],
            [list(r.checks) for r in results],
            [r.reason for r in results],
        ]
        arrays = [
            pyarrow.array(column, type=field.type)
            for column, field in zip(columns, self._schema, strict=True)
        ]
        sink = io.BytesIO()
        table = pyarrow.Table.from_arrays(arrays, schema=self._schema)
        _parquet().write_table(table, sink)
        return sink.getvalue()

    def _read(self, groups: Sequence[int] | None) -> Iterator[Result]:
        """The results in some row groups, or in all; one row group is in memory at a time."""
        with _parquet().ParquetFile(self.target) as file:
            for group in range(file.num_row_groups) if groups is None else groups:
                for row in file.read_row_group(group, columns=list(_OWN)).to_pylist():
                    yield Result(
                        row["case"],
                        Outcome(row["outcome"]),
                        row["room_mm"],
                        row["room_check"],
                        tuple(row["checks"]),
                        row["reason"],
                    )


def _parquet() -> Any:
    try:
        from pyarrow import parquet  # noqa: PLC0415
    except ImportError:
        raise StudyError("a study needs pyarrow; install it with: pip install pyarrow") from None
    return parquet
