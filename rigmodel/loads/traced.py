"""What is told of how a number was found."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Traced:
    """One number and where it comes from. SI units throughout: kg, N, mm, MPa, N m.

    Attributes:
        what: the number's name.
        formula: how it is found.
        inputs: the numbers that went in, each with its name, file and line where it was given.
        result: what came out.
        source: where the formula, or a coefficient in it, comes from.
    """

    what: str
    formula: str
    inputs: str
    result: str
    source: str
