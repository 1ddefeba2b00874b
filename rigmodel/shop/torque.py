"""Tightening torque of clamped bolts: T = K·D·F, with F three quarters of the proof load."""

from __future__ import annotations

from dataclasses import dataclass

from rigmodel.catalog.threads import Thread, grades

DRY, OILED = 0.20, 0.15
PROOF_SHARE = 0.75
LBF_FT_NM = 1.3558179483314
LBF_N = 4.4482216152605
BASIS = (
    "T = K·D·F with F = 0.75 of the proof load (SAE J429 inch, ISO 898-1 metric); K = 0.20 dry, "
    "0.15 oiled. Other charts differ by 10 % and more; the maker's own figure goes first."
)
NO_GRADE = "not known: grade not given"


@dataclass(frozen=True)
class Torque:
    """Torque for one bolt.

    Attributes:
        grade: as it was given.
        k: nut factor.
        clamp_n: clamp load F, N.
        torque_nm: torque T, N m.
    """

    grade: str
    k: float
    clamp_n: float
    torque_nm: float

    @property
    def torque_lbf_ft(self) -> float:
        """Torque in lbf ft."""
        return self.torque_nm / LBF_FT_NM


def torque(of: Thread, grade: str, k: float) -> Torque | None:
    """Torque for a thread and a grade; None where the grade is not in the tables.

    Args:
        of: the thread.
        grade: such as ``Grade 5`` (SAE J429) or ``8.8`` (ISO 898-1).
        k: nut factor, above 0.

    Raises:
        ValueError: k is not above 0.
    """
    if not k > 0.0:
        raise ValueError(f"k must be above 0, not {k!r}")
    proof = of.proof_mpa(grade)
    if proof is None:
        return None
    clamp = PROOF_SHARE * proof * of.stress_area_mm2
    return Torque(grade, k, clamp, k * clamp * of.diameter_mm / 1000.0)


def torques(of: Thread) -> tuple[tuple[Torque, Torque], ...]:
    """Dry and oiled torque for every grade in the tables: for a head that is read in the shop."""
    found = []
    for grade in grades(of):
        dry, oiled = torque(of, grade, DRY), torque(of, grade, OILED)
        if dry is not None and oiled is not None:
            found.append((dry, oiled))
    return tuple(found)
