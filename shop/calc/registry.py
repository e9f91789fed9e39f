"""The one list of calculations: the command, the page of bench sums, the docs and the guards read it."""

import dataclasses
import difflib
import functools
import importlib
import inspect
import pkgutil
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from math import isfinite
from typing import Annotated, Any, ParamSpec, TypeVar, get_args, get_origin, get_type_hints

from shop.calc.parameters import InputError, Parameter
from shop.calc.result import Figure, Result

P = ParamSpec("P")
R = TypeVar("R", bound=Result)

FAMILIES = {
    "sealing": "Seals and their grooves",
    "cylinders": "Cylinders",
    "pumps": "Pumps and oil",
    "bench": "Test bench",
    "stores": "Stores",
    "identity": "Marks, numbers and what a unit is",
}
REQUIRED = inspect.Parameter.empty
LEAST = 1e-30  # of any unit in use here: a smaller number is no measurement, and its square may be lost


class NoSuchCalculation(LookupError):
    """No calculation has that name."""


@dataclass(frozen=True, kw_only=True)
class Asked:
    """One parameter of a calculation, with its default (``REQUIRED`` where it has none)."""

    name: str
    parameter: Parameter
    default: Any

    @property
    def required(self) -> bool:
        """Whether a value must be given."""
        return self.default is REQUIRED


@dataclass(frozen=True, kw_only=True)
class Given:
    """One figure of a result."""

    name: str
    figure: Figure


@dataclass(frozen=True, kw_only=True)
class Answer:
    """A calculation with all its inputs and its result."""

    calculation: "Calculation"
    inputs: dict[str, Any]
    result: Result

    @property
    def values(self) -> dict[str, Any]:
        """Inputs and figures by name, for filling in formulas."""
        figures = {given.name: getattr(self.result, given.name) for given in self.calculation.figures}
        return {**self.inputs, **figures}

    def as_json(self) -> dict[str, Any]:
        """Return the answer as plain data: name, inputs, result, warnings, sources."""
        result = _plain(self.result)
        warnings, sources = result.pop("warnings"), result.pop("sources")
        return {
            "name": self.calculation.name,
            "inputs": _plain(self.inputs),
            "result": result,
            "warnings": warnings,
            "sources": sources,
        }


@dataclass(frozen=True, kw_only=True)
class Calculation:
    """One public calculation.

    ``example`` are inputs that answer; the numbers and what they give are explained by
    ``example_source``.
    """

    name: str
    title: str
    family: str
    function: Callable[..., Result]
    asked: tuple[Asked, ...]
    figures: tuple[Given, ...]
    example: Mapping[str, Any]
    example_source: str
    doc: str = field(repr=False)

    def read(self, texts: Mapping[str, str]) -> dict[str, Any]:
        """Turn what a person typed into inputs; an empty text leaves a default. Raises InputError."""
        self._refuse_unknown(texts)
        return {
            asked.name: asked.parameter.parse(asked.name, texts[asked.name])
            for asked in self.asked
            if texts.get(asked.name, "").strip()
        }

    def answer(self, inputs: Mapping[str, Any]) -> Answer:
        """Calculate. Raises InputError for a bad, missing or unknown input."""
        self._refuse_unknown(inputs)
        whole = {asked.name: inputs.get(asked.name, asked.default) for asked in self.asked}
        for asked in self.asked:
            value = whole[asked.name]
            if value is REQUIRED:
                message = f"{asked.name} is needed ({asked.parameter.allowed}); got nothing"
                raise InputError(asked.name, message)
            if not (value is None and asked.default is None):
                whole[asked.name] = asked.parameter.check(asked.name, value)
        result = self.function(**whole)
        return Answer(calculation=self, inputs=whole, result=result)

    def _refuse_unknown(self, inputs: Mapping[str, Any]) -> None:
        known = [asked.name for asked in self.asked]
        for name in inputs:
            if name not in known:
                raise InputError(name, f"{name} is not asked for; {self.name} takes {', '.join(known)}")


_packages: list[str] = []
_calculations: dict[str, Calculation] = {}
_reading = threading.Lock()


