"""Quantities and units of a logger file's columns, read from its headings."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

UNKNOWN = "unknown"
STAMP = "time stamp"

SECONDS = {"ns": 1e-9, "µs": 1e-6, "ms": 1e-3, "s": 1.0, "min": 60.0, "h": 3600.0, "d": 86400.0, STAMP: 1.0}
# psi: NIST Special Publication 811 (2008), Appendix B.8: 1 psi = 6.894 757 kPa.
BAR = {"bar": 1.0, "mbar": 1e-3, "hPa": 1e-3, "kPa": 1e-2, "MPa": 10.0, "Pa": 1e-5, "psi": 6.894757e-2}

# What is one of a unit in the first one of its line. gpm: NIST Special Publication 811, Appendix B.8.
_CONVERTED: tuple[dict[str, float], ...] = (
    BAR,
    {"L/min": 1.0, "mL/min": 1e-3, "L/h": 1 / 60, "gpm": 3.785412},
    {"mm": 1.0, "µm": 1e-3, "cm": 10.0, "m": 1000.0, "in": 25.4},
    {"V": 1.0, "mV": 1e-3},
    {"A": 1.0, "mA": 1e-3},
)

_SPELLINGS = {
    "time": {
        "ns": "ns nsec nanosecond nanoseconds",
        "µs": "µs us usec microsecond microseconds",
        "ms": "ms msec millis millisecond milliseconds",
        "s": "s sec secs second seconds sek sekunden",
        "min": "min mins minute minutes minuten",
        "h": "h hr hrs hour hours std stunden",
        "d": "d day days",
    },
    "pressure": {
        "bar": "bar bars barg bar(g) bar_g",
        "mbar": "mbar millibar",
        "hPa": "hpa",
        "kPa": "kpa kpag kpa(g) kilopascal",
        "MPa": "mpa megapascal",
        "Pa": "pa pascal",
        "psi": "psi psig psi(g) lbf/in² lbf/in2",
    },
    "position": {
        "mm": "mm millimetre millimeter",
        "µm": "µm um",
        "cm": "cm",
        "m": "m",
        "in": "in inch inches",
    },
    "force": {"N": "n newton", "kN": "kn", "daN": "dan", "lbf": "lbf"},
    "temperature": {"°C": "°c ºc degc deg_c c celsius", "°F": "°f ºf degf deg_f f", "K": "k kelvin"},
    "flow": {"L/min": "l/min lpm", "mL/min": "ml/min", "L/h": "l/h", "gpm": "gpm gal/min"},
    "voltage": {"V": "v volt volts vdc", "mV": "mv"},
    "current": {"A": "a amp amps ampere", "mA": "ma"},
}
_NAMES = {
    "time": "time timestamp datetime date_time zeit uhrzeit zeitstempel elapsed clock",
    "pressure": "pressure pressures press druck p",
    "position": "position pos stroke displacement travel weg hub",
    "force": "force load kraft",
    "temperature": "temperature temp temperatur",
    "flow": "flow flowrate volumenstrom durchfluss",
    "voltage": "voltage spannung volt volts",
    "current": "current strom",
    "count": "index idx sample samples no no. nr nr. number num # count counter row record scan point",
}
_QUANTITY_OF_WORD = {word: quantity for quantity, words in _NAMES.items() for word in words.split()}
_UNIT_OF_WORD = {
    word: (quantity, unit)
    for quantity, units in _SPELLINGS.items()
    for unit, words in units.items()
    for word in words.split()
}
# Units of pressure that files carry and this reader does not convert: never taken for bar.
_OTHER_PRESSURE_UNITS = {"atm", "torr", "mmhg", "inhg", "ksi", "mh2o", "inh2o", "mmh2o", "at"}

_BRACKETS = re.compile(
    r"^(?P<name>.*?)\s*(?:\[(?P<square>[^\]]*)\]|\((?P<round>.*)\)|\{(?P<curly>[^}]*)\})\s*$"
)
_OPEN = re.compile(r"^(?P<name>.*?\w)(?P<mark>\s+in\s+|\s*/\s*|\s*,\s*|_|\s+)(?P<unit>[^\s_,]+)$")


@dataclass(frozen=True, kw_only=True)
class Heading:
    """What a heading says: name, quantity, unit, and a unit that is named but not known here."""

    name: str
    quantity: str = UNKNOWN
    unit: str | None = None
    strange_unit: str | None = None


def read_heading(*, text: str, unit_text: str = "") -> Heading:
    """Read one heading such as ``Pressure [bar]``, ``p (kPa)``, ``t/s`` or ``Druck in mbar``.

    Parameters
    ----------
    text : str
        The heading as it stands in the file.
    unit_text : str
        The cell below it, where the file has a row of units of its own.

    Returns
    -------
    Heading
        The unit decides the quantity (``Pressure [V]`` is a voltage), the name where there is no
        unit. What neither tells is ``"unknown"``; a running number is a ``"count"``.

    Examples
    --------
    >>> read_heading(text="Pressure [kPa]")
    Heading(name='Pressure', quantity='pressure', unit='kPa', strange_unit=None)
    >>> read_heading(text="t/s").unit, read_heading(text="Druck in mbar").unit
    ('s', 'mbar')
    """
    text = " ".join(text.split()).strip("'\"")
    bare = unit_text.strip().strip("[](){} ")
    if bare:
        return _heading(text or bare, bare)
    closed = _BRACKETS.match(text)
    if closed:
        unit = next(part for part in closed.group("square", "round", "curly") if part is not None)
        return _heading(
            closed["name"].strip() or text, unit.strip(), whole=text, certain=closed["round"] is None
        )
    opened = _OPEN.match(text)
    if opened and _is_open_unit(opened["name"], opened["mark"], opened["unit"]):
        return _heading(opened["name"], opened["unit"])
    if len(text) > 2 and text.casefold() != "min" and known_unit(text):
        return _heading(text, text)
    return Heading(name=text, quantity=_quantity_of_name(text))


def known_unit(word: str) -> tuple[str, str] | None:
    """Return quantity and usual spelling of a unit word, or None where it is not known."""
    # Greek mu and the micro sign look alike; casefold turns the sign into the letter.
    return _UNIT_OF_WORD.get(word.strip().casefold().replace("μ", "µ"))


def conversion(*, unit: str, to: str) -> float | None:
    """How many of one unit are one of another.

    Parameters
    ----------
    unit, to : str
        Two units in their usual spelling [-].

    Returns
    -------
    float or None
        None where one does not become the other by a factor [-].

    Examples
    --------
    >>> conversion(unit="mL/min", to="L/min"), conversion(unit="V", to="L/min")
    (0.001, None)
    """
    if unit == to:
        return 1.0
    for known in _CONVERTED:
        if unit in known and to in known:
            return known[unit] / known[to]
    return None


def is_unit_row(cells: Sequence[str]) -> bool:
    """Whether every filled cell of a row is a unit, as in ``[s];[bar]``."""
    filled = [cell.strip().strip("[](){} ") for cell in cells if cell.strip()]
    return len(filled) >= 2 and all(known_unit(cell) or cell in {"-", ""} for cell in filled)


def _heading(name: str, unit_word: str, *, whole: str = "", certain: bool = True) -> Heading:
    """Put name and unit together; round brackets are not `certain` to hold a unit at all."""
    named = _quantity_of_name(name)
    if named == "time" and unit_word.casefold() == "m":
        return Heading(name=name, quantity="time", unit="min")
    found = known_unit(unit_word)
    if found:
        return Heading(name=name, quantity=found[0], unit=found[1])
    if unit_word and (certain or "/" in unit_word or unit_word.casefold() in _OTHER_PRESSURE_UNITS):
        return Heading(name=name, quantity=named, strange_unit=unit_word)
    return Heading(name=whole or name, quantity=named)


def _is_open_unit(name: str, mark: str, unit: str) -> bool:
    """Whether the last word of a heading is its unit: in ``P_in`` and ``Sensor A`` it is not."""
    found = known_unit(unit)
    if not found or found[1] == "in":
        return False
    named = _quantity_of_name(name)
    if named == UNKNOWN:
        return len(unit) > 1 or "/" in mark or mark.strip() == "in"
    return found[0] in {named, "voltage", "current"}


def _quantity_of_name(name: str) -> str:
    """Return the quantity a name tells; ``t`` is a time, ``T`` may be a temperature and tells nothing."""
    if name == "t":
        return "time"
    whole = name.casefold()
    words = (whole, *re.findall(r"[^\W\d_]+\.?|#", whole))
    found = [_QUANTITY_OF_WORD.get(word.rstrip("0123456789 "), UNKNOWN) for word in words]
    told = [quantity for quantity in found if quantity != UNKNOWN]
    # "Sample time" is a time: a running number is the last thing a word is taken for.
    return min(told, key=lambda quantity: quantity == "count", default=UNKNOWN)
