"""The physics derived from first principles with sympy; a build tool that writes `golfphys.formulas`.

Each module here is one chapter: it reads from the top, states its assumptions, derives, and ends with `FORMULAS`, the
closed forms that `python -m golfphys.derivations` writes to the module of the same name under ``golfphys/formulas``.
Nothing imports this package at run time, so ``import golfphys`` loads no sympy.
"""
