"""The two ways in which a write is refused."""

from collections.abc import Mapping


class RuleBroken(Exception):
    """A rule of the shop forbids this write; the message tells a person what to do.

    ``fields`` maps a form field to its message; messages without a field stand in ``message``.
    """

    def __init__(self, message: str = "", fields: Mapping[str, str] | None = None) -> None:
        self.message = message
        self.fields = dict(fields or {})
        super().__init__(message or " ".join(self.fields.values()))


class NotAllowed(Exception):
    """The person's roles do not allow this action; the message says whose do."""
