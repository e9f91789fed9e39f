"""What the guards read of the registry of calculations."""

import importlib
import inspect
import math
import pkgutil
import re
from typing import get_type_hints

from shop.calc import registry
from shop.calc.explained import explanation
from shop.calc.formula import FUNCTIONS
from shop.calc.parameters import Number, Numbers
from shop.calc.result import Result

CALLS = {name: getattr(math, name) for name in ("sqrt", "exp", "log", "pi")} | {
    "min": min,
    "max": max,
    "abs": abs,
}
assert set(CALLS) == set(FUNCTIONS)


def unregistered(module):
    """Public functions of a calc module that give a Result and are in no list."""
    known = {one.function.__wrapped__ for one in registry.calculations()}
    return [
        name
        for name, function in inspect.getmembers(module, inspect.isfunction)
        if function.__module__ == module.__name__
        and not name.startswith("_")
        and is_calculation(function)
        and getattr(function, "__wrapped__", function) not in known
    ]


def is_calculation(function):
    result = get_type_hints(function).get("return")
    return isinstance(result, type) and issubclass(result, Result)


def calc_modules():
    for app in ("shop", "inventory", "workorders"):
        package = importlib.import_module(f"{app}.calc")
        for found in pkgutil.iter_modules(package.__path__):
            yield importlib.import_module(f"{package.__name__}.{found.name}")


def doc_faults(one):
    """What the docstring of a calculation lacks, or says otherwise than its declaration."""
    told = explanation(calculation=one)
    faults = [
        f"has no {part}"
        for part in ("summary", "validity", "left_out", "references")
        if not getattr(told, part)
    ]
    for section in ("Raises", "Examples"):
        if not re.search(rf"^{section}\n-+$", one.doc, re.MULTILINE):
            faults.append(f"has no section {section}")
    if set(told.parameters) != {asked.name for asked in one.asked}:
        faults.append("describes other parameters than it takes")
    for asked in one.asked:
        unit = asked.parameter.unit or "-"
        if isinstance(asked.parameter, Number | Numbers) and f"[{unit}]" not in told.parameters.get(
            asked.name, ""
        ):
            faults.append(f"{asked.name} is not described with [{unit}]")
    return faults


def figure_faults(one, answer):
    """Figures whose formula does not give their value, or that say nothing of how they are found."""
    faults = []
    for given in one.figures:
        value = answer.values[given.name]
        if not (given.figure.formula or given.figure.how or isinstance(value, tuple)):
            faults.append(f"{given.name} has neither formula nor words")
        if not given.figure.formula or value is None:
            continue
        told = eval(given.figure.formula, {"__builtins__": {}}, {**CALLS, **answer.values})
        if not math.isclose(told, value, rel_tol=1e-9, abs_tol=1e-12):
            faults.append(f"{given.name}: the formula gives {told}, the result {value}")
    return faults
