"""Every page of shop and stores as the lead sees it; those of the work are in test_pages_look_work.py."""

import pytest

from tests.browser import looks
from tests.browser.pages_site import NOBODY, PAGES, named, pages_of

BAD_PAGE = """<!DOCTYPE html><html lang="en"><head><title>Bad</title></head><body><main><h1>Bad</h1>
<p style="color:#bbb;background:#fff">Pale words</p>
<input type="text">
<a href="#1" style="position:absolute;left:8px;top:300px;width:12px;height:12px;display:block">a</a>
<a href="#2" style="position:absolute;left:22px;top:300px;width:12px;height:12px;display:block">b</a>
<button data-primary style="width:60px;height:60px">Sign</button>
<div style="width:900px">wide</div>
<style>:focus { outline: none }</style>
<h1>Twice</h1>
<div style="position:fixed;bottom:0;left:0;right:0;height:40vh;background:#fff">Bar</div>
<p style="height:150vh"></p><a href="#3">At the end</a>
</main></body></html>"""


@pytest.mark.parametrize("place", pages_of("shop", "inventory"), ids=named)
def test_a_page_is_sound_at_three_widths_in_two_themes(site, place):
    page = site.open(site.examples[place].address)
    found = site.faults(looks.faults(page, place))
    assert not found, found


def test_each_page_is_in_one_of_the_two_files():
    assert sorted(pages_of("shop", "inventory") + pages_of("workorders")) == PAGES


def test_a_bad_page_is_found_out(site):
    page = site.pages[NOBODY]
    page.goto("about:blank")
    page.set_content(BAD_PAGE)
    found = "\n".join(looks.faults(page))
    for fault in (
        "axe color-contrast",
        "axe label",
        "axe target-size",
        "is 60.0 x 60.0, not 104 x 104",
        "is 12.0 x 12.0, not 48 x 48",
        "390 light: the page scrolls sideways",
        "320: the page scrolls sideways",
        "2 h1",
        "shows no focus",
        "is covered while it has the focus",
    ):
        assert fault in found, f"{fault}\n{found}"


def test_the_watch_hears_a_policy_violation_and_a_script_error(site):
    page = site.open("/")
    page.evaluate("document.body.setAttribute('style', 'color: red')")
    page.evaluate("setTimeout(() => { throw new Error('thrown on purpose') })")
    page.wait_for_timeout(100)
    said = "\n".join(site.watch.take())
    assert "Content Security Policy" in said
    assert "thrown on purpose" in said
