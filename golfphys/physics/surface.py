"""A surveyed green: a smooth surface through measured heights, and rolling on it.

Heights are smoothed to the error that their readings have: the surface is as smooth as it can be while it misses the
readings by `height_sd` in the root mean square. Where a plane does that, the surface is that plane.

A ball rolls as on the plane that touches the ground where it is (golfphys/derivations/plane.py): gravity in full
along it, the ground's curvature left out. Positions are taken as measured along the ground, which differs from the map
by less than half the square of the slope (0.02 % at 2 %).
"""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import RBFInterpolator, RectBivariateSpline
from scipy.optimize import brentq
from scipy.spatial import ConvexHull, QhullError

from golfphys.core.broadcasting import plain
from golfphys.physics.green import Resistance
from golfphys.physics.roll import GRAVITY, INERTIA, Path, ground_of, path_of, starts, velocity_of
from golfphys.physics.rolling import ENDLESS
from golfphys.physics.rows import Survey

Array = NDArray[np.float64]

_FINE = 61  # points along each side of the grid on which a scattered survey's surface is tabulated


class Surface:
    """Heights of the ground over a surveyed area; make one with `from_points`.

    Parameters
    ----------
    spline : RectBivariateSpline, height in m over x and y in m
    edges : ndarray, rows a, b, c of the half planes ``a x + b y + c <= 0`` that make up the surveyed area
    residual_sd : float, root mean square in m by which the surface misses the readings
    """

    def __init__(self, spline: RectBivariateSpline, edges: Array, residual_sd: float) -> None:
        self._spline, self._edges, self.residual_sd, self._place = spline, edges, residual_sd, (0.0, 0.0, 0.0)

    def along(self, x: float, y: float, heading: float) -> "Surface":
        """Return the same surface as it lies for a shot: what `golfphys.Ground` takes.

        The ball lies at `x` and `y` m in the survey's axes; `heading` is the line of play, rad, anticlockwise from its
        x axis.
        """
        found = Surface(self._spline, self._edges, self.residual_sd)
        found._place = (float(x), float(y), float(heading))
        return found

    @property
    def rows(self) -> Survey:
        """Knots along x and y, the polynomial of each cell between them, the ball's place and line, and the edges."""
        lines = tuple(np.unique(knots) for knots in self._spline.get_knots())
        # a cubic along each side is known from four heights: the powers from the lower corner
        shares = np.array([0.0, 1 / 3, 2 / 3, 1.0])
        powers = np.linalg.inv(np.vander(shares, increasing=True))
        places = [(axis[:-1, None] + np.diff(axis)[:, None] * shares).ravel() for axis in lines]
        heights = self._spline(*places).reshape(len(lines[0]) - 1, 4, len(lines[1]) - 1, 4)
        cells = np.einsum("mp,ipjq,nq->ijmn", powers, heights, powers)
        widths = [np.diff(axis)[:, None] ** -np.arange(4.0) for axis in lines]
        cells = cells * widths[0][:, None, :, None] * widths[1][None, :, None, :]
        x, y, heading = self._place
        place = np.array([x, y, np.cos(heading), np.sin(heading)])
        return lines[0], lines[1], np.ascontiguousarray(cells), place, np.ascontiguousarray(self._edges, dtype=float)

    def height_from_ball(self, x: Array, y: Array) -> Array:
        """Return heights at places from the ball, beyond the survey at its edge's slope: what the shot plays over."""
        x0, y0, heading = self._place
        to = np.array([x0 + np.cos(heading) * x - np.sin(heading) * y, y0 + np.sin(heading) * x + np.cos(heading) * y])
        ends = np.array([[lines[0], lines[-1]] for lines in self._spline.get_knots()])
        at = np.clip(to, ends[:, :1], ends[:, 1:])
        return np.asarray(self._spline.ev(*at) + np.sum(np.array(self.slope(*at)) * (to - at), axis=0))

    @classmethod
    def from_points(cls, x: ArrayLike, y: ArrayLike, heights: ArrayLike, *, height_sd: float = 0.0) -> "Surface":
        """Make a surface from heights at survey points, over the area that a string around them encloses.

        Raises a ValueError if there are too few points, they lie on one line or on each other, or anything is not a
        number. Points of a full grid, four lines or more each way, are smoothed by a cubic spline over its lines, the
        sum of squared residuals held to n height_sd^2; scattered ones by a thin-plate spline, until it misses the
        readings by `height_sd` in the root mean square, tabulated on a fine grid for a cubic spline.

        Parameters
        ----------
        x, y, heights : array_like, position and height of each point, m; at least four, not all on one line
        height_sd : float, standard deviation of a height reading, m; 0 goes through every reading

        Examples
        --------
        >>> ground = Surface.from_points([0, 4, 0, 4, 2], [0, 0, 4, 4, 1], [0, 0.04, 0, 0.04, 0.02])
        >>> ground.grade(2.0, 2.0)
        (0.0100..., 0.0...)
        """
        places = np.column_stack([np.asarray(item, dtype=float).ravel() for item in (x, y)])
        values = np.asarray(heights, dtype=float).ravel()
        if len(places) != values.size or values.size < 4:
            raise ValueError(f"{len(places)} places and {values.size} heights; expected as many of each, at least four")
        for name, given in (("points", places), ("heights", values)):
            if not np.all(np.isfinite(given)):
                raise ValueError(f"{name}: {int(np.sum(~np.isfinite(given)))} are not numbers")
        if not 0 <= height_sd < np.inf:
            raise ValueError(f"height_sd is {height_sd!r}; expected metres, not below 0")
        if len(np.unique(places, axis=0)) < len(places):
            raise ValueError("two survey points have the same x and y; keep one, or their mean height")
        try:
            hull = ConvexHull(places)
        except QhullError as error:
            raise ValueError("the survey points lie on one line; expected points that enclose an area") from error
        spline = _smoothed(places, values, height_sd)
        return cls(spline, hull.equations, _rms(spline.ev(*places.T) - values))

    def height(self, x: ArrayLike, y: ArrayLike) -> Any:
        """Return the height of the ground in m at surveyed places (x and y in m broadcast)."""
        self._require(x, y)
        return plain(self._spline.ev(np.asarray(x, dtype=float), np.asarray(y, dtype=float)))

    def grade(self, x: ArrayLike, y: ArrayLike) -> tuple[Any, Any]:
        """Return the rise per metre along x and along y at surveyed places (x and y in m broadcast)."""
        self._require(x, y)
        rise_x, rise_y = self.slope(np.asarray(x, dtype=float), np.asarray(y, dtype=float))
        return plain(rise_x), plain(rise_y)

    def contains(self, x: ArrayLike, y: ArrayLike) -> Any:
        """Return whether places lie on the surveyed ground, or up to 1e-9 m beyond its edge."""
        x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
        return plain(np.all([a * x + b * y + c <= 1e-9 for a, b, c in self._edges], axis=0))

    def slope(self, x: Array, y: Array) -> tuple[Array, Array]:
        """Return what `grade` returns, without its check: beyond the edge, the slope at the edge."""
        return self._spline.ev(x, y, dx=1), self._spline.ev(x, y, dy=1)

    def _require(self, x: ArrayLike, y: ArrayLike) -> None:
        inside = np.asarray(self.contains(x, y))
        if not np.all(inside):
            places = np.broadcast_arrays(np.asarray(x, dtype=float), np.asarray(y, dtype=float), inside)
            first = [place[~places[2]][0] for place in places[:2]]
            raise ValueError(f"x={first[0]:g} m, y={first[1]:g} m is off the surveyed ground")


