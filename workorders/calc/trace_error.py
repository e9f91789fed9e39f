"""The words in which a logger file is refused or doubted."""

from collections.abc import Sequence


class TraceError(ValueError):
    """The file cannot be read as a trace; the message is a sentence for people."""


def listed(labels: Sequence[str]) -> str:
    """Join labels as a sentence does: ``column 2, column 3 and column 4``."""
    return " and ".join([", ".join(labels[:-1]), labels[-1]] if len(labels) > 1 else labels)


def sentence(text: str) -> str:
    """Return a text with its first letter large."""
    return text[:1].upper() + text[1:]
