"""Writes derived closed forms as plain scalar Python, and gives the derivations their symbols.

The text uses nothing but `math`, so that it runs as it is, compiles with numba, and broadcasts. Common subexpressions
are pulled out branch by branch, never across branches: a branch that is not taken is not evaluated.
"""

import hashlib
import inspect
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType, ModuleType
from typing import Any

import sympy
from sympy.printing.precedence import PRECEDENCE
from sympy.printing.pycode import PythonCodePrinter

from golfphys.core.quantities import QUANTITIES


def symbol(names: str) -> Any:
    """Return the sympy symbols of registered quantities, one or a tuple; positive if their plausible range is."""
    signs = ({"positive": True} if QUANTITIES[name].low > 0 else {"real": True} for name in names.split())
    found = tuple(sympy.Symbol(name, **sign) for name, sign in zip(names.split(), signs, strict=True))
    return found if len(found) > 1 else found[0]


def real(names: str) -> Any:
    """Return the symbols of named intermediate values, one or a tuple."""
    return sympy.symbols(names, real=True)


def vector(name: str, of: Callable[[str], Any] = symbol) -> sympy.Matrix:
    """Return the three components of a vector: registered ones, or intermediate values (`real`)."""
    return sympy.Matrix(of(" ".join(f"{name}_{axis}" for axis in "xyz")))


def components(**vectors: Any) -> dict[str, sympy.Expr]:
    """Return vectors, in space or in a plane, as named results: ``normal=n`` as ``normal_x`` and so on."""
    return {f"{name}_{axis}": one for name, vector in vectors.items() for axis, one in zip("xyz", vector, strict=False)}


FORMULAS_FOLDER = Path(__file__).parent.parent / "formulas"
DIGITS = 30  # to which a derivation is evaluated
Ranges = Mapping[str, tuple[float, float]]


@dataclass(frozen=True)
class Formula:
    """One closed form to be written as a function."""

    name: str  # of the function
    arguments: tuple[sympy.Symbol, ...]  # in order; each is a registered quantity
    # one result, or several by name (the function then returns a tuple in this order); of a law with cases a tuple of
    # (condition, such a result), tried in order, whose last condition is ``sympy.true``
    returns: Any
    # named intermediate values, evaluated first and in order, for use in conditions and results; in place of an
    # expression may stand cases as above, of which only the one that holds is evaluated
    definitions: tuple[tuple[sympy.Symbol, Any], ...]
    summary: str  # one sentence: what it computes, with units
    source: str  # where the model comes from
    # in place of the register's, for the seeded random comparison with the derivation
    ranges: Ranges

    def branches(self) -> tuple[tuple[Any, dict[str, sympy.Expr]], ...]:
        """Return all cases as (condition, {result name: expression})."""
        return tuple(
            (condition, dict(returns) if isinstance(returns, Mapping) else {self.name: sympy.sympify(returns)})
            for condition, returns in _cases(self.returns)
        )

    def evaluate(self, values: Mapping[str, float]) -> tuple[float, ...]:
        """Evaluate the derivation itself (not the written text) at `values`, in high precision."""
        known: dict[Any, Any] = {argument: sympy.Float(values[argument.name], DIGITS) for argument in self.arguments}
        for name, definition in self.definitions:
            known[name] = sympy.sympify(_that_holds(_cases(definition), known)).subs(known).evalf(DIGITS)
        results = _that_holds(self.branches(), known)
        return tuple(float(sympy.re(result.subs(known).evalf(DIGITS))) for result in results.values())


def derived(table: str, ranges: Mapping[str, Ranges] = MappingProxyType({}), /, **found: Any) -> tuple[Formula, ...]:
    """Return the formulas of a chapter: by name (arguments, returns), or (arguments, definitions, returns).

    In the table stand name and sentence, each under the source of its model, which follows a #; a line that is indented
    goes on with the one before. `ranges` are those of a `Formula`, by name.
    """
    said, source = dict[str, tuple[str, str]](), ""
    for line in re.sub(r"\n +", " ", table.strip()).splitlines():
        name, _, sentence = line.partition(" | ")
        if line.startswith("#"):
            source = line[2:]
        else:
            said[name] = sentence, source
    if said.keys() != found.keys():
        raise ValueError(f"{', '.join(said.keys() ^ found.keys())}: either not in the table or not derived")
    return tuple(
        Formula(name, arguments, returns, tuple(*definitions), *said[name], ranges.get(name, {}))
        for name, (arguments, *definitions, returns) in found.items()
    )


