"""Adding to a draft type at teardown: one form at a time, and on to the finding of the place."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from shop.services.catalogue import PLACES, Place
from shop.services.draft_types import next_code
from shop.views.answers import act_of, answer_form, answer_post, needs
from shop.views.catalogue import PLACE_WORDS
from workorders.forms.draft_place import FORMS
from workorders.models import Measurement, Rebuild
from workorders.services import draft_places as service
from workorders.views.rebuild_of import rebuild_of, to_teardown

BOTH = ["GET", "POST"]


@require_http_methods(BOTH)
@needs("draft_type")
def place_found(request: HttpRequest, pk: int, kind: str) -> HttpResponse:
    """Add a place to the draft; saving leads to its finding, or to its readings."""
    rebuild = rebuild_of(pk)
    _known(kind)
    told: dict[str, Any] = {"code": next_code(rebuild.revision, kind), "revision": rebuild.revision}
    form = FORMS[kind](request.POST or None, row=None, **told)
    return _answer(request, rebuild, kind, None, form)


@require_http_methods(BOTH)
@needs("draft_type")
def place_change(request: HttpRequest, pk: int, kind: str, place_pk: int) -> HttpResponse:
    """Change a place of the draft, or take it out again."""
    rebuild = rebuild_of(pk)
    row = place_of_draft(rebuild, kind, place_pk)
    form = FORMS[kind](request.POST or None, row=row, code=row.code, revision=rebuild.revision)
    return _answer(request, rebuild, kind, row, form)


def _answer(request: HttpRequest, rebuild: Rebuild, kind: str, row: Place | None, form: Any) -> HttpResponse:
    def write(data: dict[str, Any]) -> str:
        saved = service.save_found_place(act=act_of(request), rebuild=rebuild, place=kind, row=row, **data)
        messages.success(request, f"{saved}: {'changed' if row else 'added to the draft'}.")
        return page_of(rebuild, kind, saved)

    word = PLACE_WORDS[kind][0]
    context: dict[str, Any] = {
        "trail": to_teardown(rebuild),
        "rebuild": rebuild,
        "on_draft": service.is_on_bench_draft(rebuild),
        "title": f"Change {row}" if row else f"Add a {word}",
        "submit": f"Save this {word}" if row else "Add it and go on",
        "cancel_url": page_of(rebuild, kind, row)
        if row
        else reverse("workorders:teardown", args=[rebuild.pk]),
    }
    if row:
        context["remove_url"] = reverse("workorders:place_remove", args=[rebuild.pk, kind, row.pk])
        context["remove_words"] = f"Take this {word} out: it was entered by mistake"
    return answer_form(
        request, form=form, template="workorders/place_found.html", write=write, context=context
    )


@require_POST
@needs("draft_type")
def place_remove(request: HttpRequest, pk: int, kind: str, place_pk: int) -> HttpResponse:
    """Take out a place that was entered by mistake."""
    rebuild = rebuild_of(pk)
    _known(kind)

    def write() -> str:
        # Looked up inside: sent twice, the second finds its token and not the place.
        row = place_of_draft(rebuild, kind, place_pk)
        service.remove_found_place(act=act_of(request), rebuild=rebuild, row=row)
        messages.success(request, f"{row}: taken out of the draft.")
        return reverse("workorders:teardown", args=[rebuild.pk])

    return answer_post(request, write)


def page_of(rebuild: Rebuild, kind: str, place: Place) -> str:
    """Return where the bench goes on with a place: its finding, or the readings of a dimension."""
    if kind == "dimension":
        moment = Measurement.Moment.AS_FOUND
        return reverse("workorders:measurement", args=[rebuild.pk, place.pk, moment])
    return reverse("workorders:finding", args=[rebuild.pk, kind, place.pk])


def _known(kind: str) -> None:
    if kind not in FORMS:
        raise Http404(f"Unit types have no {kind}.")


def place_of_draft(rebuild: Rebuild, kind: str, pk: int) -> Any:
    """Return a place of the rebuild's revision; Http404 for one of another."""
    _known(kind)
    return get_object_or_404(PLACES[kind], pk=pk, revision=rebuild.revision_id)
