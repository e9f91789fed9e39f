"""Draw the pictures of README and docs from a running demo shop: ``python -m tests.browser.screenshots``."""

import argparse
import base64
import io
import re
from pathlib import Path

import pypdfium2
from PIL import Image
from playwright.sync_api import Page, sync_playwright

from tests.browser import browsers

PLACE = Path(__file__).parents[2] / "docs" / "screenshots"
LARGEST_BYTES = 200_000
ROLE = "Lead"


def sign_in(page: Page, address: str) -> None:
    """Sign in as the lead, with the name and password that the demo's own sign-in page tells."""
    page.goto(f"{address}/sign-in/")
    row = page.get_by_role("row", name=re.compile(f"^{ROLE}"))
    name, password = row.locator("code").all_inner_texts()
    page.locator("[name=username]").fill(name)
    page.locator("[name=password]").fill(password)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("heading", level=1, name="In the shop").wait_for()


def shipped_units(page: Page, address: str) -> list[str]:
    """Return the addresses of the units shipped last."""
    page.goto(f"{address}/shipments/")
    links: list[str] = page.locator("table a.serial").evaluate_all("links => links.map(link => link.href)")
    return links


def unit_in_warranty(page: Page, address: str) -> str:
    """Return the address of the latest shipped unit whose warranty holds."""
    for link in shipped_units(page, address):
        page.goto(link)
        if "In warranty until" in page.content():
            return link
    raise LookupError("No unit of the demo is in warranty.")


def first_at(page: Page, address: str, stage: str) -> None:
    """Open the first rebuild that stands at a stage."""
    page.goto(f"{address}/?stage={stage}")
    page.locator("table a.serial").first.click()
    if page.get_by_role("link", name="Go to the open rebuild").count():
        page.get_by_role("link", name="Go to the open rebuild").click()


def unit(page: Page, address: str) -> None:
    """The page behind a label."""
    page.goto(unit_in_warranty(page, address))


def home(page: Page, address: str) -> None:
    """What is in the shop."""
    page.goto(f"{address}/")


def teardown(page: Page, address: str) -> None:
    """One place of a unit, judged by tiles."""
    first_at(page, address, "received")
    page.get_by_role("link", name="Tear down").click()
    page.locator("a.tile").first.click()
    page.get_by_role("button", name="Save and go on").wait_for()


def pressure_test(page: Page, address: str) -> None:
    """A signed test with the chart of its hold."""
    for link in shipped_units(page, address):
        page.goto(link)
        tests = page.get_by_role("link", name="See readings and chart")
        if tests.count():
            tests.first.click()
        chart = page.locator(".chart img").first
        if chart.count():
            chart.evaluate("image => image.decode()")
            page.locator("#steps").evaluate("steps => steps.scrollIntoView()")
            return
    raise LookupError("No shipped unit of the demo has a test with a chart.")


def trace(page: Page, address: str) -> None:
    """The chart of a hold, to be looked into."""
    for link in shipped_units(page, address):
        page.goto(link)
        tests = page.get_by_role("link", name="See readings and chart")
        if not tests.count():
            continue
        tests.first.click()
        whole = page.get_by_role("link", name=re.compile("^All of "))
        if whole.count():
            whole.first.click()
            page.locator(".trace-plot canvas").wait_for()
            page.wait_for_function("() => !document.querySelector('.trace-live').hasAttribute('aria-busy')")
            return
    raise LookupError("No shipped unit of the demo has a logged hold.")


def labels(page: Page, address: str) -> None:
    """The labels of a unit, on each stock."""
    page.goto(unit_in_warranty(page, address))
    page.get_by_role("link", name="Labels", exact=True).click()
    page.locator(".chart img").last.evaluate("image => image.decode()")


def rig(page: Page, address: str) -> None:
    """A rig: what it sent last, and what is mounted on it."""
    page.goto(f"{address}/rigs/")
    page.locator("tbody th a").first.click()
    page.get_by_role("heading", name="What it sent last").wait_for()


def sheet(page: Page, address: str) -> None:
    """The first page of a blank test sheet, and that of a filled one."""
    rig(page, address)
    page.get_by_role("link", name=re.compile("^Show it")).first.click()
    blank = first_page(printed(page, "Print blank sheet"))
    pressure_test(page, address)
    filled = first_page(printed(page, "Print test sheet"))
    page.set_content(f'<body bgcolor="#d5dad7"><img src="{blank}"> <img src="{filled}">')
    page.locator("img").last.evaluate("image => image.decode()")


def printed(page: Page, name: str) -> bytes:
    """Return the PDF behind a button."""
    return page.request.get(page.get_by_role("link", name=name).evaluate("link => link.href")).body()


def first_page(pdf: bytes) -> str:
    """Return the first page of a PDF as the address of a picture."""
    out = io.BytesIO()
    pypdfium2.PdfDocument(pdf)[0].render(scale=1.05).to_pil().save(out, "PNG")
    return f"data:image/png;base64,{base64.b64encode(out.getvalue()).decode()}"


# name -> what to open, width and height in CSS px
PICTURES = {
    "unit": (unit, 1280, 1100),
    "unit-phone": (unit, 390, 844),
    "home": (home, 1280, 800),
    "teardown": (teardown, 820, 1180),
    "test": (pressure_test, 1280, 1000),
    "trace": (trace, 1280, 900),
    "labels": (labels, 1280, 800),
    "rig": (rig, 1280, 1160),
    "sheet": (sheet, 1280, 905),
}


def small_png(data: bytes) -> bytes:
    """Return a screenshot with a palette, small enough for a page of text."""
    picture = Image.open(io.BytesIO(data)).convert("RGB")
    for colours in (256, 128, 64, 32):
        out = io.BytesIO()
        picture.quantize(colours, dither=Image.Dither.NONE).save(out, "PNG", optimize=True)
        if len(out.getvalue()) <= LARGEST_BYTES:
            return out.getvalue()
    raise ValueError(f"A screenshot stays above {LARGEST_BYTES} bytes; show less of the page.")


def main() -> None:
    """Take every picture from the demo that is served at ``--address``."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--address", default="http://127.0.0.1:8000")
    parser.add_argument("names", nargs="*", help=f"of {', '.join(PICTURES)}; all unless given")
    told = parser.parse_args()
    PLACE.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as playwright:
        page = browsers.launch(playwright).new_page(color_scheme="light", reduced_motion="reduce")
        sign_in(page, told.address)
        for name in told.names or PICTURES:
            show, width, height = PICTURES[name]
            page.set_viewport_size({"width": width, "height": height})
            show(page, told.address)
            page.mouse.move(0, 0)
            path = PLACE / f"{name}.png"
            path.write_bytes(small_png(page.screenshot()))
            print(f"{path.name}: {path.stat().st_size / 1000:.0f} kB")


if __name__ == "__main__":
    main()
