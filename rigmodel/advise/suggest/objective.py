"""What a better rig has less of."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum


class Objective(StrEnum):
    """What a better rig has less of."""

    MISSED = "missed"
    PARTS = "parts"
    BOUGHT = "bought"
    RANKS = "ranks"
    BEHIND = "behind"


MEANING: Mapping[Objective, str] = {
    Objective.MISSED: "soil missed",
    Objective.PARTS: "parts",
    Objective.BOUGHT: "parts to buy",
    Objective.RANKS: "ranks",
    Objective.BEHIND: "mass behind the bar",
}
