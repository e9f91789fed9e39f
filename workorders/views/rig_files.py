"""The files that rigs sent: the list of all, the page of one, handed in or dismissed by a person."""

from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from shop.changes import changes
from shop.forms.rows import WhyForm
from shop.roles import may, refusal
from shop.views.answers import act_of, answer_form, answer_post, needs, searched
from shop.views.narrowing import with_words
from shop.views.sorting import in_order
from shop.views.tables import answer_list
from workorders.forms.rigs import GiveForm
from workorders.models import RigFile
from workorders.services import rig_files
from workorders.views import rig_columns, trails
from workorders.views.bench import instrument_states
from workorders.views.rig_parts import confirm_address, is_open

PER_PAGE = 50
SHOWN = (("aside", "kept aside"), ("kept", "handed in"), ("dismissed", "dismissed"), ("all", "all"))
WORDS = (
    "rig__code",
    "file__name",
    "unit__serial",
    "instrument__code",
    "token__used_for",
    "aside_because",
    "dismissed_reason",
)


@require_GET
@needs("see")
def file_list(request: HttpRequest) -> HttpResponse:
    """Every file that rigs sent, those kept aside first."""
    shown, text = request.GET.get("show", "aside"), searched(request)
    rows = rig_files.files_with_use()
    narrowed = {"aside": RigFile.objects.waiting, "kept": RigFile.objects.kept}
    narrowed["dismissed"] = RigFile.objects.dismissed
    if shown in narrowed:
        rows = rows.filter(pk__in=narrowed[shown]().values("pk"))
    rows = in_order(request, rig_columns.RIG_FILES, with_words(rows, text, *WORDS))
    context = {
        "page": Paginator(rows, PER_PAGE).get_page(request.GET.get("page")),
        "shown": shown,
        "views": SHOWN,
        "text": text,
        "trail": trails.to_rigs(),
    }
    return answer_list(request, "workorders/rig_files.html", context, table=rig_columns.RIG_FILES, rows=rows)


@require_GET
@needs("see")
def rig_file(request: HttpRequest, pk: int) -> HttpResponse:
    """One file of a rig: what the rig said of it and where it stands."""
    row = get_object_or_404(rig_files.files_with_use(), pk=pk)
    readings = rig_files.running_readings(row.unit) if row.state == "aside" else []
    context = {
        "row": row,
        "trail": trails.to_rig(row.rig),
        "readings": readings,
        "address": confirm_address(row) if is_open(row) else "",
        "changes": changes(row.history.all()),
        "may_test": may(request.user, "test"),
        "refusal": refusal(request.user, "test"),
    }
    return render(request, "workorders/rig_file.html", context)


@require_http_methods(["GET", "POST"])
@needs("test")
def rig_file_give(request: HttpRequest, pk: int) -> HttpResponse:
    """Hand in a file that was kept aside, for a reading of a test that runs."""
    row = get_object_or_404(rig_files.files_with_use(), pk=pk)
    readings = rig_files.running_readings()
    own = [pair for pair in readings if pair[0].rebuild.unit_id == row.unit_id]
    form = GiveForm(
        request.POST or None,
        rig_file=row,
        readings=[*own, *(pair for pair in readings if pair not in own)],
        states=instrument_states(request),
        initial={"instrument": row.instrument_id},
    )

    def write(_data: dict[str, Any]) -> str:
        why = _data.get("why", "")
        given = rig_files.give_to_step(act=act_of(request, why), rig_file=row, **form.chosen)
        return confirm_address(given)

    return answer_form(
        request,
        form=form,
        template="workorders/rig_file_give.html",
        context={"row": row, "readings": readings, "trail": trails.to_rig_file(row)},
        write=write,
    )


@require_http_methods(["GET", "POST"])
@needs("test")
def rig_file_dismiss(request: HttpRequest, pk: int) -> HttpResponse:
    """Dismiss a file that was kept aside, with the reason."""
    row = get_object_or_404(rig_files.files_with_use(), pk=pk)
    return answer_form(
        request,
        form=WhyForm(request.POST or None),
        template="shop/form_page.html",
        context={
            "cancel_url": row.get_absolute_url(),
            "title": f"Dismiss {row.file}",
            "note": "It stays in the list of dismissed files and can be taken up again.",
            "submit": "Dismiss it",
            "trail": trails.to_rig_file(row),
        },
        write=lambda data: rig_files.dismiss_file(act=act_of(request, data["why"]), rig_file=row),
    )


@require_POST
@needs("test")
def rig_file_take_up(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a dismissed file up again."""
    row = get_object_or_404(RigFile, pk=pk)
    return answer_post(request, lambda: rig_files.take_up_file(act=act_of(request), rig_file=row))
