"""Text made to fit a space: shrunk first, then wrapped, and only then ended by an ellipsis."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from shop.documents.drawing import text_width

LEADING = 1.22  # line distance over em; DejaVu's accents and descenders need 1.17
ELLIPSIS = "…"


@dataclass(frozen=True)
class Sizes:
    """Heights of the em square in dots: wanted, least before lines are wrapped, least of all."""

    wanted: int
    least_unwrapped: int
    least: int


@dataclass(frozen=True)
class FittedLine:
    """One line as printed; ``first`` is where its own text began in the given lines."""

    text: str
    face: str


@dataclass(frozen=True)
class Fitted:
    """Lines of one size that fit their space."""

    lines: tuple[FittedLine, ...]
    size: int

    @property
    def leading(self) -> int:
        """Distance from baseline to baseline in dots."""
        return leading(self.size)


def leading(size: int) -> int:
    """Return the line distance in dots for a size."""
    return round(size * LEADING)


def largest_size(fits: Callable[[int], bool], start: int, least: int = 1) -> int:
    """Return the largest size from ``start`` down to ``least`` that fits, or 0 where none does."""
    return next((size for size in range(start, least - 1, -1) if fits(size)), 0)


def fit_lines(texts: Sequence[tuple[str, str]], *, width: int, height: int, sizes: Sizes) -> Fitted:
    """Fit (text, face) lines into a space in dots.

    All lines share one size. Lines that still do not fit at the least size end in an ellipsis,
    the longest first paragraph losing the most; every text keeps at least one line while the
    height allows.
    """

    def fitted(size: int, wrapped: bool) -> Fitted | None:
        paragraphs = [wrap(text, face, size, width) if wrapped else [text] for text, face in texts]
        lines = [FittedLine(line, face) for (_, face), part in zip(texts, paragraphs, strict=True) for line in part]
        fits = len(lines) * leading(size) <= height
        return Fitted(tuple(lines), size) if fits and all(_narrow(line, size, width) for line in lines) else None

    for size in range(sizes.wanted, sizes.least_unwrapped - 1, -1):
        if done := fitted(size, wrapped=False):
            return done
    for size in range(sizes.wanted, sizes.least - 1, -1):
        if done := fitted(size, wrapped=True):
            return done
    return _shortened(texts, width, height, sizes.least)


def wrap(text: str, face: str, size: int, width: int) -> list[str]:
    """Break a text into lines no wider than ``width`` dots; a word too long is broken inside."""
    lines = [""]
    for word in text.split():
        joined = f"{lines[-1]} {word}".strip()
        if text_width(joined, face, size) <= width:
            lines[-1] = joined
            continue
        lines.append("")
        for sign in word:
            if lines[-1] and text_width(lines[-1] + sign, face, size) > width:
                lines.append("")
            lines[-1] += sign
    return [line for line in lines if line]
