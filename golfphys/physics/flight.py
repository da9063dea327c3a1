"""Flight: the air, the coefficients of drag and lift, and the scalar laws that the batch loop calls.

The coefficients are tables over Reynolds number and spin ratio, from published wind-tunnel work, with the range in
which chips live (Reynolds numbers of 15 000 to 60 000: below and inside the drag crisis of a dimpled ball). They are
data: make another `Aerodynamics` to replace them, or scale them by their uncertainty.
"""

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import Checked, broadcast, plain
from golfphys.core.constants import Ball
from golfphys.formulas import flight

Floats = NDArray[np.float64]

TABLE_REYNOLDS = 2.5e5  # upper end of the fine table, 87 m/s at sea level
TABLE_ROWS, TABLE_COLUMNS = 256, 64  # its size, over Reynolds number and over spin share
Row = tuple[float, ...]


@dataclass(frozen=True, kw_only=True)
class Air(Checked):
    """The air that the ball flies through.

    Parameters
    ----------
    temperature, altitude : float, in kelvin; above sea level in m, which lowers the pressure unless that is given
    pressure : float or None
        Pressure in Pa where the ball flies (as a barometer reads there, not reduced to sea level); None takes the
        standard atmosphere at `altitude`.
    humidity : float, relative humidity, 0 to 1
    wind_speed : float or array_like, in m/s, at `wind_height`
    wind_direction : float or array_like
        Direction the wind blows towards, rad anticlockwise from the line of play: 0 helps, pi hurts.
    wind_height : float, height over the ground in m at which the wind speed was read: that of a flag
    roughness : float
        Roughness of the ground to the wind, m: the wind falls towards the ground as the logarithmic law has it
        (golfphys/derivations/flight.py); 0 for the same wind at every height.

    Examples
    --------
    >>> round(Air().density, 3), round(Air(altitude=1600.0, temperature=293.15).density, 3)
    (1.225, 1.003)
    """

    temperature: float = constants.SEA_LEVEL_TEMPERATURE.value
    altitude: Annotated[float, (-450.0, 6000.0)] = 0.0
    pressure: float | None = None
    humidity: Annotated[float, (0.0, 1.0)] = 0.0
    wind_speed: Annotated[Any, (0.0, 60.0)] = 0.0
    wind_direction: Annotated[Any, (-1e3, 1e3)] = 0.0
    wind_height: Annotated[float, (0.1, 100.0)] = constants.WIND_HEIGHT.value
    roughness: Annotated[float, (0.0, 0.09)] = constants.ROUGHNESS.value

    def __post_init__(self) -> None:
        super().__post_init__()
        if not 220.0 <= self.temperature <= 330.0:
            raise ValueError(f"Air temperature is {self.temperature!r}; expected a number from 220 to 330 (kelvin)")
        if self.pressure is not None and not 3e4 <= self.pressure <= 1.2e5:
            raise ValueError(f"Air pressure is {self.pressure!r}; expected 3e4 to 1.2e5 Pa, or None")

    @property
    def density(self) -> float:
        """Density in kg/m^3."""
        sea_level, gravity = constants.SEA_LEVEL_PRESSURE.value, constants.GRAVITY.value
        aloft = flight.pressure_aloft(sea_level, self.altitude, self.temperature, gravity)
        return flight.density_of_air(aloft if self.pressure is None else self.pressure, self.temperature, self.humidity)

    @property
    def viscosity(self) -> float:
        """Dynamic viscosity in Pa s."""
        return flight.viscosity_of_air(self.temperature)

    def share(self, ball: Ball) -> float:
        """Return the deceleration of a ball per speed squared and unit coefficient, 1/m."""
        return flight.air_share_of_ball(self.density, ball.radius, ball.mass)

    def reynolds(self, speed: float, ball: Ball | None = None) -> float:
        """Return the Reynolds number of a ball at a speed in m/s: diameter times speed over kinematic viscosity."""
        return flight.reynolds_number(speed, (ball or Ball()).radius, self.density, self.viscosity)


_SMITS_SPIN = (0.0, 0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0, 1.5)
_SMITS_LIFT = tuple(0.54 * spin**0.4 for spin in _SMITS_SPIN)


