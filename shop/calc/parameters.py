"""What a calculation asks for: one declaration gives the check, the command's and the page's input."""

import math
from abc import ABC, abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any


class InputError(ValueError):
    """A bad input, in one sentence with name, what is allowed, what came, and the unit."""

    def __init__(self, name: str, message: str) -> None:
        super().__init__(message)
        self.name = name


def _refuse(name: str, allowed: str, got: object) -> InputError:
    return InputError(name, f"{name} must be {allowed}; got {got}")


@dataclass(frozen=True, kw_only=True)
class Parameter(ABC):
    """Base of all kinds: ``title`` for people, ``setting`` the key of the shop's own limit, if any."""

    title: str
    setting: str = ""
    help: str = ""

    @property
    def unit(self) -> str:
        """The unit of the value; empty for what has none."""
        return ""

    @property
    @abstractmethod
    def allowed(self) -> str:
        """What is allowed, as it follows "must be"."""

    @abstractmethod
    def parse(self, name: str, text: str) -> Any:
        """Turn what a person typed into a value; raises InputError."""

    @abstractmethod
    def check(self, name: str, value: Any) -> Any:
        """Return the value if it is allowed; raises InputError."""


@dataclass(frozen=True, kw_only=True)
class Number(Parameter):
    """A number in ``of`` (its unit), with the range that is allowed."""

    of: str = ""
    above: float | None = None
    below: float | None = None
    at_least: float | None = None
    at_most: float | None = None
    whole: bool = False

    @property
    def unit(self) -> str:
        """The unit of the value."""
        return self.of

    @property
    def allowed(self) -> str:
        """What is allowed, as it follows "must be"."""
        words = [
            f"{word} {bound:g}{self._tail}"
            for word, bound in (
                ("above", self.above),
                ("at least", self.at_least),
                ("below", self.below),
                ("at most", self.at_most),
            )
            if bound is not None
        ]
        kind = "a whole number" if self.whole else "a number"
        if not words:
            return kind + (f" in {self.of}" if self.of else "")
        return (kind + " " if self.whole else "") + " and ".join(words)

    @property
    def _tail(self) -> str:
        return f" {self.of}" if self.of else ""

    def parse(self, name: str, text: str) -> float:
        """Read a number with a decimal point."""
        stripped = text.strip()
        try:
            number = int(stripped) if self.whole else float(stripped)
        except ValueError:
            raise _refuse(name, self.allowed, f"{text!r}") from None
        if "_" in stripped:
            raise _refuse(name, self.allowed, f"{text!r}")
        return self.check(name, number)

    def check(self, name: str, value: Any) -> float:
        """Refuse what is no finite number or lies outside the range."""
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise _refuse(name, self.allowed, f"{value!r}")
        number = value if self.whole else float(value)
        inside = (
            math.isfinite(number) and self._inside(number) and (not self.whole or float(number).is_integer())
        )
        if not inside:
            raise _refuse(name, self.allowed, f"{value:.12g}{self._tail}")
        return int(number) if self.whole else number

    def all_inside(self, values: "Sequence[Any]") -> tuple[float, ...] | None:
        """Return the values where the least and the greatest tell that all are allowed.

        None where one is not, and where only a look at each can tell.
        """
        if self.whole or not values or not {type(one) for one in values} <= {int, float}:
            return None
        numbers = tuple(map(float, values))
        # Least and greatest would hide a value that is no number; a sum with one is none either.
        inside = math.isfinite(sum(numbers)) and self._inside(min(numbers)) and self._inside(max(numbers))
        return numbers if inside else None

    def _inside(self, number: float) -> bool:
        return (
            (self.above is None or number > self.above)
            and (self.at_least is None or number >= self.at_least)
            and (self.below is None or number < self.below)
            and (self.at_most is None or number <= self.at_most)
        )


@dataclass(frozen=True, kw_only=True)
class Choice(Parameter):
    """One word of a closed list."""

    options: Sequence[str]

    @property
    def allowed(self) -> str:
        """What is allowed, as it follows "must be"."""
        return f"one of {', '.join(self.options)}"

    def parse(self, name: str, text: str) -> str:
        """Take the word as it stands, blanks around it aside."""
        return self.check(name, text.strip())

    def check(self, name: str, value: Any) -> str:
        """Refuse a word that is not in the list."""
        if not isinstance(value, str) or value not in self.options:
            raise _refuse(name, self.allowed, repr(value))
        return value


@dataclass(frozen=True, kw_only=True)
class Text(Parameter):
    """A short text; ``like`` describes it after "must be"."""

    like: str
    longest: int = 200

    @property
    def allowed(self) -> str:
        """What is allowed, as it follows "must be"."""
        return self.like

    def parse(self, name: str, text: str) -> str:
        """Take the text, blanks around it aside."""
        return self.check(name, text.strip())

    def check(self, name: str, value: Any) -> str:
        """Refuse what is empty, too long or no text."""
        if not isinstance(value, str) or not value.strip() or len(value) > self.longest:
            shown = repr(value) if len(str(value)) <= self.longest else f"{len(str(value))} characters"
            raise _refuse(name, self.allowed, shown)
        return value


@dataclass(frozen=True, kw_only=True)
class Flag(Parameter):
    """Yes or no."""

    @property
    def allowed(self) -> str:
        """What is allowed, as it follows "must be"."""
        return "yes or no"

    def parse(self, name: str, text: str) -> bool:
        """Read yes, no, true or false."""
        word = text.strip().lower()
        if word in ("yes", "true", "1", "on"):
            return True
        if word in ("no", "false", "0"):
            return False
        raise _refuse(name, self.allowed, repr(text))

    def check(self, name: str, value: Any) -> bool:
        """Refuse what is neither true nor false."""
        if not isinstance(value, bool):
            raise _refuse(name, self.allowed, repr(value))
        return value


@dataclass(frozen=True, kw_only=True)
class Numbers(Parameter):
    """A list of numbers; ``each`` declares one of them."""

    each: Number
    fewest: int = 1

    @property
    def unit(self) -> str:
        """The unit of each value."""
        return self.each.unit

    @property
    def allowed(self) -> str:
        """What is allowed, as it follows "must be"."""
        return f"a list of {self.fewest} or more numbers, each {self.each.allowed}"

    def parse(self, name: str, text: str) -> tuple[float, ...]:
        """Read numbers with blanks or line ends between them."""
        return self.check(name, [self.each.parse(name, word) for word in text.split()])

    def check(self, name: str, value: Any) -> tuple[float, ...]:
        """Refuse a list that is too short, or has a value that is not allowed."""
        if not isinstance(value, list | tuple):
            raise _refuse(name, self.allowed, repr(value))
        if len(value) < self.fewest:
            raise _refuse(name, self.allowed, f"{len(value)}")
        quick = self.each.all_inside(value)
        return tuple(self.each.check(name, one) for one in value) if quick is None else quick