def calculation(
    *, family: str, title: str, example: Mapping[str, Any], example_source: str
) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Register a function whose parameters are all ``Annotated`` with a `Parameter`.

    Parameters
    ----------
    family : str
        Key of ``FAMILIES``.
    title : str
        What people call it.
    example : mapping
        Inputs of the worked example.
    example_source : str
        Where the example stands, with what it prints; or that it is derived here.

    Returns
    -------
    decorator
        Of a function that checks its inputs before it calculates.

    Raises
    ------
    TypeError
        At import, for a positional, undeclared or unknown parameter, or a result without base.
    """

    def register(function: Callable[P, R]) -> Callable[P, R]:
        hints = get_type_hints(function, include_extras=True)
        result = hints.pop("return")
        if family not in FAMILIES or not (isinstance(result, type) and issubclass(result, Result)):
            raise TypeError(f"{function.__name__}: unknown family, or its result is no Result")
        asked = tuple(_asked(function.__name__, one, hints) for one in _parameters(function))
        declared = {one.name: one for one in asked}

        @functools.wraps(function)
        def checked(*args: P.args, **kwargs: P.kwargs) -> R:
            for name, value in kwargs.items():
                one = declared.get(name)
                if one and not (value is None and one.default is None):
                    kwargs[name] = one.parameter.check(name, value)
            if any(_next_to_nothing(value) for value in kwargs.values()):
                raise _too_far(function.__name__)
            try:
                found = function(*args, **kwargs)
            except (ZeroDivisionError, OverflowError):
                raise _too_far(function.__name__) from None
            if any(isinstance(one, float) and not isfinite(one) for one in vars(found).values()):
                raise _too_far(function.__name__)
            return found

        _calculations[function.__name__] = Calculation(
            name=function.__name__,
            title=title,
            family=family,
            function=checked,
            asked=asked,
            figures=_figures(result),
            example=example,
            example_source=example_source,
            doc=inspect.getdoc(function) or "",
        )
        return checked

    return register


def _next_to_nothing(value: object) -> bool:
    """Whether a number, or one of several, is so near to 0 that its powers are lost to rounding."""
    if isinstance(value, tuple | list):
        return any(_next_to_nothing(one) for one in value)
    return isinstance(value, float) and 0 < abs(value) < LEAST


def _too_far(name: str) -> InputError:
    return InputError("inputs", f"inputs of {name} must be of a usual size; got some that no figure can hold")


def _parameters(function: Callable[..., Any]) -> list[inspect.Parameter]:
    return list(inspect.signature(function).parameters.values())


def _asked(name: str, one: inspect.Parameter, hints: Mapping[str, Any]) -> Asked:
    declared = [extra for extra in get_args(hints[one.name])[1:] if isinstance(extra, Parameter)]
    if one.kind is not inspect.Parameter.KEYWORD_ONLY or not declared:
        raise TypeError(f"{name}: {one.name} must be keyword-only and declared")
    return Asked(name=one.name, parameter=declared[0], default=one.default)


def _figures(result: type[Result]) -> tuple[Given, ...]:
    hints = get_type_hints(result, include_extras=True)
    found = []
    for one in dataclasses.fields(result):
        if one.name in ("warnings", "sources"):
            continue
        extras = get_args(hints[one.name])[1:] if get_origin(hints[one.name]) is Annotated else ()
        declared = [extra for extra in extras if isinstance(extra, Figure)]
        if not declared:
            raise TypeError(f"{result.__name__}: {one.name} must be declared with a Figure")
        found.append(Given(name=one.name, figure=declared[0]))
    return tuple(found)


def add_package(*, name: str) -> None:
    """Name a package whose modules register calculations; it is read when the list is first wanted.

    Parameters
    ----------
    name : str
        Dotted name of the package.

    Returns
    -------
    None
        Its modules are imported by `calculations`.
    """
    if name not in _packages:
        _packages.append(name)


def calculations() -> list[Calculation]:
    """Every calculation, by family and name.

    Returns
    -------
    list of Calculation
        In the order of ``FAMILIES``, then by name.
    """
    with _reading:
        while _packages:
            package = importlib.import_module(_packages[-1])
            for module in pkgutil.iter_modules(package.__path__):
                importlib.import_module(f"{package.__name__}.{module.name}")
            _packages.pop()
    order = list(FAMILIES)
    return sorted(_calculations.values(), key=lambda one: (order.index(one.family), one.name))


def find(*, name: str) -> Calculation:
    """One calculation.

    Parameters
    ----------
    name : str
        Its name.

    Returns
    -------
    Calculation
        The one of that name.

    Raises
    ------
    NoSuchCalculation
        With the names that come near.
    """
    known = {one.name: one for one in calculations()}
    if name in known:
        return known[name]
    near = difflib.get_close_matches(name, known, n=3)
    hint = f"; do you mean {' or '.join(near)}?" if near else ""
    raise NoSuchCalculation(f"there is no calculation {name!r}{hint}")


def _plain(value: Any) -> Any:
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {one.name: _plain(getattr(value, one.name)) for one in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {key: _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    return value.isoformat() if isinstance(value, date) else value
