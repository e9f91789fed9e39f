"""What the pages of the test bench share: the test with its open step, and its cautions."""

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, render

from shop.calc.cylinder import intensified_pressure
from shop.errors import RuleBroken
from shop.models import StepLimit, TestPlan
from shop.roles import may, refusal
from shop.views.answers import act_of, show_rule
from workorders.documents import cautions
from workorders.forms.step import ChoicesForm, StepForm, UploadForm, initial_of
from workorders.models import Instrument, LoggerFile, PressureTest, Rebuild
from workorders.services.instruments import calibration_state, shop_day
from workorders.services.logger_files import Choices, Proposal, propose
from workorders.services.running import StepState, TestState, state_of
from workorders.services.standing import current_test

SHOWN_CAUTIONS = (
    cautions.STORED_PRESSURE,
    cautions.INJECTION,
    cautions.INTENSIFICATION,
    cautions.COMPRESSED_AIR,
)


@dataclass(frozen=True, kw_only=True)
class ShownFile:
    """A logger file shown for confirmation: how it is read, and the form that changes it."""

    limit: StepLimit
    logger_file: LoggerFile
    form: ChoicesForm
    proposal: Proposal | None
    hidden: list[tuple[str, Any]]

    @property
    def query(self) -> str:
        """The reading as shown, as the query of an address."""
        query = QueryDict(mutable=True)
        query.update({name: str(value) for name, value in self.hidden})
        return query.urlencode()


@dataclass(frozen=True, kw_only=True)
class OpenStep:
    """The step that stands open: its state, readings, logger files, and form."""

    state: StepState
    limits: list[StepLimit]
    files: list[ShownFile]
    uploads: list[tuple[StepLimit, UploadForm, list[LoggerFile]]]
    form: StepForm


def test_cautions(rebuild: Rebuild, plan: TestPlan | None) -> dict[str, Any]:
    """Return the cautions of the bench, with the pressure that intensification would make."""
    revision = rebuild.revision
    pressures = [step.pressure_bar for step in plan.steps.all() if step.pressure_bar] if plan else []
    highest = max(pressures, default=revision.proof_pressure_bar)
    raised = None
    if highest and revision.bore_mm and revision.rod_mm:
        raised = intensified_pressure(pressure_bar=highest, bore_mm=revision.bore_mm, rod_mm=revision.rod_mm)
    return {
        "cautions": SHOWN_CAUTIONS,
        "deference": cautions.DEFERENCE,
        "highest_bar": highest,
        "raised_bar": raised,
    }


test_cautions.__test__ = False  # type: ignore[attr-defined]  # not a pytest function


def step_of(test: PressureTest, order: int) -> StepState:
    """Return the step of a plan by its place; 404 where there is none."""
    found = next((each for each in state_of(test).steps if each.step.order == order), None)
    if found is None:
        raise Http404("The plan has no such step.")
    return found


def open_step(request: HttpRequest, test: PressureTest, state: StepState) -> OpenStep:
    """Build the open step from what the request carries: a logger file shown, entries sent."""
    posted = request.method == "POST"
    data = request.POST if posted else request.GET
    limits = list(state.step.limits.all())
    handed_in = list(test.logger_files.filter(limit__in=limits).select_related("file", "by", "instrument"))
    files = [shown for limit in limits if (shown := shown_file(request, test, limit, data))]
    states = instrument_states(request)
    chosen = {shown.limit.pk for shown in files}
    form = StepForm(
        request.POST if posted else None,
        request.FILES if posted else None,
        limits=limits,
        proposals={shown.limit.pk: shown.proposal for shown in files if shown.proposal},
        states=states,
        again=state.result is not None,
        initial=initial_of(state.result),
    )
    uploads = [
        (limit, UploadForm(limit=limit, states=states), [f for f in handed_in if f.limit_id == limit.pk])
        for limit in limits
        if limit.judged == StepLimit.Judged.DECAY and limit.pk not in chosen
    ]
    return OpenStep(state=state, limits=limits, files=files, uploads=uploads, form=form)


