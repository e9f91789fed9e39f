"""What a step of a plan must state, and which readings it still lacks, by its kind."""

from collections.abc import Iterable

from shop.cautions import COMPRESSED_AIR
from shop.errors import RuleBroken
from shop.models import StepLimit, TestStep
from shop.step_kinds import GAS, STATED, Ask, missing_fields

NO_DEFAULT = "there is no general default."
NO_GAS = f"No compressed air or gas, only liquid. {COMPRESSED_AIR.text} Source: {COMPRESSED_AIR.source}."


def check_needs(step: TestStep) -> None:
    """Raise RuleBroken where a step does not state what its kind needs, or would be done with gas."""
    kind = step.facts
    if step.side not in kind.sides:
        raise RuleBroken(fields={"side": _sides(step)})
    refuse_gas(step, step.medium)
    if missing := {need[0]: _say(need) for need in _missing(step)}:
        raise RuleBroken(fields=missing)


def unstated(step: TestStep) -> list[str]:
    """Return what a step still has to state by its kind, in words such as ``the pressure``."""
    return [" or ".join(STATED[name] for name in need) for need in _missing(step)]


def _missing(step: TestStep) -> list[tuple[str, ...]]:
    return missing_fields(step.facts, [name for name in STATED if getattr(step, name)])


def refuse_gas(step: TestStep, medium: str) -> None:
    """Refuse compressed air and gas wherever a step puts pressure on; the reason has its source."""
    if medium == GAS and step.facts.presses:
        raise RuleBroken(fields={"medium": NO_GAS})


def _say(need: tuple[str, ...]) -> str:
    return f"State {' or '.join(STATED[name] for name in need)} for this step; {NO_DEFAULT}"


def _sides(step: TestStep) -> str:
    names = [str(TestStep.Side(side).label) for side in step.facts.sides]
    return f"A step of this kind is done on: {', '.join(names)}."


def missing_readings(step: TestStep, limits: Iterable[StepLimit]) -> list[Ask]:
    """Return the readings that the kind of a step needs and that none of its limits is."""
    return [ask for ask in open_readings(step, limits) if ask.needed]


def open_readings(step: TestStep, limits: Iterable[StepLimit]) -> list[Ask]:
    """Return every reading that its kind knows and the step has not, needed or not."""
    rows, known = list(limits), set(StepLimit.Judged.values)
    return [ask for ask in step.facts.readings if set(ask.judged) & known and not _met(ask, rows)]


def _met(ask: Ask, limits: list[StepLimit]) -> bool:
    return any(ask.is_met_by(judged=row.judged, quantity=row.quantity) for row in limits)


def require_readings(step: TestStep, limits: Iterable[StepLimit]) -> None:
    """Raise RuleBroken where a step lacks a reading that its kind needs."""
    rows = list(limits)
    if not rows:
        raise RuleBroken(f"Step {step} has no limit, so it could never pass. Give it one.")
    if missing := missing_readings(step, rows):
        names = ", ".join(f"“{ask.name}”" for ask in missing)
        raise RuleBroken(f"Step {step} is a step of the kind “{step.facts.name}” and needs: {names}.")
