"""Draft types from the bench: the list, the page that approves one, and the move to a known type."""

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from shop.models import MakerNumber, TypeRevision, UnitType
from shop.roles import may
from shop.views.answers import act_of, answer_form, needs, searched
from shop.views.narrowing import with_words
from shop.views.revision_sums import gland_sums
from shop.views.sorting import in_order
from shop.views.tables import answer_list
from workorders.forms.drafts import ApproveDraftForm, MergeForm
from workorders.services.draft_approval import approve_draft, bench_drafts, draft_state
from workorders.services.draft_merge import merge_draft, pairs_for
from workorders.views import columns
from workorders.views.trails import Trail

MOST_FOUND = 24


@require_GET
@needs("see")
def drafts(request: HttpRequest) -> HttpResponse:
    """List the draft types from the bench, also those whose unit is gone."""
    text = searched(request)
    rows = with_words(bench_drafts(), text, "code", "name", "maker", more=_on_the_body)
    rows = in_order(request, columns.DRAFTS, rows.prefetch_related("maker_numbers"))
    context = {
        "text": text,
        "page": Paginator(rows, 50).get_page(request.GET.get("page")),
        "may_approve": may(request.user, "catalogue"),
        "trail": [("Unit types", reverse("shop:unit_types"))],
    }
    return answer_list(request, "workorders/drafts.html", context, table=columns.DRAFTS, rows=rows)


def _on_the_body(word: str) -> Q:
    """Return the condition of a type with a number of its maker that the word is found in."""
    return Q(pk__in=MakerNumber.objects.filter(number__icontains=word).values("unit_type"))


@require_http_methods(["GET", "POST"])
@needs("catalogue")
def draft(request: HttpRequest, pk: int) -> HttpResponse:
    """What was found against what a usable type still lacks, and the approval."""
    revision = _revision_or_404(pk)
    if answer := _gone(request, revision):
        return answer
    form = ApproveDraftForm(request.POST or None, revision=revision)

    def write(data: dict[str, Any]) -> str:
        approved = approve_draft(act=act_of(request, data.pop("why")), revision=revision, **data)
        messages.success(request, f"{approved} is approved; its units can be built.")
        return f"{approved.unit_type.get_absolute_url()}?revision={approved.number}"

    context = {
        "revision": revision,
        "state": draft_state(revision),
        "positions": revision.positions.all(),
        "components": revision.components.all(),
        "ports": revision.ports.all(),
        "hoses": revision.hoses.all(),
        "dimensions": revision.dimension_limits.select_related("position"),
        "sums": gland_sums(revision),
        "trail": _to_drafts(),
    }
    return answer_form(request, form=form, template="workorders/draft.html", write=write, context=context)


@require_GET
@needs("catalogue")
def draft_known(request: HttpRequest, pk: int) -> HttpResponse:
    """Find the known type that a draft turned out to be."""
    revision = _revision_or_404(pk)
    if answer := _gone(request, revision):
        return answer
    text = searched(request)
    types = UnitType.objects.filter(family=revision.unit_type.family).matching(text)
    rows = TypeRevision.objects.filter(state=TypeRevision.State.APPROVED, unit_type__in=types)
    rows = rows.select_related("unit_type").prefetch_related("unit_type__maker_numbers")
    found = list(rows.order_by("unit_type__code")[:MOST_FOUND])
    context = {
        "revision": revision,
        "text": text,
        "found": found,
        "more": len(found) == MOST_FOUND,
        "trail": _to_draft(revision),
    }
    return render(request, "workorders/draft_known.html", context)


@require_http_methods(["GET", "POST"])
@needs("catalogue")
def draft_merge(request: HttpRequest, pk: int, target_pk: int) -> HttpResponse:
    """Say which place of the known type each place of the draft is, and move the units there."""
    revision = _revision_or_404(pk)
    if answer := _gone(request, revision):
        return answer
    approved = TypeRevision.objects.filter(state=TypeRevision.State.APPROVED).select_related("unit_type")
    target = get_object_or_404(approved, pk=target_pk)
    form = MergeForm(request.POST or None, pairs=pairs_for(revision, target))

    def write(data: dict[str, Any]) -> str:
        act = act_of(request, data["why"])
        merge_draft(act=act, revision=revision, target=target, mapped=form.mapped)
        messages.success(request, f"The units are now of the type {target.unit_type}.")
        return target.unit_type.get_absolute_url()

    context = {
        "revision": revision,
        "target": target,
        "rebuilds": draft_state(revision).rebuilds,
        "trail": _to_draft(revision),
    }
    return answer_form(
        request, form=form, template="workorders/draft_merge.html", write=write, context=context
    )


def _revision_or_404(pk: int) -> TypeRevision:
    """Return a revision; whether it is a draft from the bench is asked by `_gone` and by the services."""
    rows = TypeRevision.objects.select_related("unit_type__merged_into", "service_fluid")
    return get_object_or_404(rows, pk=pk)


def _gone(request: HttpRequest, revision: TypeRevision) -> HttpResponse | None:
    """Lead a reader on to the unit type where the draft was approved meanwhile; a form sent twice stays."""
    is_draft = revision.state == TypeRevision.State.DRAFT and revision.unit_type.provisional
    return None if is_draft or request.method == "POST" else redirect(revision.unit_type)


def _to_drafts() -> Trail:
    return [
        ("Unit types", reverse("shop:unit_types")),
        ("Drafts from the bench", reverse("workorders:drafts")),
    ]


def _to_draft(revision: TypeRevision) -> Trail:
    return [*_to_drafts(), (revision.unit_type.code, reverse("workorders:draft", args=[revision.pk]))]