def _rms(misses: Array) -> float:
    return float(np.sqrt(np.mean(misses**2)))


def _smoothed(places: Array, heights: Array, height_sd: float) -> RectBivariateSpline:
    """Return the surface that misses the readings by `height_sd`, or the best plane where that does."""
    level, along, across = np.linalg.lstsq(np.column_stack([np.ones(len(places)), places]), heights, rcond=None)[0]

    def plane(where: Array) -> Array:
        return np.asarray(level + along * where[:, 0] + across * where[:, 1])

    bumps = heights - plane(places)
    flat = _rms(bumps) <= max(height_sd, 1e-12)
    x, y = map(np.unique, places.T)
    if min(x.size, y.size) >= 4 and x.size * y.size == heights.size:
        rows = (plane(places) if flat else heights)[np.lexsort(places.T[::-1])]
        return RectBivariateSpline(x, y, rows.reshape(x.size, y.size), s=0.0 if flat else heights.size * height_sd**2)
    x, y = (np.linspace(line[0], line[-1], _FINE) for line in (x, y))
    grid = np.column_stack([item.ravel() for item in np.meshgrid(x, y, indexing="ij")])
    found = plane(grid) if flat else plane(grid) + _thin_plate(places, bumps, height_sd)(grid)
    return RectBivariateSpline(x, y, found.reshape(_FINE, _FINE), s=0)


def _thin_plate(places: Array, bumps: Array, height_sd: float) -> RBFInterpolator:
    """Return height over the plane as a function of places."""

    def fitted(smoothing: float) -> RBFInterpolator:
        return RBFInterpolator(places, bumps, kernel="thin_plate_spline", smoothing=smoothing)

    def miss(log_smoothing: float) -> float:
        return _rms(fitted(np.exp(log_smoothing))(places) - bumps) - height_sd

    low, high = -30.0, 30.0
    smooth = height_sd > 0 and miss(low) < 0 < miss(high)
    return fitted(np.exp(brentq(miss, low, high, xtol=1e-3)) if smooth else 0.0)


def path_on(surface: Surface, x: float, y: float, speed: float, heading: float, resistance: float | Resistance) -> Path:
    """Return the path of one ball on a surveyed surface: points at most 0.15 m apart, the last where it ends.

    Model: golfphys/derivations/plane.py, on the plane that touches the ground at each place, played as in a shot. Error
    of the steps below 0.1 mm (tests/test_surface.py). A ValueError if the speed is negative.

    Parameters
    ----------
    surface : Surface, the ground
    x, y : float, start, m
    speed : float, speed at the start, rolling, m/s
    heading : float, direction at the start, rad, anticlockwise from x
    resistance : float or Resistance, as for `golfphys.physics.roll.roll`

    Examples
    --------
    It ends at rest, or where the ball leaves the surveyed ground:

    >>> ground = Surface.from_points([0, 7, 0, 7], [0, 0, 7, 7], np.zeros(4))
    >>> path_on(ground, 1.0, 4.0, 1.83, 0.0, 0.02).status.name
    'LEFT_GROUND'
    """
    ball = starts(x, y, *velocity_of(speed, heading), GRAVITY, INERTIA, ENDLESS)
    return path_of(ball, ground_of(resistance, (0.0, 0.0), ()), surface.along(0.0, 0.0, 0.0).rows)
