"""The kinds of test step, as data: a plan, its editor, the bench and the papers all read them here."""

from collections.abc import Mapping

from .cylinders import CYLINDERS
from .kind import GAS, LIQUID, STATED, Ask, Code, Condition, StepKind, missing_fields
from .power_units import POWER_UNITS

__all__ = [
    "GAS",
    "KINDS",
    "LIQUID",
    "STATED",
    "Ask",
    "Code",
    "Condition",
    "StepKind",
    "choices",
    "kind_of",
    "missing_fields",
]

KINDS: Mapping[Code, StepKind] = {kind.code: kind for kind in (*CYLINDERS, *POWER_UNITS)}


def kind_of(code: str) -> StepKind:
    """Return a kind by its stored code; KeyError for another word."""
    return KINDS[Code(code)]


def choices() -> list[tuple[str, str]]:
    """Return code and name of every kind, for a field of a model."""
    return [(code.value, kind.name) for code, kind in KINDS.items()]
