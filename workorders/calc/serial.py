"""Shop serials: eight random characters and one check character that nobody can guess or confuse."""

import re
import secrets
from collections.abc import Callable, Iterator

from stdnum.iso7064 import mod_37_36

# Crockford's base 32: no I, L, O (read as 1, 1, 0) and no U.
ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
LENGTH = 9
GROUP = 3
_FORGIVEN = str.maketrans("ILO", "110")
_SEPARATORS = re.compile(r"[\s-]+")
_SWAPPED_YZ = str.maketrans("YZyz", "ZYzy")

# What a scanner set to a US keyboard leaves on a computer set to another one, back to what it
# sent: only the keys that an address uses. Source: xkeyboard-config 2.35, symbols de, fr, us.
# Both cases of a key are listed, since Caps Lock flips them.
_GERMAN = str.maketrans("YZyzÖöß-_+", "ZYzy::-/?]")
_FRENCH = str.maketrans(
    "AQaqZWzw?,Mm!§$:)à&é\"'(-è_ç",
    "QAqaWZwzMM::/?].-0123456789",
)
_LAYOUTS = (
    (frozenset("YZyz"), _SWAPPED_YZ),
    (frozenset("Öö"), _GERMAN),
    (frozenset("!&é\"'(è_çà"), _FRENCH),
)

_FLAGS = re.IGNORECASE | re.ASCII
_SYMBOLOGY_MARK = re.compile(r"\][A-Z][0-9A-Z]", _FLAGS)  # ISO/IEC 15424, such as ]Q1 before a QR text
_ADDRESS = re.compile(r"(?<!/)/U/(.*?)(?=HTTPS?://|[/?#\t\r\n]|$)", _FLAGS)
_REPEATED = re.compile(r"(.{9,}?)(?:\s*\1)+", _FLAGS | re.DOTALL)
_PLAIN = re.compile(r"[0-9A-Z]{9}|[0-9A-Z]{3}([ -])[0-9A-Z]{3}\1[0-9A-Z]{3}", _FLAGS)


class SerialError(ValueError):
    """The text is no shop serial; the message is a sentence that says which part is wrong."""


def draw_serial(choice: Callable[[str], str] = secrets.choice) -> str:
    """Draw a new serial: 9 upper-case characters, ungrouped.

    ``choice`` picks one character of a string; pass a seeded generator's to repeat a draw.
    Drawn again where the check character would be I, L, O or U, and where two neighbours swapped
    (or Y and Z, as a foreign keyboard does) would make another serial: MOD 37,36 alone lets
    1 in 638 swaps of neighbours through. One draw in eight is thrown away, which costs nothing.
    """
    while True:
        body = "".join(choice(ALPHABET) for _ in range(LENGTH - 1))
        serial = body + mod_37_36.calc_check_digit(body)
        if serial[-1] in ALPHABET and not any(map(mod_37_36.is_valid, _near_misses(serial))):
            return serial


def grouped(serial: str) -> str:
    """Split a serial into groups of three for reading aloud: ``7F3 K9Q XM2``."""
    return " ".join(serial[at : at + GROUP] for at in range(0, len(serial), GROUP))


def parse_serial(text: str) -> str:
    """Read a typed serial into its stored form.

    Any case, spaces and hyphens anywhere; I and L count as 1, O as 0 (neither is ever printed,
    not even as the check character). Raises SerialError with a sentence that says what is wrong.
    """
    compact = _SEPARATORS.sub("", text)
    if len(compact) != LENGTH:
        raise SerialError(
            f"A shop serial has {LENGTH} characters; this one has {len(compact)}: “{text.strip()[:40]}”."
        )
    serial = compact.upper().translate(_FORGIVEN) if compact.isascii() else compact
    strange = next((sign for sign in serial if sign not in ALPHABET), "")
    if strange:
        raise SerialError(
            f"“{strange}” is never part of a shop serial: it has digits and letters, without I, L, O and U."
        )
    if not mod_37_36.is_valid(serial):
        raise SerialError(
            f"The serial {grouped(serial)} is mistyped: its check character does not match. "
            "Compare it with the label, group by group."
        )
    return serial


def read_scan(text: str) -> str | None:
    """Find the serial in what a scanner or a person put into one field.

    Takes letters in any case, a bare serial or a whole address with any base, a scanner's prefix
    and line end, a double scan, and a scanner set to a US keyboard on a German or French one.
    Returns None where the text is no serial at all, so that it is searched for. A serial that
    comes back is well formed but need not exist: where there is no such unit, search for the
    text as well. Raises SerialError where the text clearly is a serial, but mistyped.
    """
    try:
        found, fault = _read(text), None
    except SerialError as error:
        found, fault = None, error
    if found:
        return found
    for other in other_layouts(text):
        try:
            found = _read(other)
        except SerialError as error:
            # Only an address shows by itself that the keyboard was foreign.
            fault = fault or (error if _ADDRESS.search(other) else None)
        if found:
            return found
    if fault:
        raise fault
    return None


def _near_misses(serial: str) -> Iterator[str]:
    """Yield the other texts that a swap of neighbours or of Y and Z makes of a serial."""
    for at in range(len(serial) - 1):
        swapped = serial[:at] + serial[at + 1] + serial[at] + serial[at + 2 :]
        if swapped != serial:
            yield swapped
    other = serial.translate(_SWAPPED_YZ)
    if other != serial:
        yield other


def other_layouts(text: str) -> Iterator[str]:
    """Yield what a scanner set to a US keyboard sent, where the computer has a German or French one."""
    for marks, table in _LAYOUTS:
        if marks & set(text):
            yield text.translate(table)


def _read(text: str) -> str | None:
    """Read a text whose keyboard was right; raise SerialError as `read_scan` does."""
    plain = _SYMBOLOGY_MARK.sub("\n", text).strip("\0\x02\x03\x04 \t\r\n")
    addressed = {parse_serial(part) for part in _ADDRESS.findall(plain)}
    if len(addressed) > 1:
        raise SerialError("Two different serials came in one scan; clear the field and scan one label.")
    if addressed:
        return addressed.pop()
    twice = _REPEATED.fullmatch(plain)
    once = twice[1].strip() if twice else plain
    try:
        return parse_serial(once)
    except SerialError:
        if _PLAIN.fullmatch(once) and not once.isdigit() and not _SEPARATORS.sub("", once).isalpha():
            raise
        return None
