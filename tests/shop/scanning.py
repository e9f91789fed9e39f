"""An independent decoder (zxing-cpp) and seeded damage for printed QR symbols."""

from dataclasses import dataclass
from io import BytesIO
from math import ceil

import numpy as np
import pypdfium2
import zxingcpp
from PIL import Image
from scipy.ndimage import gaussian_filter

FINDER_MODULES = 9  # with separator and format information
QUIET_MODULES = 4
GROUND = 235  # a bench top around the label, lighter than ink and darker than paper
CAMERA_PIXELS = 8  # per module at least; with fewer, turning a picture blurs it by itself
NOISE = 4  # standard deviation in grey levels of 255
# Model 2 is the QR code of ISO/IEC 18004; its small relatives hardly check what they read, and
# noise now and then passes for one of them. Older decoders name model 2 by the family's name.
QR = getattr(zxingcpp.BarcodeFormat, "QRCodeModel2", zxingcpp.BarcodeFormat.QRCode)


def decode(picture):
    """Return the set of texts that the decoder finds anywhere in a grey picture or an image."""
    if isinstance(picture, Image.Image):
        picture = np.asarray(picture.convert("L"))
    return {code.text for code in zxingcpp.read_barcodes(np.ascontiguousarray(picture), formats=QR)}


def located(image):
    """Return the four corners, in whole pixels, of the only symbol that the decoder finds."""
    (code,) = zxingcpp.read_barcodes(np.asarray(image.convert("L")), formats=QR)
    place = code.position
    return [(p.x, p.y) for p in (place.top_left, place.top_right, place.bottom_right, place.bottom_left)]


def opened(png_bytes):
    return Image.open(BytesIO(png_bytes))


def rendered(pdf_bytes, dpi, page=0):
    """Render a page of a PDF as grey array at a resolution."""
    document = pypdfium2.PdfDocument(pdf_bytes)
    try:
        return np.asarray(document[page].render(scale=dpi / 72).to_pil().convert("L"))
    finally:
        document.close()


@dataclass(frozen=True)
class Printed:
    """A label as printed: grey dots, where its dark modules begin, dots and modules of its symbol."""

    picture: np.ndarray
    left: int
    top: int
    module: int
    modules: int

    def in_symbol(self):
        """The symbol's part of the picture, a view."""
        side = self.module * self.modules
        return self.picture[self.top : self.top + side, self.left : self.left + side]


def patched(printed, share, rng):
    """Cover a compact patch of so many of the symbol's modules, off the finders, in one colour.

    The patch grows as a square around a random place; black or white by chance.
    """
    n, f = printed.modules, FINDER_MODULES
    free = np.ones((n, n), bool)
    free[:f, :f] = free[:f, -f:] = free[-f:, :f] = False
    centre = rng.uniform(f, n - 1, 2)
    rows, columns = np.indices((n, n))
    distance = np.maximum(abs(rows - centre[0]), abs(columns - centre[1]))
    distance[~free] = np.inf
    covered = np.zeros(n * n, bool)
    covered[np.argsort(distance, axis=None, kind="stable")[: round(share * n * n)]] = True
    mask = np.kron(covered.reshape(n, n), np.ones((printed.module, printed.module), bool))
    picture = printed.picture.copy()
    damaged = Printed(picture, printed.left, printed.top, printed.module, printed.modules)
    damaged.in_symbol()[mask] = rng.choice([0, 255])
    return damaged


def seen(printed, rng, *, turn=0.0, tilt=0.0, blur_modules=0.0):
    """Aim a camera at the symbol: turned by degrees, corners moved by a share, blurred, with noise."""
    scene = _aimed_at(printed)
    pixels = scene.width / (1.6 * (printed.modules + 2 * QUIET_MODULES))
    if turn:
        scene = scene.rotate(turn, Image.Resampling.BILINEAR, fillcolor=GROUND)
    if tilt:
        scene = _tilted(scene, tilt, rng)
    picture = np.asarray(scene, np.float32)
    if blur_modules:
        picture = gaussian_filter(picture, blur_modules * pixels)
    noise = NOISE * rng.standard_normal(picture.shape, dtype=np.float32)
    return np.clip(picture + noise, 0, 255).astype(np.uint8)


def _aimed_at(printed):
    """Return the square around the symbol, 1.6 times its side, with what the label has there."""
    side = round(1.6 * printed.module * (printed.modules + 2 * QUIET_MODULES))
    half_symbol = printed.module * printed.modules // 2
    scene = Image.new("L", (side, side), GROUND)
    offset = side // 2 - printed.left - half_symbol, side // 2 - printed.top - half_symbol
    scene.paste(Image.fromarray(printed.picture), offset)
    scale = ceil(CAMERA_PIXELS / printed.module)
    return scene.resize((side * scale, side * scale), Image.Resampling.NEAREST)


def _tilted(scene, tilt, rng):
    """Move each corner of the scene by up to a share of its side, as a camera held askew does."""
    side = scene.width
    corners = np.array([[0, 0], [side, 0], [side, side], [0, side]], float)
    moved = corners + rng.uniform(-tilt, tilt, (4, 2)) * side
    # Solve for the eight numbers that take a moved corner back to where it came from.
    rows, values = [], []
    for (x, y), (u, v) in zip(moved, corners, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        values += [u, v]
    back = np.linalg.solve(np.array(rows), np.array(values))
    perspective = Image.Transform.PERSPECTIVE
    return scene.transform(scene.size, perspective, tuple(back), Image.Resampling.BILINEAR, fillcolor=GROUND)
