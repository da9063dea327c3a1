"""Symbols for the derivations: quantities from the register, and named intermediate values."""

import sympy

from golfphys.core.quantities import QUANTITIES


def symbol(name: str) -> sympy.Symbol:
    """Return the sympy symbol of the registered quantity `name`; positive if its plausible range is.

    Raises
    ------
    KeyError
        If the quantity is not in the register.
    """
    quantity = QUANTITIES[name]
    return sympy.Symbol(name, positive=True) if quantity.low > 0 else sympy.Symbol(name, real=True)


def real(name: str) -> sympy.Symbol:
    """Return the symbol of a named intermediate value."""
    return sympy.Symbol(name, real=True)
