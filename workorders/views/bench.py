"""What the pages of the test bench share: the test with its open step, and its cautions."""

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, render

from shop.errors import RuleBroken
from shop.models import Step, StepLimit, TestPlan, TestStep
from shop.roles import may, refusal
from shop.views.answers import act_of, show_rule
from workorders.calc.trace import TIME_UNITS
from workorders.calc.verdict import DECISION_RULE
from workorders.documents import cautions
from workorders.forms.step import ChoicesForm, StepForm, UploadForm, initial_of
from workorders.forms.step_start import StartStepForm, first_values
from workorders.models import Instrument, LoggerFile, PressureTest, Rebuild, StepConfirmation
from workorders.services.inside_leaks import DRIFT_IS_NO_PROOF, DRIFT_SOURCE, WHAT_SHOWS_IT
from workorders.services.instruments import calibration_state, shop_day
from workorders.services.logger_files import Choices, Proposal, propose
from workorders.services.running import StepState, TestState, state_of, unused_files
from workorders.services.standing import current_test
from workorders.services.step_start import (
    needs_start,
    raised_bar,
    raised_sentence,
    standing_start,
    start_of,
    starts_of,
)
from workorders.services.traces import Chart, chart_of
from workorders.services.ways import way_of
from workorders.services.ways.thermal import temperatures
from workorders.views.rig_parts import shown_for_test
from workorders.views.technique import panels_of


@dataclass(frozen=True, kw_only=True)
class ShownFile:
    """A logger file shown for confirmation: how it is read, and the form that changes it.

    ``unseen`` says that something was entered that the verdict on the page did not have in it.
    """

    limit: StepLimit
    logger_file: LoggerFile
    form: ChoicesForm
    proposal: Proposal | None
    hidden: list[tuple[str, Any]]
    unseen: bool = False

    @property
    def chart(self) -> Chart:
        """What the chart of the page is told."""
        assert self.proposal
        return chart_of(self.proposal.evaluated, limit=self.limit)

    @property
    def query(self) -> str:
        """The reading as shown, as the query of an address."""
        query = QueryDict(mutable=True)
        query.update({name: str(value) for name, value in self.hidden})
        return query.urlencode()


@dataclass(frozen=True, kw_only=True)
class OpenStep:
    """The step that stands open: its state, readings, logger files, and form.

    ``raised_bar`` is what a plugged rod port would see while the step has pressure on the bore side;
    ``start`` asks what must be confirmed first, until ``started`` says that it was.
    """

    state: StepState
    limits: list[StepLimit]
    files: list[ShownFile]
    uploads: list[tuple[StepLimit, UploadForm, list[LoggerFile]]]
    form: StepForm
    raised_bar: float | None
    started: StepConfirmation | None
    start: StartStepForm | None

    @property
    def raised_sentence(self) -> str:
        """What a plugged rod port would see, where the start asks how it stands."""
        if self.start is None or "rod_port" not in self.start.fields:
            return ""
        return raised_sentence(self.start.revision, self.state.step)


