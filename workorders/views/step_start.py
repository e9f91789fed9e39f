"""The start of a test step: confirm what must be so, then record."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from shop.views.answers import act_of, answer_form, needs
from workorders.models import PressureTest
from workorders.services.step_start import raised_sentence, standing_start, start_step
from workorders.views.bench import start_form, step_of
from workorders.views.testing import get_test


@require_http_methods(["GET", "POST"])
@needs("test")
def step_start(request: HttpRequest, pk: int, order: int) -> HttpResponse:
    """Confirm what must be so before one step, or confirm it again before it is done once more."""
    test = get_test(pk)
    state = step_of(test, order)
    step = state.step
    if test.state != PressureTest.State.RUNNING and request.method == "GET":
        return redirect(test)
    form = start_form(test, step, request.POST or None)

    def write(_data: object) -> str:
        start_step(act=act_of(request), test=test, step=step, **form.told)
        return f"{reverse('workorders:test_step', args=[test.pk, order])}#step"

    return answer_form(
        request,
        form=form,
        template="workorders/step_start.html",
        context={
            "test": test,
            "step": step,
            "what": state.what,
            "earlier": standing_start(test, step),
            "raised": raised_sentence(test.rebuild.revision, step) if "rod_port" in form.fields else "",
        },
        write=write,
    )
