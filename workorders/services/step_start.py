"""The start of a test step: what must be confirmed before pressure goes on, and what is refused."""

from collections.abc import Collection, Iterable

from shop.calc.cylinder import intensified_pressure
from shop.errors import RuleBroken
from shop.models import TestStep, TypeRevision, UnitType
from shop.services.plan_steps import refuse_gas
from shop.services.writing import Act, keep, service
from shop.step_kinds import LIQUID, Code
from workorders.models import PressureTest, StepConfirmation, StepResult
from workorders.services.running import running_test, step_in_turn

RodPort = StepConfirmation.RodPort
SHUT = (RodPort.PLUGGED, RodPort.RELIEVED)


def condition_field(key: str) -> str:
    """Return the name under which a page asks for one condition."""
    return f"confirm-{key}"


def asks_rod_port(revision: TypeRevision, step: TestStep) -> bool:
    """Whether a step may put pressure on the bore side of a unit with a rod.

    A step that does not say its side may; one on the rod side alone does not.
    """
    has_rod = revision.rod_mm is not None or revision.unit_type.family == UnitType.Family.CYLINDER
    sides = (TestStep.Side.BORE, TestStep.Side.BOTH, TestStep.Side.NONE)
    return step.facts.presses and step.side in sides and has_rod


def needs_start(revision: TypeRevision, step: TestStep) -> bool:
    """Whether something is confirmed before a step may be recorded."""
    kind = step.facts
    return bool(kind.conditions) or kind.relief_required or asks_rod_port(revision, step)


def raised_bar(revision: TypeRevision, pressure_bar: float | None) -> float | None:
    """Return what a plugged rod port would see [bar]; None without a pressure, a bore or a rod."""
    if not (pressure_bar and revision.bore_mm and revision.rod_mm):
        return None
    return intensified_pressure(pressure_bar=pressure_bar, bore_mm=revision.bore_mm, rod_mm=revision.rod_mm)


def raised_sentence(revision: TypeRevision, step: TestStep) -> str:
    """Say what a plugged rod port would see at this step."""
    raised = raised_bar(revision, step.pressure_bar)
    if raised is None:
        return (
            "A plugged rod port would see more than the bore side; how much cannot be said, since the "
            "step has no pressure or the type has no bore and rod"
        )
    return f"With {step.pressure_bar:g} bar on the bore side a plugged rod port would see {raised:.0f} bar"


def standing_start(test: PressureTest, step: TestStep) -> StepConfirmation | None:
    """Return the latest start of a step; None where it has none."""
    return StepConfirmation.objects.filter(pressure_test=test, step=step).order_by("-pk").first()


def starts_of(test: PressureTest) -> list[StepConfirmation]:
    """Return every start of a test in order, with who."""
    return list(test.confirmations.select_related("by").order_by("pk"))


def start_of(result: StepResult, starts: Iterable[StepConfirmation]) -> StepConfirmation | None:
    """Return the start that a result rests on: the latest that is not after it."""
    before = [row for row in starts if row.step_id == result.step_id and row.at <= result.done_at]
    return before[-1] if before else None


@service("test")
def start_step(
    *,
    act: Act,
    test: PressureTest,
    step: TestStep,
    conditions: Collection[str] = (),
    medium: str = LIQUID,
    rod_port: str = "",
    relief_bar: float | None = None,
    relief_by: str = "",
) -> StepConfirmation:
    """Confirm what must be so before a step; without it the step cannot be recorded.

    ``conditions`` are the keys that were ticked. Raises RuleBroken while one is missing, for gas,
    for a plugged rod port without a relief path, for a relief above what the rod side or the
    fixture may see, and where the step is not in turn.
    """
    row = running_test(test)
    own = step_in_turn(row, step).step
    revision, kind = row.rebuild.revision, own.facts
    _refuse_gas_now(own, medium)
    missing = [each for each in kind.conditions if each.key not in conditions]
    if missing:
        raise RuleBroken(fields={condition_field(each.key): "Not confirmed yet." for each in missing})
    asked = asks_rod_port(revision, own)
    relief_by = relief_by.strip()
    if asked:
        _check_rod_port(revision, own, rod_port, relief_bar, relief_by)
    if kind.relief_required:
        _check_fixture(own, relief_bar, relief_by)
    relieved = kind.relief_required or (asked and rod_port in SHUT)
    return keep(
        StepConfirmation(
            pressure_test=row,
            step=own,
            conditions=[{"key": each.key, "sentence": each.sentence} for each in kind.conditions],
            medium=medium if kind.presses else "",
            rod_port=rod_port if asked else "",
            raised_bar=raised_bar(revision, own.pressure_bar) if asked else None,
            relief_bar=relief_bar if relieved else None,
            relief_by=relief_by if relieved else "",
            by=act.by,
            at=act.at,
        )
    )


