"""Formulas of results, written for people: in symbols, and filled in with numbers."""

import ast
import re
from collections.abc import Mapping

# Endings of names, and the units that they stand for.
UNITS = {
    "mm": "mm",
    "mm2": "mm²",
    "mm3": "mm³",
    "um": "µm",
    "m": "m",
    "mm_per_m": "mm/m",
    "mm_s": "mm/s",
    "in": "in",
    "ml": "mL",
    "cm3": "cm³",
    "l_min": "L/min",
    "ml_min": "mL/min",
    "bar": "bar",
    "bar_per_min": "bar/min",
    "bar_per_k": "bar/K",
    "ml_per_bar": "mL/bar",
    "mpa": "MPa",
    "pa_s": "Pa·s",
    "kn": "kN",
    "n": "N",
    "nm": "N·m",
    "w": "W",
    "v": "V",
    "rpm": "1/min",
    "minutes": "min",
    "pct": "%",
    "per_k": "1/K",
    "k": "K",
    "shore_a": "Shore A",
    "s": "s",
}
_ENDINGS = re.compile(rf"_({'|'.join(UNITS)})$")
_NAME = re.compile(r"\b[a-zA-Z_][a-zA-Z0-9_]*\b")
_POWERS = str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")
_SIGNS = ((" * ", " × "), (" - ", " − "), ("pi", "π"), ("sqrt(", "√("))
FUNCTIONS = ("sqrt", "exp", "log", "min", "max", "abs", "pi")


def symbols(*, formula: str) -> str:
    """Write a formula in symbols.

    Parameters
    ----------
    formula : str
        A Python expression.

    Returns
    -------
    str
        The same, as it is written by hand.

    Examples
    --------
    >>> symbols(formula="pi / 4 * (bore_mm**2 - rod_mm**2)")
    'π / 4 × (bore² − rod²)'
    """
    return _by_hand(_NAME.sub(lambda match: _symbol(match.group()), _plain(formula)))


def filled(*, formula: str, values: Mapping[str, object]) -> str:
    """Write a formula with the numbers in place of the names.

    Parameters
    ----------
    formula : str
        A Python expression.
    values : mapping
        Inputs and figures by name.

    Returns
    -------
    str
        The expression with its numbers.

    Raises
    ------
    KeyError
        A name that has no value.

    Examples
    --------
    >>> filled(formula="pi / 4 * (bore_mm**2 - rod_mm**2)", values={"bore_mm": 100.0, "rod_mm": 70.0})
    'π / 4 × (100² − 70²)'
    """

    def fill(match: re.Match[str]) -> str:
        word = match.group()
        return word if word in FUNCTIONS else number(value=values[word])

    return _by_hand(_NAME.sub(fill, _plain(formula)))


def number(*, value: object) -> str:
    """Write a number to six digits at most, without an exponent where it can be read.

    Parameters
    ----------
    value : float or other
        The number; anything else is written as it is.

    Returns
    -------
    str
        The number.

    Examples
    --------
    >>> [number(value=one) for one in (7853.981633974483, 0.00046, -2.5, 1e-9)]
    ['7853.98', '0.00046', '−2.5', '1e-09']
    """
    if isinstance(value, bool) or not isinstance(value, int | float):
        return str(value)
    if isinstance(value, int) or (abs(value) >= 1e5 and abs(value) < 1e15):
        text = f"{value:.0f}"
    else:
        text = f"{value:.6g}"
    return text.replace("-", "−", 1) if text.startswith("-") else text


def split_unit(*, name: str) -> tuple[str, str]:
    """Split a name into words and the unit that it ends in.

    Parameters
    ----------
    name : str
        Name of a parameter or of a figure.

    Returns
    -------
    tuple of str
        Words, and the unit, empty where the name has none.

    Examples
    --------
    >>> split_unit(name="cs_deviation_mm"), split_unit(name="designation")
    (('cs deviation', 'mm'), ('designation', ''))
    """
    found = _ENDINGS.search(name)
    return _symbol(name), UNITS[found.group(1)] if found else ""


def _plain(formula: str) -> str:
    return ast.unparse(ast.parse(formula, mode="eval"))


def _symbol(word: str) -> str:
    return word if word in FUNCTIONS else _ENDINGS.sub("", word).replace("_", " ")


def _by_hand(text: str) -> str:
    for sign, shown in _SIGNS:
        text = text.replace(sign, shown)
    return re.sub(r" ?\*\* ?(-?\d+)", lambda match: match.group(1).translate(_POWERS), text)
