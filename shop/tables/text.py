"""The text of a CSV file, whatever wrote it."""

from charset_normalizer import from_bytes

from shop.tables.faults import TableError

_MARKS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
_ONE_BYTE = ["cp1252", "cp1250", "cp437", "mac_roman"]
_SAMPLE_BYTES = 65_536


def text_of(data: bytes) -> tuple[str, str]:
    """Return the text of a file and the name of its encoding; TableError for what is no text."""
    encoding = _encoding(data)
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError as error:
        raise TableError("The file is not text: save the list as CSV or XLSX.") from error
    if any(sign < " " and sign not in "\t\n\r\f" for sign in text):
        raise TableError("The file is not text: save the list as CSV or XLSX.")
    return text, encoding


def _encoding(data: bytes) -> str:
    for mark, name in _MARKS:
        if data.startswith(mark):
            return name
    try:
        data.decode("utf-8")
        return "utf-8"
    except UnicodeDecodeError as error:
        # Plain letters are the same in all code pages: what lies around the first other sign tells.
        start = max(error.start - _SAMPLE_BYTES // 4, 0)
        best = from_bytes(data[start : start + _SAMPLE_BYTES], cp_isolation=_ONE_BYTE).best()
        return best.encoding if best else "cp1252"
