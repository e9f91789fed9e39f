"""QR symbols: level, mode, quiet zone and whole dots, against an independent encoder and decoder."""

import random
from io import BytesIO

import numpy as np
import pytest
import zxingcpp
from PIL import Image

from shop.documents import paper, qr
from tests.shop.scanning import decode, opened, rendered

# ISO/IEC 18004, 7.3.4: the 45 characters of alphanumeric mode.
CHARACTERS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"
ADDRESS = "HTTPS://SVC.EXAMPLE/U/7F3K9QXM2"


def other_encoder(text):
    """Modules along one side of the symbol that the independent encoder makes at level H."""
    made = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.QRCode, ec_level="H")
    return np.asarray(made.to_image(scale=1, add_quiet_zones=False)).shape[0]


def read_back(text):
    """What the independent decoder says of the symbol in our PNG."""
    picture = np.asarray(opened(qr.png(text, dpi=203)).convert("L"))
    return zxingcpp.read_barcode(picture, zxingcpp.BarcodeFormat.QRCode)


@pytest.mark.parametrize("version", range(1, 16))
def test_a_text_takes_the_same_version_as_an_independent_encoder_gives_it(version):
    modules = qr.version_modules(version)
    fits = ("HTTPS://A.B/" * 40)[: qr.longest_text(modules)]
    assert qr.symbol(fits).modules == other_encoder(fits) == modules
    over = fits + "U"
    assert qr.symbol(over).modules == other_encoder(over) == modules + 4


def test_no_symbol_holds_a_text_longer_than_the_largest():
    most = qr.longest_text(10_000)
    assert other_encoder("A" * most) == qr.version_modules(40) == 177
    with pytest.raises(qr.QrError, match=f"holds {most + 1} characters"):
        qr.symbol("A" * (most + 1))
    assert qr.longest_text(20) == 0


def test_the_symbol_is_read_as_level_h():
    found = read_back(ADDRESS)
    assert (found.text, found.ec_level) == (ADDRESS, "H")


def test_every_character_of_the_mode_is_read_back():
    assert set(CHARACTERS) == qr.ALPHANUMERIC
    rng = random.Random(45)
    for _ in range(30):
        text = "".join(rng.sample(CHARACTERS, 45))
        assert read_back(text).text == text


@pytest.mark.parametrize("text", ["https://svc.example/u/7F3K9QXM2", "A_B", "É", "A\n", ""])
def test_a_text_outside_the_mode_is_refused(text):
    with pytest.raises(qr.QrError, match="outside alphanumeric mode"):
        qr.symbol(text)


def test_a_larger_version_can_be_asked_for_and_holds_the_same_text():
    assert [qr.symbol(ADDRESS, least).modules for least in (1, 3, 4, 5)] == [29, 29, 33, 37]
    assert decode(qr.bitmap(qr.symbol(ADDRESS, 5), module_dots=4)) == {ADDRESS}


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("module_dots", [4, 5, 7])
def test_a_png_has_whole_dots_a_white_quiet_zone_and_the_resolution(dpi, module_dots):
    image = opened(qr.png(ADDRESS, dpi=dpi, module_dots=module_dots))
    code = qr.symbol(ADDRESS)
    assert (image.mode, image.size) == ("1", ((code.modules + 8) * module_dots,) * 2)
    # PNG specification 11.3.5.3: pHYs counts pixels per metre.
    assert image.info["dpi"] == pytest.approx((dpi, dpi), abs=0.02)
    dots = np.asarray(image)
    quiet = 4 * module_dots
    inside = dots[quiet:-quiet, quiet:-quiet]
    assert (~dots).sum() == (~inside).sum() > 0
    small = inside[::module_dots, ::module_dots]
    assert np.array_equal(np.kron(small, np.ones((module_dots,) * 2, bool)), inside)
    assert np.array_equal(~small, np.array(code.rows))


def test_a_module_below_four_dots_is_refused():
    with pytest.raises(qr.QrError, match="needs 4 or more printer dots, not 3"):
        qr.png(ADDRESS, dpi=203, module_dots=3)


def drawn(module_dots, dpi):
    """A PDF with one symbol whose modules are whole dots at a resolution, corner on a whole dot."""
    stream, unit = BytesIO(), 72 / dpi
    side = (qr.symbol(ADDRESS).modules + 8) * module_dots + 20
    # A hair less than whole dots, since the renderer rounds up to whole pixels.
    canvas = paper.new_canvas(stream, size_mm=(side * 25.4 / dpi - 0.0005,) * 2, title="symbol")
    qr.draw(
        canvas,
        qr.symbol(ADDRESS),
        left_points=10 * unit,
        top_points=(side - 10) * unit,
        module_points=module_dots * unit,
    )
    canvas.save()
    return stream.getvalue()


@pytest.mark.parametrize(("module_dots", "dpi"), [(4, 203), (5, 300)])
def test_a_drawn_symbol_has_the_same_modules_as_the_png_when_rendered_at_its_resolution(module_dots, dpi):
    page = rendered(drawn(module_dots, dpi), dpi)
    side = (qr.symbol(ADDRESS).modules + 8) * module_dots
    inside = page[10 : 10 + side, 10 : 10 + side]
    expected = np.asarray(Image.open(BytesIO(qr.png(ADDRESS, dpi=dpi, module_dots=module_dots))))
    assert np.array_equal(inside > 127, expected)
    assert decode(page) == {ADDRESS}


def test_a_drawn_symbol_shows_no_hairlines_between_modules():
    """Rendered at a scale that puts edges between pixels, a solid finder eye stays solid."""
    dpi = 203 * 1.37
    page = rendered(drawn(6, 203), dpi)
    scale = dpi / 203
    eye = [round((10 + (4 + at) * 6) * scale) for at in (2, 5)]
    assert page[eye[0] + 1 : eye[1] - 1, eye[0] + 1 : eye[1] - 1].max() == 0