def instrument_states(request: HttpRequest) -> dict[int, str]:
    """Return what stands against each instrument today, by key; good ones are left out."""
    today = shop_day(act_of(request))
    rows = Instrument.objects.filter(retired=False).prefetch_related("calibrations")
    states = {row.pk: calibration_state(row, today) for row in rows}
    return {pk: state.word for pk, state in states.items() if not state.is_valid}


def shown_file(
    request: HttpRequest, test: PressureTest, limit: StepLimit, data: Mapping[str, Any]
) -> ShownFile | None:
    """Return the logger file that a request shows for one reading; None where it shows none."""
    if f"r{limit.pk}-file" not in data:
        return None
    asked = ChoicesForm(data, limit=limit)
    valid = asked.is_valid()
    rows = LoggerFile.objects.select_related("file", "instrument", "limit__step", "by")
    row = get_object_or_404(rows, pk=asked.cleaned_data.get("file"), pressure_test=test, limit=limit)
    choices = asked.choices if valid else None
    proposal = _proposal(request, row, asked, choices) if choices else None
    if proposal is None:
        return ShownFile(
            limit=limit, logger_file=row, form=_bound(request, row, asked), proposal=None, hidden=[]
        )
    form = ChoicesForm(limit=limit, columns=columns_of(proposal), initial=shown_values(proposal))
    hidden = [(form.add_prefix(name), value) for name, value in shown_values(proposal).items()]
    return ShownFile(limit=limit, logger_file=row, form=form, proposal=proposal, hidden=hidden)


def _proposal(request: HttpRequest, row: LoggerFile, asked: ChoicesForm, choices: Choices) -> Proposal | None:
    """Read the file by the choices; where they do not fit it, say so in the form."""
    try:
        return propose(row, choices, act_of(request))
    except RuleBroken as error:
        names = {name.removeprefix(f"{asked.prefix}-"): text for name, text in error.fields.items()}
        show_rule(asked, RuleBroken(error.message, names))
        return None


def _bound(request: HttpRequest, row: LoggerFile, asked: ChoicesForm) -> ChoicesForm:
    """Offer the file's own columns in a form that carries errors."""
    with suppress(RuleBroken):
        asked.offer(columns_of(propose(row, Choices(), act_of(request))))
    return asked


def columns_of(proposal: Proposal) -> list[tuple[int, str]]:
    """Return the columns of a file, to be chosen from."""
    return [(column.index, column.label) for column in proposal.trace.columns]


def shown_values(proposal: Proposal) -> dict[str, Any]:
    """Return the reading of a logger file as it is shown, by field."""
    mapping, fit = proposal.trace.mapping, proposal.evaluated.fit
    return {
        "file": proposal.logger_file.pk,
        "start": fit.start_s,
        "end": fit.end_s,
        "time": mapping.time_column,
        "time_unit": mapping.time_unit,
        "pressure": mapping.pressure_column,
        "pressure_unit": mapping.pressure_unit,
    }


def render_test(
    request: HttpRequest, test: PressureTest, opened: OpenStep | None = None, status: int = 200
) -> HttpResponse:
    """Render a test; ``opened`` is the open step, else the next one stands open while it runs."""
    state = state_of(test)
    may_test = may(request.user, "test")
    running = test.state == PressureTest.State.RUNNING and test.rebuild.is_open
    if opened is None and running and may_test:
        following = next((each for each in state.steps if each.is_next), None)
        opened = open_step(request, test, following) if following else None
    context = {
        "test": test,
        "state": state,
        "open": opened,
        "running": running,
        "may_test": may_test,
        "refusal": refusal(request.user, "test"),
        "others": test.rebuild.pressure_tests.exclude(pk=test.pk).order_by("number"),
        "current": current_test(test.rebuild),
        "unused": unused_files(test, state),
        **test_cautions(test.rebuild, test.plan),
    }
    return render(request, "workorders/test.html", context, status=status)


def unused_files(test: PressureTest, state: TestState) -> list[LoggerFile]:
    """Return the logger files handed in for a test that no reading rests on."""
    used = {
        reading.trace.file_id
        for each in state.steps
        if each.result
        for reading in each.result.readings.all()
        if getattr(reading, "trace", None)
    }
    rows = test.logger_files.select_related("file", "limit__step", "by", "instrument")
    return [row for row in rows if row.file_id not in used]
