"""Every URL pattern has an example address; test_pages.py asks each of them."""

import pytest
from django.urls import path

from tests import every_address


def test_a_pattern_without_an_example_is_named():
    class NoRows:
        """Stands for a world: it is not asked before the names are compared."""

    patterns = [path("a-new-page/", lambda request: None, name="a_new_page")]
    with pytest.raises(LookupError, match="a_new_page"):
        every_address.addresses(NoRows(), patterns)
