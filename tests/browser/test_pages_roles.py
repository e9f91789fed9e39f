"""Every page as another role sees it, and pages for strangers, refusals and refused forms."""

import pytest
from django.urls import reverse

from shop.roles import LEAD
from tests.browser import looks
from tests.browser.pages_site import NOBODY, may_see, named
from tests.browser.watching import DESIGNED


@pytest.mark.parametrize(
    ("place", "role"), may_see(), ids=lambda value: named(value) if isinstance(value, int) else value
)
def test_a_page_is_sound_for_a_role_that_may_see_it(site, place, role):
    """What the role is shown as the lead is shown it was judged there; only the rest is looked at."""
    address = site.examples[place].address
    if not site.is_as_for_the_lead(address, role):
        found = site.faults(site.on_a_tablet(site.open(address, role), place))
        assert not found, found


def test_what_only_the_lead_is_offered_makes_a_page_another_one(site):
    assert site.is_as_for_the_lead("/ledger/", "bench")
    assert not site.is_as_for_the_lead("/customers/", "stores")


@pytest.mark.parametrize(
    ("role", "address", "status"),
    [
        (NOBODY, lambda w: "/sign-in/", 200),
        (NOBODY, lambda w: w.shipped.unit.get_absolute_url(), 200),
        (NOBODY, lambda w: w.received.unit.get_absolute_url(), 200),
        (NOBODY, lambda w: "/u/0000", 404),
        (LEAD, lambda w: "/u/0000", 404),
        (LEAD, lambda w: "/no-such-page/", 404),
        (LEAD, lambda w: f"/rebuilds/{w.received.pk}/as-found.pdf", 404),
        ("stores", lambda w: "/receive/", 403),
        ("stores", lambda w: f"/rebuilds/{w.received.pk}/teardown/debris/", 403),
    ],
    ids=lambda value: "address" if callable(value) else str(value),
)
def test_pages_for_strangers_and_refusals_are_sound(site, role, address, status):
    site.watch.expected = (*DESIGNED, f"status of {status}")
    page = site.open(address(site.world), role, status)
    found = site.faults(looks.faults(page))
    site.watch.expected = DESIGNED
    assert not found, found


@pytest.mark.parametrize(
    "address",
    [
        lambda w: "/customers/new/",
        lambda w: f"/rebuilds/{w.received.pk}/teardown/position/{w.finding.position_id}/",
        lambda w: f"/work-orders/{w.received.work_order.number}/units/new/{w.revision.unit_type_id}/",
        lambda w: f"/rebuilds/{w.quoted.pk}/go-ahead/",
        lambda w: f"/tests/{w.running.pk}/steps/{w.hold.order}/",
        lambda w: reverse("shop:step_new", args=[w.draft_plan.pk]) + "?kind=hold",
        lambda w: "/receive-lot/",
    ],
    ids=lambda value: "address" if callable(value) else str(value),
)
def test_a_refused_form_is_sound_and_takes_the_focus(site, address):
    page = site.open(address(site.world))
    with page.expect_navigation():
        page.evaluate("document.querySelector('main form.form').submit()")
    focused = page.evaluate("document.activeElement.closest('.error-summary, .has-error') !== null")
    found = site.faults(looks.faults(page))
    assert focused, "the focus is not at the error"
    assert not found, found
