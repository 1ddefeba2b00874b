"""What the rig weighs, station by station, and where it balances."""

from __future__ import annotations

from dataclasses import dataclass

from rigmodel.assembly.rig import Assembly
from rigmodel.loads.account import Balance, balances
from rigmodel.loads.balance import station_masses


@dataclass(frozen=True)
class StationWeight:
    """One station.

    Attributes:
        station: its name.
        mass_kg: mass of all its parts.
        ahead_mm: its centre of gravity ahead of the bar's middle, at work; minus is behind.
        left_mm: left of the tractor's centre.
    """

    station: str
    mass_kg: float
    ahead_mm: float
    left_mm: float


@dataclass(frozen=True)
class Weights:
    """The whole rig.

    Attributes:
        bar_kg: mass of the bar alone.
        stations: every station, in the scene's order.
        balances: the rig at work, and lifted lowest, halfway and highest.
    """

    bar_kg: float
    stations: tuple[StationWeight, ...]
    balances: tuple[Balance, ...]

    @property
    def total_kg(self) -> float:
        """Mass of bar and stations."""
        return self.bar_kg + sum(station.mass_kg for station in self.stations)


def rig_weights(assembly: Assembly) -> Weights:
    """Weighs every station, and the rig in its poses."""
    bar = assembly.mechanism.part("bar")
    body = bar.solid.mass_properties().moved(assembly.work_frames[bar.frame])
    stations = tuple(
        StationWeight(
            name,
            whole.mass_kg,
            float(whole.centroid_mm[0] - body.centroid_mm[0]),
            float(whole.centroid_mm[1]),
        )
        for name, whole in station_masses(assembly).items()
    )
    return Weights(body.mass_kg, stations, balances(assembly))
