"""Where the parts of a label and of a wired tag go, in whole printer dots."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shop.documents import paper, qr
from shop.documents.drawing import Box, Code, Drawing, Item, Ring, Text, dots, text_rise, text_width
from shop.documents.label_stock import LabelStock, TagStock
from shop.documents.text_fit import LabelError, Line, Sizes, fit_lines, leading, one_line_size

CAP_HEIGHT = 0.73  # of the em square, in all three faces
GAP_MM = 0.8
# Four dots at 203 dpi are 0.5 mm; at finer resolutions the big text leaves the symbol this much.
WANTED_MODULE_MM = 0.42
# Most addresses fit version 3, but version 4 was read with 15 % of its area covered in 496 of 500
# trials against 465, at the cost of 2 mm.
LEAST_VERSION = 4
# Heights of the em square.
LINES_MM = (3.3, 2.4, 2.1)
TAG_LINES_MM = (4.6, 3.6, 2.4)
TAG_HINT_MM = 2.4
TAG_HINT = "Stamp or write the serial into the boxes. The tag stays wired to the unit through the wash."
TAG_SIGN_MM, TAG_BOX_WIDTH_MM, TAG_BOX_HEIGHT_MM, TAG_LEAST_BOX_MM = 15.0, 10.0, 12.0, 5.0
TAG_GROUP_GAP = 0.3  # of a box


@dataclass(frozen=True, kw_only=True)
class Label:
    """What one label says.

    ``address`` becomes the QR symbol and is upper-case already; ``big`` (serial or lot number) is
    never shortened; ``lines`` are fitted, the first in the strong face, empty ones left out.
    """

    address: str
    big: str
    lines: tuple[str, ...] = ()


@dataclass(frozen=True)
class Space:
    """A rectangle in dots from the top left corner of the paper."""

    left: int
    top: int
    width: int
    height: int


def longest_address(stock: LabelStock, *, dpi: int) -> int:
    """Return how many characters of address a stock holds at a resolution, at 4 dots a module."""
    modules = _code_room(_inside(stock, dpi)) // qr.LEAST_MODULE_DOTS
    return qr.longest_text(modules - 2 * qr.QUIET_MODULES)


def lay_out(label: Label, stock: LabelStock, *, dpi: int) -> Drawing:
    """Place a label's parts.

    The big text goes below the symbol over the whole width, or beside it, wherever it comes out
    larger. Raises LabelError where the address is too long for the stock or cannot be a symbol,
    or where the big text or the number of lines is too much.
    """
    inside = _inside(stock, dpi)
    code = _symbol(label, _code_room(inside), stock.name)
    below = _size_below(label.big, inside, code, dpi)
    beside = _size_beside(label.big, inside, code)
    place = _big_below if below >= beside else _big_beside
    items = tuple(place(label, inside, code, max(below, beside), dpi))
    return Drawing(stock.width_mm, stock.height_mm, dpi, f"Label {label.big}", items)


def _inside(stock: LabelStock, dpi: int) -> Space:
    margin = dots(stock.margin_mm, dpi)
    width, height = dots(stock.width_mm, dpi), dots(stock.height_mm, dpi)
    return Space(margin, margin, width - 2 * margin, height - 2 * margin)


def _code_room(inside: Space) -> int:
    """Return the side of the largest symbol: the whole height, yet half of the width at most."""
    return min(inside.height, inside.width // 2)


def _symbol(label: Label, room: int, paper_name: str) -> qr.Symbol:
    try:
        code = qr.symbol(label.address, LEAST_VERSION)
    except qr.QrError as error:
        raise LabelError(str(error)) from error
    if code.modules_with_quiet_zone * qr.LEAST_MODULE_DOTS > room:
        longest = qr.longest_text(room // qr.LEAST_MODULE_DOTS - 2 * qr.QUIET_MODULES)
        raise LabelError(
            f"The address has {len(label.address)} characters; {paper_name} takes {longest} at most: "
            f"{label.address}"
        )
    return code


def _ink(big: str, size: int) -> tuple[int, int]:
    """Return the reach of big text; a Q always counts, so that all labels share one baseline."""
    return text_rise(big + "Q", paper.CODE, size)


def _size_below(big: str, inside: Space, code: qr.Symbol, dpi: int) -> int:
    """Return the size that the big text can have below a symbol of good size, or 0."""
    most_module = _code_room(inside) // code.modules_with_quiet_zone
    module = min(most_module, max(qr.LEAST_MODULE_DOTS, dots(WANTED_MODULE_MM, dpi)))
    spare = inside.height - code.modules_with_quiet_zone * module
    most = one_line_size(Line(big, paper.CODE), width=inside.width, most=inside.height // 2)
    return next((size for size in range(most, 0, -1) if sum(_ink(big, size)) <= spare), 0)


def _size_beside(big: str, inside: Space, code: qr.Symbol) -> int:
    """Return the size that the big text can have beside the largest symbol, or 0."""
    side = _code_room(inside) // code.modules_with_quiet_zone * code.modules_with_quiet_zone
    try:
        return one_line_size(Line(big, paper.CODE), width=inside.width - side, most=inside.height // 3)
    except LabelError:
        return 0


def _big_below(label: Label, inside: Space, code: qr.Symbol, size: int, dpi: int) -> Iterator[Item]:
    rise, fall = _ink(label.big, size)
    room = min(inside.height - rise - fall, _code_room(inside))
    module = room // code.modules_with_quiet_zone
    side, quiet = module * code.modules_with_quiet_zone, module * qr.QUIET_MODULES
    yield Code(inside.left, inside.top, code, module)
    left = inside.left + (inside.width - text_width(label.big, paper.CODE, size)) // 2
    yield Text(left, inside.top + inside.height - fall, label.big, paper.CODE, size)
    # From the top of the dark modules to the big text, less a gap.
    height = inside.height - rise - fall - quiet - dots(GAP_MM, dpi)
    space = Space(inside.left + side, inside.top + quiet, inside.width - side, height)
    yield from _lines(label.lines, space, LINES_MM, dpi)


def _big_beside(label: Label, inside: Space, code: qr.Symbol, size: int, dpi: int) -> Iterator[Item]:
    module = _code_room(inside) // code.modules_with_quiet_zone
    side = module * code.modules_with_quiet_zone
    top = inside.top + (inside.height - side) // 2
    yield Code(inside.left, top, code, module)
    rise, fall = _ink(label.big, size)
    left = inside.left + side
    text_top = top + module * qr.QUIET_MODULES
    yield Text(left, text_top + rise, label.big, paper.CODE, size)
    lines_top = text_top + rise + fall + dots(GAP_MM, dpi)
    height = inside.top + inside.height - lines_top
    yield from _lines(label.lines, Space(left, lines_top, inside.width - side, height), LINES_MM, dpi)


def _lines(
    texts: Sequence[str], space: Space, sizes_mm: tuple[float, float, float], dpi: int
) -> Iterator[Item]:
    """Fit the free lines into a space, capitals of the first touching its top."""
    kept = [text for text in texts if text.strip()]
    lines = [Line(text, paper.BODY if at else paper.STRONG) for at, text in enumerate(kept)]
    sizes = Sizes(*(dots(size_mm, dpi) for size_mm in sizes_mm))
    fitted = fit_lines(lines, width=space.width, height=space.height, sizes=sizes)
    first = space.top + round(CAP_HEIGHT * fitted.size)
    for at, line in enumerate(fitted.lines):
        yield Text(space.left, first + at * leading(fitted.size), line.text, line.face, fitted.size)


def lay_out_tag(label: Label, tag: TagStock, *, dpi: int) -> Drawing:
    """Place a wired tag's parts: hole mark, very large serial, a box below each sign, symbol, lines.

    Raises LabelError as `lay_out` does.
    """
    margin, strip, hole = dots(tag.margin_mm, dpi), dots(tag.hole_strip_mm, dpi), dots(tag.hole_mm, dpi)
    width, height = dots(tag.width_mm, dpi), dots(tag.height_mm, dpi)
    inside = Space(strip, margin, width - strip - margin, height - 2 * margin)
    ring = Ring((strip - hole) // 2, (height - hole) // 2, hole, dots(0.35, dpi))
    serial = list(_sign_boxes(label.big, inside, dpi))
    bottom = max(item.top + item.height for item in serial if isinstance(item, Box))
    rest = Space(inside.left, bottom, inside.width, inside.top + inside.height - bottom)
    items = (ring, *serial, *_tag_foot(label, rest, tag, dpi))
    return Drawing(tag.width_mm, tag.height_mm, dpi, f"Tag {label.big}", items)


def _sign_boxes(big: str, inside: Space, dpi: int) -> Iterator[Item]:
    """Draw each sign with a box below it, in the groups of the big text."""
    groups = big.split()
    gaps = TAG_GROUP_GAP * (len(groups) - 1)
    box = min(dots(TAG_BOX_WIDTH_MM, dpi), int(inside.width / (sum(map(len, groups)) + gaps)))
    if box < dots(TAG_LEAST_BOX_MM, dpi):
        raise LabelError(f"“{big}” is too long to stamp into boxes on this tag.")
    line = dots(0.35, dpi)
    size = one_line_size(Line("0", paper.CODE), width=box - line, most=dots(TAG_SIGN_MM, dpi))
    rise, fall = _ink(big, size)
    top, left = inside.top + rise + fall + dots(GAP_MM, dpi), inside.left
    for group in groups:
        for sign in group:
            inset = (box - text_width(sign, paper.CODE, size)) // 2
            yield Text(left + inset, inside.top + rise, sign, paper.CODE, size)
            # Neighbours share a line.
            yield Box(left, top, box + line, dots(TAG_BOX_HEIGHT_MM, dpi), line)
            left += box
        left += round(TAG_GROUP_GAP * box)


def _tag_foot(label: Label, rest: Space, tag: TagStock, dpi: int) -> Iterator[Item]:
    """Place the symbol at the left, the lines beside it and the hint below them."""
    room = _code_room(rest)
    code = _symbol(label, room, tag.name)
    module = room // code.modules_with_quiet_zone
    side, quiet = module * code.modules_with_quiet_zone, module * qr.QUIET_MODULES
    # The quiet zone is white like the strip, so the dark modules stand flush with the boxes.
    top = rest.top + rest.height - side
    yield Code(rest.left - quiet, top, code, module)
    left = rest.left + side - quiet
    hint_size = dots(TAG_HINT_MM, dpi)
    hint_height = 2 * leading(hint_size)
    space = Space(left, top + quiet, rest.width - side + quiet, side - 2 * quiet - hint_height)
    yield from _lines(label.lines, space, TAG_LINES_MM, dpi)
    hint = Space(left, space.top + space.height, space.width, hint_height)
    sizes = Sizes(hint_size, hint_size, hint_size)
    fitted = fit_lines([Line(TAG_HINT, paper.BODY)], width=hint.width, height=hint.height, sizes=sizes)
    first = hint.top + hint.height - (len(fitted.lines) - 1) * leading(hint_size)
    for at, line in enumerate(fitted.lines):
        yield Text(hint.left, first + at * leading(hint_size), line.text, line.face, hint_size)