def _cases(definition: Any) -> tuple[tuple[Any, Any], ...]:
    return definition if isinstance(definition, tuple) else ((sympy.true, definition),)


def _that_holds(cases: tuple[tuple[Any, Any], ...], known: Mapping[Any, Any]) -> Any:
    return next(found for condition, found in cases if condition is sympy.true or condition.subs(known))


class _Printer(PythonCodePrinter):
    """Prints small powers as products, and no cases inside an expression."""

    def _print_Piecewise(self, expr: Any) -> str:
        raise ValueError(f"write cases of a law as `cases`, not as Piecewise: {expr}")

    def _print_Pow(self, expr: Any, rational: bool = False) -> str:
        base, exponent = expr.args
        if exponent.is_Integer and 2 <= int(exponent) <= 4:
            factor = self.parenthesize(base, PRECEDENCE["Pow"])
            return "(" + "*".join([factor] * int(exponent)) + ")"
        return str(super()._print_Pow(expr, rational=rational))


_code: Callable[[Any], str] = _Printer({"fully_qualified_modules": True, "standard": "python3"}).doprint


def _branch_lines(results: dict[str, sympy.Expr], indent: str) -> list[str]:
    shared, reduced = sympy.cse(
        list(results.values()), symbols=sympy.numbered_symbols("t", real=True), order="canonical"
    )
    lines = [f"{indent}{name} = {_code(expression)}" for name, expression in shared]
    return [*lines, f"{indent}return {', '.join(_code(expression) for expression in reduced)}"]


def _definition_lines(name: sympy.Symbol, definition: Any) -> list[str]:
    cases = _cases(definition)
    values = [_code(expression) for _, expression in cases]
    if len(cases) == 1:
        return [f"    {name} = {values[0]}"]
    if len(cases) == 2:
        return [f"    {name} = {values[0]} if {_code(cases[0][0])} else {values[1]}"]
    lines = []
    for number, ((condition, _), value) in enumerate(zip(cases, values, strict=True)):
        words = "else:" if condition is sympy.true else f"{'elif' if number else 'if'} {_code(condition)}:"
        lines += [f"    {words}", f"        {name} = {value}"]
    return lines


def function_text(formula: Formula) -> str:
    """Return the Python text of one formula."""
    branches = formula.branches()
    names = tuple(branches[0][1])
    arguments = ", ".join(f"{argument.name}: float" for argument in formula.arguments)
    result = "float" if len(names) == 1 else "tuple[" + ", ".join(["float"] * len(names)) + "]"
    listed = f" Returns {', '.join(names)}." if len(names) > 1 else ""
    says = f'    """{formula.summary} Model: {formula.source}.{listed}"""'
    lines = [f"def {formula.name}({arguments}) -> {result}:", says]
    for name, definition in formula.definitions:
        lines += _definition_lines(name, definition)
    for condition, results in branches[:-1]:
        lines += [f"    if {_code(condition)}:", *_branch_lines(results, "        ")]
    return "\n".join([*lines, *_branch_lines(branches[-1][1], "    ")]) + "\n"


def chapter_name(chapter: ModuleType) -> str:
    """Return the name that a chapter and its formulas module share."""
    return chapter.__name__.rpartition(".")[2]


def module_text(chapter: ModuleType) -> str:
    """Return the whole text of the formulas module that `chapter` derives."""
    name = chapter_name(chapter)
    digest = hashlib.sha256(inspect.getsource(chapter).encode()).hexdigest()[:16]
    body = "\n\n".join(function_text(formula) for formula in chapter.FORMULAS)
    imports = "\nimport math\n" if "math." in body else ""
    return (
        f'"""Closed forms derived in ``golfphys/derivations/{name}.py``. Generated; do not edit.\n\n'
        f"sympy {sympy.__version__}, derivation sha256 {digest}.\n"
        f'Write anew with ``python -m golfphys.derivations``.\n"""\n{imports}\n\n{body}'
    )
