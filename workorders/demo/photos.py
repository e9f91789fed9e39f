"""Pictures for the demo, clearly drawn and not photographed: a box, a cylinder on a bench, a close-up."""

import io
import random
from functools import cache

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image, ImageDraw

from shop.documents.paper import BODY, bitmap_font
from workorders.demo.job import Job
from workorders.demo.world import Process, dice
from workorders.models import Finding
from workorders.services.photos import add_photo

SIZE = (960, 720)
BENCHES = ("#8d9499", "#a7a199", "#7f8b86")
METALS = ("#c9ced2", "#b7b9b4", "#9aa4ab")


def take(job: Job, moment: str, caption: str, finding: Finding | None = None) -> Process:
    """Add a drawn picture to the rebuild."""
    upload = drawn(job.throw, f"{moment}-{job.kind.code.lower()}.jpg", close_up=finding is not None)
    act = job.clerk() if moment in ("receiving", "packing") else job.bench()
    add_photo(act=act, rebuild=job.rebuild, upload=upload, moment=moment, caption=caption, finding=finding)
    yield job.minutes(1, 3)


@cache
def _port_picture() -> bytes:
    uploaded = drawn(dice("port"), "port.jpg", close_up=False)
    return bytes(uploaded.read())


def of_port() -> SimpleUploadedFile:
    """Return a picture of a port with its hose; always the same one, drawn once."""
    return SimpleUploadedFile("port.jpg", _port_picture(), content_type="image/jpeg")


def drawn(throw: random.Random, name: str, *, close_up: bool) -> SimpleUploadedFile:
    """Return a drawing as an upload: the unit as a whole, or one seal close up."""
    image = Image.new("RGB", SIZE, throw.choice(BENCHES))
    pen = ImageDraw.Draw(image)
    for _ in range(14):
        x, y, r = throw.randint(0, SIZE[0]), throw.randint(0, SIZE[1]), throw.randint(3, 26)
        pen.ellipse((x - r, y - r / 2, x + r, y + r / 2), fill="#6f6a5e")
    (_seal if close_up else _cylinder)(pen, throw)
    pen.rectangle((0, SIZE[1] - 54, SIZE[0], SIZE[1]), fill="#20282e")
    pen.text((24, SIZE[1] - 44), "drawn for the demo, not a photograph", "#ffffff", bitmap_font(BODY, 28))
    out = io.BytesIO()
    image.save(out, "JPEG", quality=80)
    return SimpleUploadedFile(name, out.getvalue(), content_type="image/jpeg")


def _cylinder(pen: ImageDraw.ImageDraw, throw: random.Random) -> None:
    metal, top = throw.choice(METALS), throw.randint(230, 330)
    pen.rectangle((120, top, 640, top + 150), fill=metal, outline="#333333", width=4)
    pen.rectangle((640, top + 50, 860, top + 100), fill="#e3e6e8", outline="#333333", width=4)
    pen.ellipse((60, top + 20, 170, top + 130), fill=metal, outline="#333333", width=4)
    pen.ellipse((95, top + 55, 135, top + 95), fill="#4a4a4a")
    for x in (230, 560):
        pen.rectangle((x, top - 46, x + 44, top), fill="#b3874a", outline="#333333", width=4)
    for _ in range(throw.randint(2, 5)):
        x = throw.randint(140, 600)
        pen.polygon(((x, top + 150), (x + 26, top + 150), (x + 13, top + 190)), fill="#4d3a22")


def _seal(pen: ImageDraw.ImageDraw, throw: random.Random) -> None:
    middle, r = (480, 330), throw.randint(190, 230)
    colour = throw.choice(("#20262a", "#2f3b2c", "#4a2c22"))
    box = (middle[0] - r, middle[1] - r, middle[0] + r, middle[1] + r)
    pen.ellipse(box, outline=colour, width=58)
    start = throw.randint(0, 300)
    pen.arc(box, start, start + throw.randint(18, 60), fill="#8a7a5a", width=22)
    pen.rectangle((60, 60, 300, 110), fill="#f4f1e6", outline="#333333", width=3)
    for mm in range(13):
        x = 72 + mm * 18
        pen.line((x, 110, x, 86 if mm % 5 else 72), fill="#333333", width=2)