def require_started(test: PressureTest, step: TestStep) -> None:
    """Raise RuleBroken where a step is recorded that was not started, or that gas would do."""
    _refuse_gas_now(step, step.medium)
    if needs_start(test.rebuild.revision, step) and standing_start(test, step) is None:
        raise RuleBroken(
            f"Step {step} is not started yet: confirm first what must be so before pressure goes on."
        )


def _refuse_gas_now(step: TestStep, medium: str) -> None:
    for each in (medium, step.medium):
        refuse_gas(step, each)


def _check_rod_port(
    revision: TypeRevision, step: TestStep, rod_port: str, relief_bar: float | None, relief_by: str
) -> None:
    sentence = raised_sentence(revision, step)
    if rod_port not in RodPort.values or not rod_port:
        raise RuleBroken(fields={"rod_port": f"Say how the rod port stands. {sentence}."})
    if rod_port not in SHUT:
        return
    if not relief_bar:
        name = "rod_port" if rod_port == RodPort.PLUGGED else "relief_bar"
        advice = "Open it to the tank, or record the relief path: at how many bar it opens, and what it is"
        raise RuleBroken(fields={name: f"{sentence}. {advice}."})
    _check_relief(relief_bar, relief_by)
    allowed, basis = _allowed(revision, step)
    if allowed is None:
        message = "The type has neither a rated nor a proof pressure: open the rod port to the tank."
        raise RuleBroken(fields={"relief_bar": message})
    if relief_bar > allowed:
        raise RuleBroken(
            fields={
                "relief_bar": f"The rod side may see {allowed:g} bar ({basis}); a relief at "
                f"{relief_bar:g} bar lets more through. {sentence}."
            }
        )


def _allowed(revision: TypeRevision, step: TestStep) -> tuple[float | None, str]:
    """Return what the rod side may see [bar] at a step, and why: the proof only at a proof step."""
    rated = (revision.rated_pressure_bar, "rated pressure of the type")
    proof = (revision.proof_pressure_bar, f"proof of the type: {revision.proof_basis}")
    first, then = (proof, rated) if step.kind == Code.PROOF else (rated, proof)
    return first if first[0] is not None else then


def _check_fixture(step: TestStep, relief_bar: float | None, relief_by: str) -> None:
    """Check the relief that guards a fixture against what the step says of it."""
    if not relief_bar:
        message = "Record the relief of the fixture: at how many bar it opens, and what it is."
        raise RuleBroken(fields={"relief_bar": message})
    _check_relief(relief_bar, relief_by)
    if step.relief_bar is not None and relief_bar > step.relief_bar:
        message = f"The plan lets the relief open at {step.relief_bar:g} bar at most."
        raise RuleBroken(fields={"relief_bar": message})
    if step.pressure_bar is not None and relief_bar < step.pressure_bar:
        message = f"It would open below the {step.pressure_bar:g} bar of the step."
        raise RuleBroken(fields={"relief_bar": message})


def _check_relief(relief_bar: float, relief_by: str) -> None:
    if not relief_bar > 0:
        raise RuleBroken(fields={"relief_bar": "A relief opens above 0 bar."})
    if not relief_by:
        raise RuleBroken(fields={"relief_by": "Say what relieves it, such as the valve and its number."})
