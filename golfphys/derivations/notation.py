"""Symbols for the derivations, taken from the register of quantities."""

from typing import Any

import sympy

from golfphys.quantities import QUANTITIES


def symbol(name: str) -> sympy.Symbol:
    """Return the sympy symbol of the registered quantity `name`; positive if its plausible range is.

    Raises
    ------
    KeyError
        If the quantity is not in the register.
    """
    quantity = QUANTITIES[name]
    return sympy.Symbol(name, positive=True) if quantity.low > 0 else sympy.Symbol(name, real=True)


def latex(expression: Any) -> str:
    """Return `expression` as LaTeX with the register's symbols instead of the API's words."""
    known = [item for item in sympy.sympify(expression).free_symbols if item.name in QUANTITIES]
    names = {item: QUANTITIES[item.name].symbol for item in known}
    return str(sympy.latex(expression, symbol_names=names))
