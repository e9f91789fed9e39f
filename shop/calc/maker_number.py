"""Makers' numbers: how they are compared, and which misreadings are still found."""

import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated

from shop.calc.parameters import Text
from shop.calc.registry import calculation
from shop.calc.result import Figure, Result

SAME, NEAR, APART = "same", "near", "apart"
SHORTEST_NEAR = 4  # below it, one character is too large a part of a number
_LEFT_OUT = re.compile(r"[\s./\\_\u2044]+")
_SEPARATORS = re.compile(r"[,;\n\r]+")
# O, I and L as Crockford's base 32 reads them; the others are common practice, no source.
_CONFUSED = str.maketrans("OQDILBSZG", "000118526")


@lru_cache(maxsize=4096)  # threads and hoses of a whole catalogue are the same few texts
def bare_number(text: str) -> str:
    """Return a number as it is compared: capitals, without blanks, dashes, dots and slashes.

    Parameters
    ----------
    text : str
        The number as it was written or read.

    Returns
    -------
    str
        Empty where nothing but such signs was given.
    """
    plain = unicodedata.normalize("NFKC", text).upper()
    kept = (sign for sign in plain if unicodedata.category(sign) not in ("Pd", "Cf", "Cc"))
    return _LEFT_OUT.sub("", "".join(kept))


def split_numbers(text: str) -> list[str]:
    """Return the numbers of a text with commas, semicolons or line ends between them, each once.

    Parameters
    ----------
    text : str
        Such as ``BD-4410, BD-4410-1``.

    Returns
    -------
    list of str
        As written, in their order; of those that are compared as the same, the first.
    """
    found: dict[str, str] = {}
    for part in _SEPARATORS.split(text):
        number = " ".join(part.split())
        if bare := bare_number(number):
            found.setdefault(bare, number)
    return list(found.values())


def matched(*, read: str, known: str) -> str:
    """Compare two bare numbers: ``same``, ``near`` or ``apart``.

    Parameters
    ----------
    read, known : str
        As `bare_number` gives them.

    Returns
    -------
    str
        Near are numbers that differ only in characters that are taken for each other, and those of
        four characters or more with one character wrong, missing, too many, or two neighbours swapped.
    """
    if read == known:
        return SAME
    if abs(len(read) - len(known)) > 1:
        return APART
    if len(read) == len(known) and read.translate(_CONFUSED) == known.translate(_CONFUSED):
        return NEAR
    if min(len(read), len(known)) < SHORTEST_NEAR:
        return APART
    # One edit leaves the first or the last character of so long a number: a quick way to say no.
    if read[0] != known[0] and read[-1] != known[-1]:
        return APART
    return NEAR if one_edit_apart(one=read, other=known) else APART


def one_edit_apart(*, one: str, other: str) -> bool:
    """Tell whether one edit turns a text into another: a character replaced, put in, left out, or a swap.

    Parameters
    ----------
    one, other : str
        Any texts.

    Returns
    -------
    bool
        False for the same text.
    """
    if len(one) > len(other):
        one, other = other, one
    if len(other) - len(one) > 1 or one == other:
        return False
    at = next((at for at, sign in enumerate(one) if sign != other[at]), len(one))
    if len(one) < len(other):
        return one[at:] == other[at + 1 :]
    swapped = one[at + 1 : at + 2] + one[at : at + 1] + one[at + 2 :]
    return one[at + 1 :] == other[at + 1 :] or (at + 1 < len(one) and swapped == other[at:])


def edits_between(*, one: str, other: str) -> int:
    """Return the least edits that turn a text into another, no part of it being edited twice.

    Parameters
    ----------
    one, other : str
        Any texts.

    Returns
    -------
    int
        Replaced, put in, left out and swapped neighbours count 1 each.
    """
    before: list[int] = []
    row = list(range(len(other) + 1))
    for at, sign in enumerate(one, 1):
        last, before, row = before, row, [at]
        for to, against in enumerate(other, 1):
            best = min(before[to] + 1, row[to - 1] + 1, before[to - 1] + (sign != against))
            if at > 1 and to > 1 and sign == other[to - 2] and one[at - 2] == against:
                best = min(best, last[to - 2] + 1)
            row.append(best)
    return row[-1]


NumberText = Annotated[str, Text(title="Number", like="a text of 1 to 60 characters", longest=60)]


@dataclass(frozen=True, kw_only=True)
class NumberMatch(Result):
    """How a number that was read compares with one that is known."""

    bare_read: Annotated[str, Figure(title="Read, as compared", how="capitals without signs between them")]
    bare_known: Annotated[str, Figure(title="Known, as compared", how="capitals without signs between them")]
    edits: Annotated[
        int,
        Figure(title="Edits between them", how="characters replaced, put in, left out, neighbours swapped"),
    ]
    match: Annotated[str, Figure(title="Match", how="same, near or apart, by the rule in the notes")]


@calculation(
    family="identity",
    title="Match of makers' numbers",
    example={"read": "BD 441O", "known": "BD-4410"},
    example_source="Derived here: the letter O was read for the digit 0, one edit.",
)
def maker_number_match(*, read: NumberText, known: NumberText) -> NumberMatch:
    """Whether a number read off a body may be a number that is known.

    Parameters
    ----------
    read : str
        The number as it was read, 1 to 60 characters [-].
    known : str
        The number as the catalogue has it, 1 to 60 characters [-].

    Returns
    -------
    NumberMatch
        Both numbers as they are compared, the edits between them, and the match [-].

    Raises
    ------
    InputError
        An empty or too long number.

    Notes
    -----
    Numbers are compared in capitals and without blanks, dashes, dots, slashes and underscores. The
    same are a match. Near are those that differ only in characters that are taken for each other on
    a worn stamp (0 O Q D, 1 I L, 8 B, 5 S, 2 Z, 6 G), however many of them, and those of 4
    characters or more that one edit turns into each other. A near number is a hint to look again,
    never a match.

    Validity: numbers of one maker; two makers may use the same number.
    Left out: which edits are likelier, and numbers of which only a part can be read.

    References
    ----------
    Edits with swapped neighbours: F. J. Damerau, A technique for computer detection and correction
    of spelling errors, Communications of the ACM 7 (1964) 171-176; here no part is edited twice.
    O as 0 and I and L as 1: D. Crockford, Base 32. The other pairs: common practice, no source.

    Examples
    --------
    >>> maker_number_match(read="bd 4410", known="BD-4410").match
    'same'
    >>> found = maker_number_match(read="BD-441O", known="BD-4410")
    >>> found.edits, found.match
    (1, 'near')
    """
    bare_read, bare_known = bare_number(read), bare_number(known)
    return NumberMatch(
        bare_read=bare_read,
        bare_known=bare_known,
        edits=edits_between(one=bare_read, other=bare_known),
        match=matched(read=bare_read, known=bare_known),
        sources=(
            "Damerau 1964 for the edits; the characters taken for each other: common practice, no source",
        ),
    )