@dataclass(frozen=True, kw_only=True, eq=False)
class Aerodynamics:
    """Drag and lift coefficients of a ball as tables, with their uncertainty.

    The defaults join published figures: drag about 0.5 below Re 4e4 and about 0.25 above 6e4 (Bearman and Harvey,
    1976; memory), growing by 0.18 S with spin, and lift 0.54 S^0.4 at Re 7.5e4 and above (Smits and Smith, 1994;
    memory). Between 49 000 and 70 000 (17 to 24 m/s), lift at spin ratios of 0.07 to 0.3 is -0.10 to -0.15 (Lyu,
    Kensrud and Smith, 2020; read). No figure was found for lift below Re 4e4, where most chips fly: half of the upper
    bound is assumed. Carry the uncertainty in `lift_scale` (sd about 0.5) and `drag_scale` (sd about 0.1).

    Parameters
    ----------
    reynolds, spin_ratio : tuple of float, nodes, rising from 0; the last spin ratio holds beyond it
    drag, lift : tuple of tuple of float, coefficients: a row for each Reynolds number, a column for each spin ratio
    drag_scale, lift_scale : float or array_like, factors on the coefficients: a number, or one for each shot
    spin_decay : float, fraction of spin lost for each radius flown

    Examples
    --------
    >>> drag, lift = Aerodynamics().coefficients(30_000.0, 0.0)
    >>> round(drag, 2), round(lift, 2)
    (0.5, 0.0)
    """

    reynolds: tuple[float, ...] = (0.0, 3.0e4, 4.0e4, 4.9e4, 5.9e4, 7.02e4, 7.5e4, 1.2e5, 2.5e5)
    spin_ratio: tuple[float, ...] = _SMITS_SPIN
    drag: tuple[tuple[float, ...], ...] = tuple(
        tuple(still + 0.18 * min(spin, 1.0) for spin in _SMITS_SPIN)
        for still in (0.50, 0.50, 0.49, 0.41, 0.27, 0.245, 0.24, 0.24, 0.24)
    )
    lift: tuple[tuple[float, ...], ...] = (
        *3 * (tuple(0.5 * lift for lift in _SMITS_LIFT),),
        (0.0, -0.04, -0.09, -0.12, -0.12, -0.10, 0.10, 0.22, 0.27, 0.32),
        (0.0, -0.04, -0.09, -0.125, -0.125, -0.10, 0.12, 0.25, 0.32, 0.40),
        (0.0, -0.04, -0.10, -0.12, -0.11, -0.08, 0.16, 0.32, 0.44, 0.52),
        *3 * (_SMITS_LIFT,),
    )
    drag_scale: ArrayLike = 1.0
    lift_scale: ArrayLike = 1.0
    spin_decay: float = constants.SPIN_DECAY.value

    def __post_init__(self) -> None:
        for name in ("reynolds", "spin_ratio"):
            nodes = np.asarray(getattr(self, name), dtype=float)
            if nodes.ndim != 1 or len(nodes) < 2 or nodes[0] != 0 or not np.all(np.diff(nodes) > 0):
                raise ValueError(f"Aerodynamics {name} is {nodes.tolist()}; expected numbers rising from 0")
        shape = (len(self.reynolds), len(self.spin_ratio))
        for name in ("drag", "lift"):
            table = np.asarray(getattr(self, name), dtype=float)
            if table.shape != shape or not np.all(np.isfinite(table)):
                raise ValueError(f"Aerodynamics {name} has shape {table.shape}; expected finite numbers, shape {shape}")
        if not 0 <= self.spin_decay < 1e-2:
            raise ValueError(f"Aerodynamics spin_decay is {self.spin_decay!r}; expected 0 to 0.01")

    @property
    def fine_table(self) -> Floats:
        """Coefficients on the even grid that the laws read: Reynolds number by S/(1 + S), drag and lift last."""
        return _fine_table(self.reynolds, self.spin_ratio, self.drag, self.lift)

    def coefficients(self, reynolds: ArrayLike, spin_ratio: ArrayLike) -> tuple[Any, Any]:
        """Return drag and lift coefficients, scaled, at Reynolds numbers and spin ratios, which broadcast."""
        table, spin = self.fine_table, np.asarray(spin_ratio, dtype=float)
        drag, lift = broadcast(lambda at, share: table_coefficients(at, share, table), reynolds, spin / (1.0 + spin))
        return plain(drag * np.asarray(self.drag_scale)), plain(lift * np.asarray(self.lift_scale))


def through_air(velocity: Any, spin: float, wind: Any, radius: float, reynolds_rate: float) -> tuple[float, ...]:
    """Velocity through the air, airspeed, Reynolds number and spin share S/(1 + S) of a ball that flies in a wind."""
    ux, uy, uz = velocity[0] - wind[0], velocity[1] - wind[1], velocity[2] - wind[2]
    airspeed = math.sqrt(ux * ux + uy * uy + uz * uz)
    rim = radius * spin
    return ux, uy, uz, airspeed, airspeed * reynolds_rate, rim / (airspeed + rim + 1e-9)


def table_coefficients(reynolds: float, spin_share: float, table: Any) -> tuple[float, float]:
    """Drag and lift coefficients from a fine table, bilinear; `spin_share` is S/(1 + S) of the spin ratio."""
    row = reynolds * ((TABLE_ROWS - 1) / TABLE_REYNOLDS)
    column = spin_share * (TABLE_COLUMNS - 1)
    # within the table whatever comes: no number, of a shot gone astray, becomes 0
    i = int(min(max(0.0, row), TABLE_ROWS - 2.0))
    j = int(min(max(0.0, column), TABLE_COLUMNS - 2.0))
    a = min(row - i, 1.0)
    b = column - j
    drag_low = table[i, j, 0] + b * (table[i, j + 1, 0] - table[i, j, 0])
    drag_high = table[i + 1, j, 0] + b * (table[i + 1, j + 1, 0] - table[i + 1, j, 0])
    lift_low = table[i, j, 1] + b * (table[i, j + 1, 1] - table[i, j, 1])
    lift_high = table[i + 1, j, 1] + b * (table[i + 1, j + 1, 1] - table[i + 1, j, 1])
    return drag_low + a * (drag_high - drag_low), lift_low + a * (lift_high - lift_low)


@lru_cache(maxsize=32)
def _fine_table(reynolds: Row, spin_ratio: Row, drag: tuple[Row, ...], lift: tuple[Row, ...]) -> Floats:
    """Interpolate the nodes to the even grid: monotone cubic in Reynolds number, linear in spin share."""
    from scipy.interpolate import PchipInterpolator

    shares = np.linspace(0.0, 1.0, TABLE_COLUMNS)
    ratios = np.minimum(shares[:-1] / (1.0 - shares[:-1]), spin_ratio[-1])
    ratios = np.append(ratios, spin_ratio[-1])
    rows = np.minimum(np.linspace(0.0, TABLE_REYNOLDS, TABLE_ROWS), reynolds[-1])  # held beyond the last node
    table = np.empty((TABLE_ROWS, TABLE_COLUMNS, 2))
    for which, nodes in enumerate((drag, lift)):
        over_spin = np.array([np.interp(ratios, spin_ratio, row) for row in nodes])
        table[:, :, which] = PchipInterpolator(reynolds, over_spin)(rows)
    table.setflags(write=False)
    return table
