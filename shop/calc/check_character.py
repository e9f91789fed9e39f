"""Check characters after ISO 7064, by python-stdnum."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated

from stdnum.iso7064 import mod_11_2, mod_11_10, mod_37_2, mod_37_36, mod_97_10

from shop.calc.parameters import Choice, InputError, Text
from shop.calc.registry import calculation
from shop.calc.result import Figure, Result

_DIGITS = "0123456789"
_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass(frozen=True, kw_only=True)
class _Scheme:
    words: str
    alphabet: str
    calculate: Callable[[str], str]


_SCHEMES = {
    "mod_11_2": _Scheme(words="digits", alphabet=_DIGITS, calculate=mod_11_2.calc_check_digit),
    "mod_37_2": _Scheme(
        words="digits and capital letters",
        alphabet=_DIGITS + _LETTERS,
        calculate=mod_37_2.calc_check_digit,
    ),
    "mod_97_10": _Scheme(words="digits", alphabet=_DIGITS, calculate=mod_97_10.calc_check_digits),
    "mod_11_10": _Scheme(words="digits", alphabet=_DIGITS, calculate=mod_11_10.calc_check_digit),
    "mod_37_36": _Scheme(
        words="digits and capital letters",
        alphabet=_DIGITS + _LETTERS,
        calculate=mod_37_36.calc_check_digit,
    ),
}
Mark = Annotated[str, Text(title="Text without its check character", like="a text of 1 to 200 characters")]
SchemeName = Annotated[str, Choice(title="System of ISO 7064", options=tuple(_SCHEMES))]


@dataclass(frozen=True, kw_only=True)
class CheckCharacter(Result):
    """A check character, and the text with it."""

    character: Annotated[
        str, Figure(title="Check character", how="the system of ISO 7064; mod_97_10 has two digits")
    ]
    complete: Annotated[str, Figure(title="Text with it", how="the text, then its check character")]


@calculation(
    family="identity",
    title="Check character of a mark",
    example={"text": "A12425GABC1234002", "scheme": "mod_37_36"},
    example_source="The documentation of python-stdnum 2.2, stdnum.iso7064.mod_37_36: M.",
)
def check_character(*, text: Mark, scheme: SchemeName) -> CheckCharacter:
    """Check character that tells most typing errors in a mark, such as a serial.

    Parameters
    ----------
    text : str
        Text without its check character, 1 to 200 characters: digits for mod_11_2, mod_97_10 and
        mod_11_10, digits and capital letters for mod_37_2 and mod_37_36 [-].
    scheme : str
        ``mod_11_2``, ``mod_37_2``, ``mod_97_10``, ``mod_11_10`` or ``mod_37_36`` [-].

    Returns
    -------
    CheckCharacter
        The check character (two for mod_97_10; it may be ``X`` in mod_11_2 and ``*`` in mod_37_2),
        and the text with it [-].

    Raises
    ------
    InputError
        An unknown system, an empty or too long text, a character that the system does not take.

    Notes
    -----
    The systems find every single wrong character. The hybrid ones (mod_11_10, mod_37_36) let a few
    swaps of neighbours through. A right check character does not show that a mark was ever given out.

    Validity: the five systems named.
    Left out: blanks, hyphens and small letters, which are refused and not taken out.

    References
    ----------
    ISO/IEC 7064; python-stdnum, stdnum.iso7064, whose documentation prints the example.

    Examples
    --------
    >>> found = check_character(text="A12425GABC1234002", scheme="mod_37_36")
    >>> found.character, found.complete
    ('M', 'A12425GABC1234002M')
    """
    system = _SCHEMES[scheme]
    strange = next((sign for sign in text if sign not in system.alphabet), None)
    if strange is not None:
        raise InputError("text", f"text must be of {system.words} for {scheme}; got {strange!r} in {text!r}")
    character = system.calculate(text)
    return CheckCharacter(
        character=character,
        complete=text + character,
        sources=("ISO/IEC 7064, by python-stdnum (stdnum.iso7064)",),
    )
