"""A served world with a browser page for each role, for the tests that look at every page."""

import re

from django.urls import URLResolver, get_resolver

from shop.roles import ACTIONS, LEAD, ROLES
from tests.browser import looks
from tests.browser.serving import signed_in
from tests.browser.watching import Watch
from tests.every_address import PAGE, TABLE, addresses

NOBODY = "nobody"
PAGES = [place for place, line in enumerate(TABLE) if line.kind == PAGE]


def pages_of(*apps):
    """Return the places of the pages of some apps; a file of tests for each lets them run side by side."""
    return [place for place in PAGES if TABLE[place].name.split(":")[0] in apps]


def named(place):
    """The name under which a page stands in the list of tests."""
    return f"{TABLE[place].name}-{place}"


def actions(patterns=None, space=""):
    """Return the action that each URL pattern asks for, by the pattern's name."""
    found = {}
    for entry in get_resolver().url_patterns if patterns is None else patterns:
        if isinstance(entry, URLResolver):
            found |= actions(entry.url_patterns, f"{entry.namespace}:" if entry.namespace else space)
        else:
            found[space + entry.name] = getattr(entry.callback, "action", None)
    return found


def may_see():
    """Return (place in the table, role) for every page and one role that may open it, taken in turn.

    A page that asks for no action is open to everybody. The lead sees every page elsewhere; that
    each role may open it, and no other, is asked without a browser for all of them.
    """
    asked = actions()
    pairs = []
    for turn, place in enumerate(PAGES):
        allowed = ACTIONS[asked[TABLE[place].name] or "see"][1]
        others = [role for role in ROLES if role != LEAD and role in allowed]
        if others:
            pairs.append((place, others[turn % len(others)]))
    return pairs


# What differs between two showings of one page without changing its look.
PASSING = re.compile(
    r'name="(csrfmiddlewaretoken|form_token)" value="[^"]*"|Robin [A-Z][a-z ]+|Warranty Desk'
)


class Site:
    """The served world, a browser page for each role, and what their consoles say."""

    def __init__(self, browser, server, world):
        self.server, self.world, self.watch = server, world, Watch()
        self.examples = addresses(world)
        self.contexts = {role: signed_in(browser, server, world.people[role]) for role in ROLES}
        self.contexts[NOBODY] = browser.new_context(reduced_motion="reduce")
        for context in self.contexts.values():
            self.watch.over(context)
        self.pages = {role: context.new_page() for role, context in self.contexts.items()}

    def open(self, address, role=LEAD, status=200):
        page = self.pages[role]
        page.set_viewport_size({"width": 820, "height": looks.WIDTHS[820]})
        page.emulate_media(color_scheme="light")
        answer = page.goto(self.server.url + address)
        assert answer.status == status, f"{address} gave {answer.status}"
        assert "/sign-in/" not in page.url or role == NOBODY, f"{address} asks {role} to sign in"
        return page

    def is_as_for_the_lead(self, address, role):
        """Whether a role sees below the header what the lead sees, whose pages are judged elsewhere."""
        return self.main_of(address, role) == self.main_of(address, LEAD)

    def main_of(self, address, role):
        """Return the document of a page from its main part on, without what differs at each showing."""
        answer = self.contexts[role].request.get(self.server.url + address)
        assert answer.status == 200, f"{address} gave {role} {answer.status}"
        return PASSING.sub("", answer.text()).partition("<main")[2]

    def on_a_tablet(self, page, turn):
        """Judge the page on a tablet, by axe in every other turn."""
        looks.arm(page)
        rules_at = (820,) if turn % 2 == 0 else ()
        return looks.measured(page, "headings") + looks.faults_at(page, 820, "light", rules_at)

    def faults(self, found):
        """Add what the consoles said since the last call."""
        return "\n".join([*found, *self.watch.take()])

    def close(self):
        for context in self.contexts.values():
            context.close()
