"""Judging a page that is open in the browser: axe, sizes, scrolling, headings and focus."""

from collections.abc import Collection
from pathlib import Path
from typing import Any

from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Page

MEASURE = (Path(__file__).parent / "measure.js").read_text()
WIDTHS = {1280: 800, 820: 1180, 390: 844}  # laptop, tablet, phone; width: height, CSS px
NARROWEST = (320, 568)  # WCAG 2.2, 1.4.10 Reflow
THEMES = ("light", "dark")
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22a", "wcag22aa"]
# ``preload`` would fetch the style sheets again, for a rule that is not among the tags.
OPTIONS = {"runOnly": TAGS, "resultTypes": ["violations"], "preload": False}


# The theme changes colours and nothing else: the second theme is asked for these.
COLOUR_RULES = ["color-contrast", "link-in-text-block"]
# A tablet shows the laptop's page, narrower: sizes and scrolling differ there, names and colours do not.
# Axe is slow, and what pages share is on many of them: they take turns between laptop and phone.
TURNS = (max(WIDTHS), min(WIDTHS))


def arm(page: Page) -> None:
    """Load axe and the measurements into the page that is open."""
    page.evaluate(AXE_SCRIPT)
    page.evaluate(MEASURE)


def axe(page: Page, rules: list[str] | None = None) -> list[str]:
    """Return what axe finds by all rules of the tags, or by some; one line for each rule."""
    asked = {**OPTIONS, "runOnly": {"type": "rule", "values": rules}} if rules else OPTIONS
    found: dict[str, Any] = page.evaluate("options => axe.run(options)", asked)
    return [
        f"axe {rule['id']}: {rule['help']}: "
        + "; ".join(f"{node['target']} {node.get('failureSummary', '')[:200]}" for node in rule["nodes"][:3])
        for rule in found["violations"]
    ]


def measured(page: Page, what: str) -> list[str]:
    """Return the faults of one measurement: sizes, overflow, headings or focus."""
    faults: list[str] = page.evaluate(f"measure.{what}()")
    return faults


def faults_at(page: Page, width: int, theme: str, rules_at: Collection[int] = tuple(WIDTHS)) -> list[str]:
    """Set width and theme without loading the page again, and return every fault that shows there.

    All rules of axe are asked for at the widths ``rules_at``; sizes and scrolling at every width.
    """
    page.set_viewport_size({"width": width, "height": WIDTHS[width]})
    page.emulate_media(color_scheme=theme)
    if theme != THEMES[0]:
        found = axe(page, COLOUR_RULES)
    else:
        found = axe(page) if width in rules_at else []
        found += measured(page, "sizes") + measured(page, "overflow")
    return [f"{width} {theme}: {fault}" for fault in found]


def faults(page: Page, turn: int = 0) -> list[str]:
    """Return every fault of the page at all widths, and of its colours in both themes.

    In even turns axe sees the light theme on a laptop and the dark one on a phone, in odd turns
    the other way round.
    """
    arm(page)
    found = measured(page, "headings")
    light, dark = TURNS if turn % 2 == 0 else TURNS[::-1]
    for width in WIDTHS:
        found += faults_at(page, width, THEMES[0], (light,))
    found += faults_at(page, dark, THEMES[1])
    page.set_viewport_size({"width": NARROWEST[0], "height": NARROWEST[1]})
    found += [f"320: {fault}" for fault in measured(page, "overflow")]
    return found + focus_faults(page)


def focus_faults(page: Page) -> list[str]:
    """Return what is wrong with the keyboard focus, on a laptop, a tablet and a phone."""
    found = []
    for width, height in WIDTHS.items():
        page.set_viewport_size({"width": width, "height": height})
        page.keyboard.press("Tab")
        found += [f"{width}: {fault}" for fault in measured(page, "focus")]
    return found
