"""The running test: which step is in turn, and where the whole test stands."""

from collections.abc import Iterable
from dataclasses import dataclass

from shop.errors import RuleBroken
from shop.models import TestStep
from shop.services.writing import locked
from workorders.models import LoggerFile, PressureTest, StepResult
from workorders.services.readings import worst
from workorders.services.standing import open_rebuild


@dataclass(frozen=True, kw_only=True)
class StepState:
    """One step of the plan with its result, and whether it is the next to be recorded."""

    step: TestStep
    result: StepResult | None
    is_next: bool

    @property
    def can_be_recorded(self) -> bool:
        """Whether every earlier step has its result."""
        return self.is_next or self.result is not None

    @property
    def what(self) -> str:
        """Kind, side, and what the step states, in words, without what the title says already."""
        step = self.step
        parts = [str(step.get_kind_display()), str(step.get_side_display()) if step.side else ""]
        parts = [part for part in parts if part.lower() not in ("", step.title.lower())]
        if step.pressure_bar is not None:
            parts.append(f"{step.pressure_bar:g} bar")
        if step.hold_s is not None:
            parts.append(f"hold {step.hold_s:g} s")
        return ", ".join([*parts, *step.stated])


@dataclass(frozen=True, kw_only=True)
class TestState:
    """Where a test stands; its verdict counts only when it is complete."""

    __test__ = False  # not a pytest class

    steps: list[StepState]

    @property
    def missing(self) -> list[TestStep]:
        """Steps without a result."""
        return [state.step for state in self.steps if state.result is None]

    @property
    def is_complete(self) -> bool:
        """Whether every step has its result."""
        return not self.missing

    @property
    def verdict(self) -> str:
        """The worst of the steps recorded so far; empty while there is none."""
        return worst([state.result.verdict for state in self.steps if state.result])

    @property
    def next_step(self) -> TestStep | None:
        """The first step without a result."""
        return next(iter(self.missing), None)


def state_of(test: PressureTest) -> TestState:
    """Return every step of the plan in order, with its result and readings."""
    results = test.results.select_related("step", "done_by", "photo").prefetch_related(
        "readings__limit", "readings__instrument", "readings__second_instrument", "readings__trace__file"
    )
    return _state(results, test.plan.steps.prefetch_related("limits"))


def progress_of(test: PressureTest) -> TestState:
    """Return every step of the plan in order with its result alone: enough to judge the whole test."""
    return _state(test.results.order_by(), test.plan.steps.all())


def unused_files(test: PressureTest, state: TestState) -> list[LoggerFile]:
    """Return the logger files handed in for a test that no reading rests on."""
    readings = [one for each in state.steps if each.result for one in each.result.readings.all()]
    used = {reading.trace.file_id for reading in readings if getattr(reading, "trace", None)}
    blanks = {(reading.observed.get("blank") or {}).get("sha256") for reading in readings}
    rows = test.logger_files.select_related("file", "limit__step", "by", "instrument", "from_rig__rig")
    return [row for row in rows if row.file_id not in used and row.file.sha256 not in blanks]


def _state(results: Iterable[StepResult], steps: Iterable[TestStep]) -> TestState:
    done = {result.step_id: result for result in results}
    ordered = list(steps)
    missing = [step for step in ordered if step.pk not in done]
    return TestState(
        steps=[
            StepState(step=step, result=done.get(step.pk), is_next=missing[:1] == [step]) for step in ordered
        ]
    )


def running_test(test: PressureTest) -> PressureTest:
    """Read a test again and hold it; call inside a service.

    Raises RuleBroken where it is signed or superseded, or its rebuild is closed or released.
    """
    row = locked(test, fixed=("plan", "rebuild", "rig_fluid", "started_by"))
    if row.state != PressureTest.State.RUNNING:
        raise RuleBroken(
            f"This test is {row.get_state_display()} and is never changed. "
            "Supersede it with a reason and start a new one."
        )
    row.rebuild = open_rebuild(row.rebuild)
    return row


def step_in_turn(test: PressureTest, step: TestStep) -> StepState:
    """Return the state of one step; raise RuleBroken where an earlier one has no result yet."""
    state = progress_of(test)
    found = next((each for each in state.steps if each.step.pk == step.pk), None)
    if found is None:
        raise RuleBroken(f"{step} is not a step of the plan of this test.")
    if not found.can_be_recorded:
        raise RuleBroken(f"Record step {state.next_step} first; steps are done in the order of the plan.")
    return found
