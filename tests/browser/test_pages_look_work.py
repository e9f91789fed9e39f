"""Every page of the work as the lead sees it: contrast, names, sizes, scrolling, headings, focus, themes."""

import pytest

from tests.browser import looks
from tests.browser.pages_site import named, pages_of


@pytest.mark.parametrize("place", pages_of("workorders"), ids=named)
def test_a_page_is_sound_at_three_widths_in_two_themes(site, place):
    page = site.open(site.examples[place].address)
    found = site.faults(looks.faults(page, place))
    assert not found, found
