"""Listening to a page: anything that its console calls an error fails the test."""

from playwright.sync_api import BrowserContext, ConsoleMessage, Page

# A refused form is answered with 422, which the browser notes as a failed load.
DESIGNED = ("the server responded with a status of 422",)


class Watch:
    """The errors of all pages of some contexts: script errors, failed loads, policy violations."""

    def __init__(self) -> None:
        self.errors: list[str] = []
        self.expected: tuple[str, ...] = DESIGNED

    def over(self, context: BrowserContext) -> None:
        """Listen to every page that the context opens."""
        context.on("page", self._page)

    def _page(self, page: Page) -> None:
        page.on("console", self._console)
        page.on("pageerror", lambda error: self.errors.append(f"{page.url}: {error}"))

    def _console(self, message: ConsoleMessage) -> None:
        if message.type == "error" and not any(words in message.text for words in self.expected):
            self.errors.append(f"{message.location.get('url', '')}: {message.text}")

    def take(self) -> list[str]:
        """Return the errors since the last call."""
        found, self.errors = self.errors, []
        return found
