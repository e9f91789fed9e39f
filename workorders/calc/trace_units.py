"""Quantities and units of a logger file's columns, read from its headings."""

import re
from dataclasses import dataclass

UNKNOWN = "unknown"
STAMP = "time stamp"

SECONDS = {"ns": 1e-9, "µs": 1e-6, "ms": 1e-3, "s": 1.0, "min": 60.0, "h": 3600.0, "d": 86400.0, STAMP: 1.0}
# psi: NIST Special Publication 811 (2008), Appendix B.8: 1 psi = 6.894 757 kPa.
BAR = {"bar": 1.0, "mbar": 1e-3, "hPa": 1e-3, "kPa": 1e-2, "MPa": 10.0, "Pa": 1e-5, "psi": 6.894757e-2}

_SPELLINGS = {
    "time": {
        "ns": "ns nanosecond nanoseconds nsec",
        "µs": "µs us usec microsecond microseconds",
        "ms": "ms msec millisecond milliseconds millis",
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
    "position": {"mm": "mm millimetre millimeter", "µm": "µm um", "cm": "cm", "m": "m", "in": "in inch inches"},
    "force": {"N": "n newton", "kN": "kn", "daN": "dan", "lbf": "lbf"},
    "temperature": {"°C": "°c degc deg_c c celsius", "°F": "°f degf deg_f f", "K": "k kelvin"},
    "flow": {"L/min": "l/min lpm", "mL/min": "ml/min", "L/h": "l/h", "gpm": "gpm gal/min"},
    "voltage": {"V": "v volt volts vdc", "mV": "mv"},
    "current": {"A": "a amp amps ampere", "mA": "ma"},
}
_NAMES = {
    "time": "time timestamp datetime date_time zeit uhrzeit zeitstempel t elapsed clock",
    "pressure": "pressure pressures press druck p",
    "position": "position pos stroke displacement travel weg hub x",
    "force": "force load kraft f",
    "temperature": "temperature temp temperatur",
    "flow": "flow q flowrate volumenstrom durchfluss",
    "voltage": "voltage spannung u volt",
    "current": "current strom",
    "count": "index idx sample samples no no. nr nr. number num # count counter row record n scan point",
}
_QUANTITY_OF_WORD = {word: quantity for quantity, words in _NAMES.items() for word in words.split()}
_UNIT_OF_WORD = {
    word: (quantity, unit)
    for quantity, units in _SPELLINGS.items()
    for unit, words in units.items()
    for word in words.split()
}
_CLOSED = re.compile(r"^(?P<name>.*?)\s*(?:\[(?P<square>[^\]]*)\]|\((?P<round>.*)\)|\{(?P<curly>[^}]*)\})\s*$")
_OPEN = re.compile(r"^(?P<name>.*\S)\s*(?P<mark>/|,\s*|\s+in\s+|_|-|\s+)(?P<unit>[^\s_/]+(?:/\w+)?)$")


@dataclass(frozen=True, kw_only=True)
class Heading:
    """What a column's heading says: its name, its quantity and its unit as far as they are named.

    ``unknown_unit`` keeps the text of a unit that stands in brackets and is not known here.
    """

    name: str
    quantity: str
    unit: str | None
    unknown_unit: str | None = None


def read_heading(text: str, unit_text: str = "") -> Heading:
    """Read one heading such as ``Pressure [bar]``, ``p (kPa)``, ``t/s`` or ``Druck in mbar``.

    Parameters
    ----------
    text : str
        The heading as it stands in the file; ``unit_text`` is the cell below it where the file
        has a row of units of its own.

    Returns
    -------
    Heading
        A unit decides the quantity; a name decides it where there is no unit. What neither
        names is ``"unknown"``; a running number is ``"count"``.

    Examples
    --------
    >>> read_heading("Pressure [bar]")
    Heading(name='Pressure', quantity='pressure', unit='bar', unknown_unit=None)
    >>> read_heading("t/s").unit, read_heading("p (kPa)").unit
    ('s', 'kPa')
    """
    text = " ".join(text.split()).strip("'\"")
    name, unit_word, bracketed = _split(text)
    if unit_text.strip():
        name, unit_word, bracketed = text, unit_text.strip().strip("[](){} "), True
    found = known_unit(unit_word)
    if found is None and not unit_word:
        found = known_unit(text) if len(text) > 2 else None
    quantity_of_name = _quantity(name)
    if found:
        quantity, unit = _agreed(found, quantity_of_name, unit_word)
        return Heading(name=name or text, quantity=quantity, unit=unit)
    unknown = unit_word if bracketed and unit_word else None
    return Heading(name=name or text, quantity=quantity_of_name, unit=None, unknown_unit=unknown)


def known_unit(word: str) -> tuple[str, str] | None:
    """Return quantity and usual spelling of a unit word, or None where it is not known."""
    plain = word.strip().replace("μ", "µ")
    return _UNIT_OF_WORD.get(plain.casefold().replace("μ", "µ"))


def is_unit_row(cells: list[str]) -> bool:
    """Whether every filled cell of a row below the headings is a unit, as in ``[s];[bar]``."""
    filled = [cell.strip().strip("[](){} ") for cell in cells if cell.strip()]
    return len(filled) >= 2 and all(known_unit(cell) or cell in {"-", ""} for cell in filled)


def _split(text: str) -> tuple[str, str, bool]:
    """Return name, unit word and whether the unit stood in brackets."""
    closed = _CLOSED.match(text)
    if closed:
        unit = next(part for part in closed.group("square", "round", "curly") if part is not None)
        return closed["name"].strip(), unit.strip(), True
    opened = _OPEN.match(text)
    if opened and known_unit(opened["unit"]):
        return opened["name"].rstrip(" :,_"), opened["unit"], False
    return text, "", False


def _quantity(name: str) -> str:
    words = re.findall(r"[^\W\d_]+\.?|#", name.casefold())
    for word in [name.casefold().strip(), *words]:
        stem = word.rstrip("0123456789 ")
        if stem in _QUANTITY_OF_WORD:
            return _QUANTITY_OF_WORD[stem]
    return UNKNOWN


def _agreed(found: tuple[str, str], named: str, unit_word: str) -> tuple[str, str]:
    """A unit decides, save where one letter means two things: ``Force [mN]`` never, ``Time [M]`` may."""
    quantity, unit = found
    if named == "time" and unit_word.casefold() in {"m", "mn"}:
        return "time", "min"
    return quantity, unit
