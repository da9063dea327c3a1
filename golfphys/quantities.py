"""One register of every quantity: name, symbol, SI unit, one sentence, and the range it plausibly takes.

The derivations take their symbols from here, plots their axis labels, panels their slider limits and the data
dictionary its descriptions; tests draw their random states from the ranges. A name is the word used in the API; the
symbol is LaTeX and appears only in derivations and on axes.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Quantity:
    """A physical quantity as golfphys names it.

    Parameters
    ----------
    name : str
        The word used for it in the API.
    symbol : str
        LaTeX symbol.
    unit : str
        SI unit, ``"1"`` when it has none.
    sentence : str
        What it is, in one sentence.
    low, high : float
        Range that the quantity plausibly takes in this trade.
    """

    name: str
    symbol: str
    unit: str
    sentence: str
    low: float
    high: float

    @property
    def label(self) -> str:
        """Axis label: the name in words with its unit."""
        words = self.name.replace("_", " ")
        return words if self.unit == "1" else f"{words} ({self.unit})"


_ALL = (
    # the ball and the world
    Quantity("gravity", "g", "m/s^2", "Acceleration of free fall.", 9.75, 9.84),
    Quantity("mass", "m", "kg", "Mass of the ball.", 0.044, 0.046),
    Quantity("radius", "r", "m", "Radius of the ball.", 0.0213, 0.0216),
    Quantity("inertia", "k", "1", "Moment of inertia of the ball over mass times radius squared.", 0.38, 0.43),
    # rolling
    Quantity("speed", "v", "m/s", "Speed of the ball's centre along its path.", 0.2, 6.0),
    Quantity("distance", "s", "m", "Distance along the path.", 0.05, 30.0),
    Quantity("time", "t", "s", "Time since the motion considered began.", 0.01, 10.0),
    Quantity("resistance", "c", "1", "Coefficient of rolling resistance: push over normal force.", 0.04, 0.20),
    Quantity("resistance_linear", "c_1", "s/m", "Growth of rolling resistance with speed.", -0.01, 0.03),
    Quantity("resistance_quadratic", "c_2", "s^2/m^2", "Growth of rolling resistance with speed squared.", -0.003, 0.01),
    Quantity("grade", "\\sigma", "1", "Slope as rise over run, positive uphill along the path.", -0.03, 0.06),
    Quantity("heading", "\\psi", "rad", "Direction of travel, anticlockwise from the line of play.", -3.14, 3.14),
)

QUANTITIES: dict[str, Quantity] = {quantity.name: quantity for quantity in _ALL}
"""Every registered quantity by name."""
