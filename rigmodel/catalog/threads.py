"""Screw threads: sizes of what is screwed on them, and the lengths bolts are sold in. All mm."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import yaml

INCH_MM = 25.4
PSI_MPA = 0.006894757293168
DATA = Path(__file__).parent / "tables" / "threads.yaml"
BOLT_LENGTHS = "lengths bolts are sold in: inch steps eagleboltandsupply.com, mm steps ISO 4014"
U_BOLT_LENGTHS = "common practice, no source: U-bolts are bent to order, in steps of 1/4 in or 5 mm"

_INCH = re.compile(r"(\d{1,2})/(\d{1,2})\s*-\s*(\d{1,2})(?:\s*UN[CF])?", re.ASCII | re.IGNORECASE)
_METRIC = re.compile(r"(M\d{1,2})(?:\s*[x×]\s*(\d(?:\.\d{1,2})?))?", re.ASCII | re.IGNORECASE)
_GRADE = re.compile(r"(?:SAE|J429|ISO|898-1|GRADE|GR\.?|CLASS|PROPERTY|[\s,])*", re.IGNORECASE)
_EPSILON = 1e-6


@dataclass(frozen=True)
class Thread:
    """One thread.

    Attributes:
        name: size without the pitch, such as ``3/8`` or ``M10``.
        metric: whether it is an ISO metric thread.
        diameter_mm: nominal diameter.
        pitch_mm: from thread to thread.
    """

    name: str
    metric: bool
    diameter_mm: float
    pitch_mm: float

    @property
    def stress_area_mm2(self) -> float:
        """Tensile stress area.

        ASME B1.1 and ISO 898-1: pi/4 (d - 0.9743 p)² for inch threads and pi/4 (d - 0.9382 p)² for
        metric ones.
        """
        depth = 0.9382 if self.metric else 0.9743
        return math.pi / 4.0 * (self.diameter_mm - depth * self.pitch_mm) ** 2

    def height_mm(self, what: str) -> float | None:
        """Greatest height of a ``hex nut``, ``flange nut`` or ``washer``; None if not known."""
        row = _table()["metric" if self.metric else "inch"].get(self.name, {})
        value = row.get(what.replace(" ", "_"))
        return None if value is None else float(value) * (1.0 if self.metric else INCH_MM)

    def proof_mpa(self, grade: str) -> float | None:
        """Proof strength of a bolt of a grade such as ``Grade 5`` or ``8.8``; None if not known."""
        system = "metric" if self.metric else "inch"
        if self.name not in _table()[system]:
            return None
        value = _table()["proof"][system].get(_GRADE.sub("", grade))
        return None if value is None else float(value) * (1.0 if self.metric else PSI_MPA)


def thread(size: str) -> Thread | None:
    """The thread of a size such as ``3/8-16``, ``M10`` or ``M10x1.25``; None if it is not one."""
    inch = _INCH.fullmatch(size.strip())
    if inch is not None:
        top, bottom, per_inch = (int(group) for group in inch.groups())
        if not (top and bottom and per_inch):
            return None
        diameter = Fraction(top, bottom)
        return Thread(str(diameter), False, float(diameter) * INCH_MM, INCH_MM / per_inch)
    metric = _METRIC.fullmatch(size.strip())
    if metric is None:
        return None
    name = metric.group(1).upper()
    pitch = metric.group(2) or _table()["metric"].get(name, {}).get("pitch")
    diameter_mm = float(name[1:])
    if pitch is None or not 0.0 < float(pitch) < diameter_mm:
        return None
    return Thread(name, True, diameter_mm, float(pitch))


def grades(of: Thread) -> tuple[str, ...]:
    """Grades whose proof strength is known for a thread's system."""
    known: Mapping[str, float] = _table()["proof"]["metric" if of.metric else "inch"]
    return tuple(known)


def bolt_length(least_mm: float, metric: bool) -> float | None:
    """The shortest bolt sold that is at least so long, mm; None if none is."""
    lengths = _table()["lengths"]
    if metric:
        return next((float(v) for v in lengths["metric"] if v >= least_mm - _EPSILON), None)
    start = 0.0
    for end, step in lengths["inch"]:
        found = _stepped(least_mm / INCH_MM, start, float(Fraction(step)))
        if found <= float(end) + _EPSILON:
            return found * INCH_MM
        start = float(end)
    return None


def u_bolt_length(least_mm: float, metric: bool) -> float:
    """The next step at or above a length at which U-bolts are bent, mm."""
    step = _table()["lengths"]["u_bolt"]["metric" if metric else "inch"]
    size = float(Fraction(str(step))) * (1.0 if metric else INCH_MM)
    return _stepped(least_mm, 0.0, size)


def _stepped(least: float, start: float, step: float) -> float:
    """The least `start` plus whole steps that is not below `least`; at least one step above 0."""
    steps = math.ceil((least - start) / step - _EPSILON)
    return start + max(steps, 0 if start else 1) * step


@cache
def _table() -> Mapping[str, Any]:
    found: Mapping[str, Any] = yaml.safe_load(DATA.read_text(encoding="utf-8"))
    return found
