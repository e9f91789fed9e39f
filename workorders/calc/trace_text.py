"""The text of a logger file: from its bytes to its lines."""

from charset_normalizer import from_bytes

from workorders.calc.trace_error import TraceError

DEFAULT_MAX_BYTES = 128 * 1024 * 1024
_SAMPLE_BYTES = 65_536
_BOMS = (
    (b"\xef\xbb\xbf", "utf-8-sig"),
    (b"\xff\xfe\x00\x00", "utf-32"),
    (b"\x00\x00\xfe\xff", "utf-32"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)
_ONE_BYTE = ["cp1252", "latin_1", "cp1250", "cp437", "mac_roman"]
_ALLOWED_CONTROLS = frozenset("\t\n\r\f\x1a")


def read_text(*, data: bytes, max_bytes: int = DEFAULT_MAX_BYTES) -> str:
    """Turn the bytes of a logger file into its text.

    Parameters
    ----------
    data : bytes
        The file as uploaded: UTF-8 or UTF-16 with or without a byte-order mark, or a one-byte
        code page, with any line ends.
    max_bytes : int
        The largest file taken [bytes].

    Returns
    -------
    str
        The text with ``\\n`` as line end, blank lines included, so that numbers in messages are right.

    Raises
    ------
    TraceError
        The file is empty, too large, or no text.
    """
    if len(data) > max_bytes:
        raise TraceError(f"The file has {_size(len(data))}; at most {_size(max_bytes)} are taken.")
    if not data.strip():
        raise TraceError("The file is empty.")
    if data[:4] == b"PK\x03\x04":
        raise TraceError("This is a spreadsheet or a packed file, not text; export the readings as CSV.")
    text = data.decode(_encoding(data), errors="replace")
    if _is_binary(text):
        raise TraceError("The file is not text; export the readings from the logger as CSV.")
    if not text.strip():
        raise TraceError("The file is empty.")
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _size(count: int) -> str:
    if count < 100_000:
        return f"{count} bytes"
    return f"{count / 1e6:.1f} MB"


def _encoding(data: bytes) -> str:
    for mark, name in _BOMS:
        if data.startswith(mark):
            return name
    sample = data[:_SAMPLE_BYTES]
    if b"\0" in sample:
        return _utf16_without_mark(sample)
    try:
        data.decode("utf-8")
        return "utf-8"
    except UnicodeDecodeError as error:
        # Digits are the same in all code pages: the first other sign tells which it is.
        start = max(error.start - _SAMPLE_BYTES // 4, 0)
        best = from_bytes(data[start : start + _SAMPLE_BYTES], cp_isolation=_ONE_BYTE).best()
        return best.encoding if best else "cp1252"


def _utf16_without_mark(sample: bytes) -> str:
    """Name the byte order of UTF-16 digits, whose every second byte is zero."""
    half = max(len(sample) // 2, 1)
    if sample[1::2].count(0) > 0.8 * half and sample[::2].count(0) < 0.05 * half:
        return "utf-16-le"
    if sample[::2].count(0) > 0.8 * half and sample[1::2].count(0) < 0.05 * half:
        return "utf-16-be"
    raise TraceError("The file is not text; export the readings from the logger as CSV.")


def _is_binary(text: str) -> bool:
    """Whether a text has what no logger writes: control characters, or many that did not decode."""
    sample = text[:_SAMPLE_BYTES]
    strange = sum(
        1 for sign in sample if (sign < " " and sign not in _ALLOWED_CONTROLS) or "\x7f" <= sign < "\xa0"
    )
    lost = sample.count("\ufffd")
    return strange > 0.002 * len(sample) or lost > 0.02 * len(sample)
