"""QR symbols for print: level H, alphanumeric mode, quiet zone of 4 modules, whole printer dots."""

from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO

from PIL import Image
from qrcode.constants import ERROR_CORRECT_H
from qrcode.main import QRCode
from qrcode.util import BIT_LIMIT_TABLE, MODE_ALPHA_NUM, QRData, length_in_bits
from reportlab.pdfgen.canvas import Canvas

# ISO/IEC 18004: the 45 characters of alphanumeric mode, and four light modules all round.
ALPHANUMERIC = frozenset("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:")
QUIET_MODULES = 4
# DENSO WAVE, https://www.qrcode.com/en/howto/cell.html: four or more printer dots per module.
LEAST_MODULE_DOTS = 4
LARGEST_VERSION = 40


class QrError(ValueError):
    """This text cannot become the symbol asked for; the message says why."""


@dataclass(frozen=True)
class Symbol:
    """A text and its square of dark (True) and light modules, rows from the top, no quiet zone."""

    text: str
    rows: tuple[tuple[bool, ...], ...]

    @property
    def modules(self) -> int:
        """Modules along one side, without the quiet zone."""
        return len(self.rows)

    @property
    def modules_with_quiet_zone(self) -> int:
        """Modules along one side, with the quiet zone on both ends."""
        return self.modules + 2 * QUIET_MODULES


@lru_cache(maxsize=512)
def symbol(text: str, least_version: int = 1) -> Symbol:
    """Encode a text at level H in alphanumeric mode, in the smallest version that holds it.

    A ``least_version`` above that adds modules that only help against damage.
    Raises QrError where the text is empty, has a character outside that mode, or is too long.
    """
    strange = "".join(sorted(set(text) - ALPHANUMERIC))
    if not text or strange:
        raise QrError(
            f"The QR text {text!r} has characters outside alphanumeric mode: {strange or 'none at all'}"
        )
    if len(text) > longest_text(version_modules(LARGEST_VERSION)):
        raise QrError(f"No QR symbol of level H holds {len(text)} characters.")
    code = QRCode(version=least_version, error_correction=ERROR_CORRECT_H, border=0)
    code.add_data(QRData(text, mode=MODE_ALPHA_NUM), optimize=0)
    code.make(fit=True)
    return Symbol(text, tuple(tuple(bool(dark) for dark in row) for row in code.get_matrix()))


def version_modules(version: int) -> int:
    """Return the modules along one side of a version, without the quiet zone."""
    return 17 + 4 * version


def longest_text(modules: int) -> int:
    """Return how many alphanumeric characters a symbol of at most so many modules holds at level H.

    ``modules`` counts one side without the quiet zone; the answer is 0 where no version fits.
    """
    version = min((modules - 17) // 4, LARGEST_VERSION)
    if version < 1:
        return 0
    bits: int = BIT_LIMIT_TABLE[ERROR_CORRECT_H][version]
    mode_and_count_bits: int = 4 + length_in_bits(MODE_ALPHA_NUM, version)
    pairs, rest_bits = divmod(bits - mode_and_count_bits, 11)
    return 2 * pairs + (1 if rest_bits >= 6 else 0)


def bitmap(code: Symbol, *, module_dots: int) -> Image.Image:
    """Draw a symbol with its quiet zone as a black and white image of whole dots.

    Raises QrError below four dots per module.
    """
    if module_dots < LEAST_MODULE_DOTS:
        raise QrError(f"A module needs {LEAST_MODULE_DOTS} or more printer dots, not {module_dots}.")
    small = Image.new("1", (code.modules_with_quiet_zone,) * 2, 1)
    for y, row in enumerate(code.rows, QUIET_MODULES):
        for x, dark in enumerate(row, QUIET_MODULES):
            if dark:
                small.putpixel((x, y), 0)
    return small.resize((code.modules_with_quiet_zone * module_dots,) * 2, Image.Resampling.NEAREST)


def png(text: str, *, dpi: int, module_dots: int = LEAST_MODULE_DOTS) -> bytes:
    """Return a text's symbol as PNG at a printer's own resolution (``dpi`` goes into pHYs)."""
    stream = BytesIO()
    bitmap(symbol(text), module_dots=module_dots).save(stream, "PNG", dpi=(dpi, dpi), optimize=True)
    return stream.getvalue()


def draw(
    canvas: Canvas, code: Symbol, *, left_points: float, top_points: float, module_points: float
) -> None:
    """Draw a symbol as vector rectangles; left and top are the outer corner of its quiet zone.

    One path for the whole symbol: separate rectangles would show hairlines between modules.
    The caller chooses ``module_points`` as a whole number of the printer's dots.
    """
    path = canvas.beginPath()
    for y, row in enumerate(code.rows, QUIET_MODULES):
        for start, end in _dark_runs(row):
            path.rect(
                left_points + (start + QUIET_MODULES) * module_points,
                top_points - (y + 1) * module_points,
                (end - start) * module_points,
                module_points,
            )
    canvas.setFillGray(0)
    canvas.drawPath(path, stroke=0, fill=1)


def _dark_runs(row: tuple[bool, ...]) -> list[tuple[int, int]]:
    """Return start and end (exclusive) of each run of dark modules."""
    edges = [
        x for x, (before, now) in enumerate(zip((False, *row), (*row, False), strict=True)) if before != now
    ]
    return list(zip(edges[::2], edges[1::2], strict=True))
