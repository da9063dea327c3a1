"""Shows derivations on a page: sympy expressions as mathematics, with the register's symbols, and what they mean.

For notebooks only. What is returned renders as Markdown, so it needs neither widgets nor a running kernel to be read.
"""

from types import ModuleType
from typing import Any

import sympy
from sympy.codegen.cfunctions import expm1, log1p

from golfphys.core.quantities import QUANTITIES
from golfphys.show.markup import Shown


def latex(expression: Any) -> str:
    r"""Return an expression as LaTeX without delimiters: registered quantities by symbol, other values by their words.

    Text is taken as LaTeX already.

    >>> from golfphys.derivations import rolling
    >>> latex(rolling.stopping_distance)
    '\\frac{v^{2}}{2\\,\\text{slowing}}'
    """
    if isinstance(expression, str):
        return expression
    plain = sympy.sympify(expression)
    plain = plain.replace(log1p, lambda x: sympy.log(1 + x)).replace(expm1, lambda x: sympy.exp(x) - 1)
    names = {item: item.name if len(item.name) == 1 else _words(item.name) for item in plain.atoms(sympy.Symbol)}
    names |= {item: QUANTITIES[item.name].symbol for item in names if item.name in QUANTITIES}
    return str(sympy.latex(plain, symbol_names=names, ln_notation=True, mul_symbol="\\,"))


def _words(name: str) -> str:
    return "\\text{" + name.replace("_", " ") + "}"


def equation(left: Any, right: Any, words: str = "", *, explain: bool = True) -> Shown:
    """Show an equation after a sentence, and what its symbols mean unless `explain` is false; text is LaTeX."""
    parts = [words, f"$$ {latex(left)} = {latex(right)} $$", _meanings(left, right) if explain else ""]
    return Shown("\n\n".join(part for part in parts if part))


def law(chapter: ModuleType, name: str) -> Shown:
    """Show one closed form of a chapter of `golfphys.derivations`: cases, intermediate values, meanings and source.

    Raises ValueError if the chapter has no formula of that name.

    >>> from golfphys.derivations import rolling
    >>> law(rolling, "stopping_time").text.splitlines()[0]
    'Time in s a ball takes to roll to rest; infinite where it never stops.'
    """
    formulas = {formula.name: formula for formula in chapter.FORMULAS}
    if name not in formulas:
        raise ValueError(f"name is {name!r}; the chapter has {', '.join(formulas)}")
    formula = formulas[name]
    cases = formula.branches()
    lines = [formula.summary]
    for result in cases[0][1]:
        label = _words(name if len(cases[0][1]) == 1 else result)
        lines.append(f"$$ {label} = {_cased([(condition, found[result]) for condition, found in cases])} $$")
    for item, value in formula.definitions:
        cased = _cased([(c, v) for c, v in value]) if isinstance(value, tuple) else latex(value)
        lines.append(f"$$ {latex(item)} = {cased} $$")
    lines.append(_meanings(*formula.arguments))
    lines.append(f"*Source: {formula.source}.*")
    return Shown("\n\n".join(lines))


def _cased(cases: list[tuple[Any, Any]]) -> str:
    if len(cases) == 1:
        return latex(cases[0][1])
    rows = [
        f"{latex(value)} & " + ("\\text{otherwise}" if condition == sympy.true else f"\\text{{if }} {latex(condition)}")
        for condition, value in cases
    ]
    return "\\begin{cases} " + " \\\\ ".join(rows) + " \\end{cases}"


def _meanings(*expressions: Any) -> str:
    """Say what the registered symbols mean, in alphabetical order of their words."""
    parts = (sympy.sympify(part) for part in expressions if not isinstance(part, str))
    symbols = {item.name for part in parts for item in part.free_symbols}
    known = [QUANTITIES[name] for name in sorted(symbols & set(QUANTITIES))]
    meanings = []
    for one in known:
        unit = f" ({one.unit})" if one.unit != "1" else ""
        meanings.append(f"${one.symbol}$ {one.sentence[0].lower()}{one.sentence[1:-1]}{unit}")
    return f"Here {'; '.join(meanings)}." if meanings else ""
