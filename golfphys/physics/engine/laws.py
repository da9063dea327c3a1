"""Where laws of drag and lift that a user brings take the place of the tables."""

from typing import Any

from golfphys.physics.flight import table_coefficients

OWN_DRAG = OWN_LIFT = False  # `linking` says whether the user brought them


def own_drag(reynolds: float, spin_ratio: float) -> float:
    """Stand-in until a user brings a law of drag."""
    return 0.0


def own_lift(reynolds: float, spin_ratio: float) -> float:
    """Stand-in until a user brings a law of lift."""
    return 0.0


def law_coefficients(reynolds: float, spin_share: float, table: Any) -> tuple[float, float]:
    """Drag and lift coefficients where a law of the user's stands in for a table."""
    drag, lift = table_coefficients(reynolds, spin_share, table)
    spin_ratio = spin_share / max(1.0 - spin_share, 1e-9)
    if OWN_DRAG:
        drag = own_drag(reynolds, spin_ratio)
    if OWN_LIFT:
        lift = own_lift(reynolds, spin_ratio)
    return drag, lift