def test_cautions(rebuild: Rebuild, plan: TestPlan | None) -> dict[str, Any]:
    """Return the cautions of the bench, with the pressure that intensification would make."""
    revision = rebuild.revision
    pressures = [step.pressure_bar for step in plan.steps.all() if step.pressure_bar] if plan else []
    highest = max(pressures, default=revision.proof_pressure_bar)
    return {
        "cautions": cautions.TESTING,
        "deference": cautions.DEFERENCE,
        "highest_bar": highest,
        "raised_bar": raised_bar(revision, highest),
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
    handed_in = list(
        test.logger_files.filter(limit__in=limits).select_related("file", "by", "instrument", "from_rig__rig")
    )
    files = [shown for limit in limits if (shown := shown_file(request, test, limit, data))]
    shows = "show" in request.POST
    typed = {name: request.POST[name] for name in request.POST} if shows else {}
    states = instrument_states(request)
    chosen = {shown.limit.pk for shown in files}
    form = StepForm(
        request.POST if posted and not shows else None,
        request.FILES if posted and not shows else None,
        limits=limits,
        proposals={shown.limit.pk: shown.proposal for shown in files if shown.proposal},
        states=states,
        again=state.result is not None,
        initial=initial_of(state.result) | typed,
    )
    uploads = [
        (limit, UploadForm(limit=limit, states=states), [f for f in handed_in if f.limit_id == limit.pk])
        for limit in limits
        if way_of(limit).from_file and limit.pk not in chosen
    ]
    step = state.step
    started = standing_start(test, step)
    waits = started is None and needs_start(test.rebuild.revision, step)
    on_bore = step.pressure_bar if step.side in (TestStep.Side.BORE, TestStep.Side.BOTH) else None
    return OpenStep(
        state=state,
        limits=limits,
        files=files,
        uploads=uploads,
        form=form,
        raised_bar=raised_bar(test.rebuild.revision, on_bore),
        started=started,
        start=start_form(test, step) if waits else None,
    )


def start_form(test: PressureTest, step: TestStep, data: QueryDict | None = None) -> StartStepForm:
    """Return the form that starts a step; it opens with the relief of the step before."""
    earlier = test.confirmations.exclude(rod_port="").order_by("-pk").first()
    return StartStepForm(
        data, step=step, revision=test.rebuild.revision, initial=first_values(earlier), auto_id="start_%s"
    )


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
    known = test.logger_files.filter(limit=limit).select_related("file", "instrument")
    blanks = [row for row in known if str(row.pk) != str(data[f"r{limit.pk}-file"])]
    asked = ChoicesForm(data, limit=limit, blanks=blanks)
    valid = asked.is_valid()
    rows = LoggerFile.objects.select_related("file", "instrument", "limit__step", "by")
    row = get_object_or_404(rows, pk=asked.cleaned_data.get("file"), pressure_test=test, limit=limit)
    choices = asked.choices if valid else None
    proposal = _proposal(request, row, asked, choices) if choices else None
    if proposal is None:
        return ShownFile(
            limit=limit, logger_file=row, form=_bound(request, row, asked), proposal=None, hidden=[]
        )
    before = ChoicesForm(_as_shown(request.POST, asked), limit=limit, blanks=blanks)
    unseen = f"{asked.prefix}-entered" in request.POST and not (
        before.is_valid() and before.choices == choices
    )
    values = {name: value for name, value in shown_values(proposal).items() if name in asked.fields}
    values |= asked.typed_values()
    form = ChoicesForm(
        limit=limit,
        blanks=blanks,
        columns=columns_of(proposal),
        temperatures=temperatures_of(proposal),
        initial=values,
    )
    hidden = [(form.add_prefix(name), value) for name, value in values.items() if value is not None]
    return ShownFile(limit=limit, logger_file=row, form=form, proposal=proposal, hidden=hidden, unseen=unseen)


def _as_shown(data: QueryDict, asked: ChoicesForm) -> dict[str, str]:
    """Return the choices that the page was shown with, where its fields were sent along.

    Each field comes once then; what was shown stands before it under the same name (`_logger_file.html`).
    """
    sent = {name: data.getlist(name) for name in map(asked.add_prefix, asked.fields)}
    return {name: values[0] for name, values in sent.items() if len(values) > 1}


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
        proposal = propose(row, Choices(), act_of(request))
        asked.offer(columns_of(proposal))
        asked.offer_temperatures(temperatures_of(proposal))
    return asked


def columns_of(proposal: Proposal) -> list[tuple[int, str]]:
    """Return the columns of a file, to be chosen from."""
    return [(column.index, column.label) for column in proposal.trace.columns]


def temperatures_of(proposal: Proposal) -> list[tuple[int, str]]:
    """Return the columns of a file that are temperatures, to be chosen from."""
    return [(column.index, column.label) for column in temperatures(proposal.trace)]


def shown_values(proposal: Proposal) -> dict[str, Any]:
    """Return the reading of a logger file as it is shown, by field."""
    mapping, fit = proposal.trace.mapping, proposal.evaluated.fit
    return {
        "file": proposal.logger_file.pk,
        "start": round(fit.start_s, 9),
        "end": round(fit.end_s, 9),
        "time": mapping.time_column,
        # Time stamps have no unit to choose.
        "time_unit": mapping.time_unit if mapping.time_unit in TIME_UNITS else None,
        "pressure": mapping.pressure_column,
        "pressure_unit": mapping.pressure_unit,
        "channel": mapping.channel_column,
    }


def render_test(
    request: HttpRequest, test: PressureTest, opened: OpenStep | None = None, status: int = 200
) -> HttpResponse:
    """Render a test; ``opened`` is the open step, else the next one stands open while it runs."""
    state = state_of(test)
    _add_starts(test, state)
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
        "decision_rule": DECISION_RULE,
        "from_rigs": shown_for_test(test) if running else None,
        "panels": panels_of(request, test.rebuild, step=Step.TEST) if running else [],
        "drift": _drift_advice(request, test, state),
        **test_cautions(test.rebuild, test.plan),
    }
    return render(request, "workorders/test.html", context, status=status)


def _drift_advice(request: HttpRequest, test: PressureTest, state: TestState) -> dict[str, Any]:
    """Return why drift proves nothing of the piston seal, and how to go on: bypass step, or the plan."""
    bypass = next((each for each in state.steps if each.step.kind == TestStep.Kind.BYPASS), None)
    return {
        "why": DRIFT_IS_NO_PROOF,
        "what_shows": WHAT_SHOWS_IT,
        "source": DRIFT_SOURCE,
        "bypass": bypass,
        "may_plan": may(request.user, "catalogue"),
        "plan_url": f"{test.rebuild.revision.unit_type.get_absolute_url()}#plan",
    }


def _add_starts(test: PressureTest, state: TestState) -> None:
    """Give each result the start that it rests on, as ``start``."""
    starts = starts_of(test)
    for each in state.steps:
        if each.result:
            each.result.start = start_of(each.result, starts)  # type: ignore[attr-defined]
