"""Unit types: the list, one type with a revision, and everything the lead changes while it is a draft."""

from typing import Any

from django.core.paginator import Paginator
from django.db.models import Prefetch
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from shop.changes import changes
from shop.forms.catalogue import PLACE_FORMS, ChangeUnitTypeForm, NewUnitTypeForm, RevisionForm
from shop.forms.rows import WhyForm
from shop.forms.technique import TECHNIQUE_FORMS
from shop.models import TestPlan, TypeRevision, UnitType
from shop.panels import panels_for
from shop.roles import may, refusal
from shop.services import catalogue
from shop.services.technique import technique_of
from shop.views import columns
from shop.views.answers import act_of, answer_form, answer_post, needs, searched
from shop.views.relations import histories_of, relations_of
from shop.views.revision_sums import revision_sums
from shop.views.sorting import in_order
from shop.views.tables import answer_list
from shop.views.units import takes_inch

Trail = list[tuple[str, str]]
ROW_FORMS = {**PLACE_FORMS, **TECHNIQUE_FORMS}
PLACE_WORDS = {
    "position": ("seal position", "positions"),
    "component": ("component", "components"),
    "port": ("port", "ports"),
    "hose": ("hose", "hoses"),
    "dimension": ("dimension", "dimension_limits"),
    "note": ("technique note", "technique_notes"),
    "fastening": ("fastening figure", "fastening_figures"),
    "tool": ("special tool", "tool_needs"),
}


@require_GET
@needs("see")
def unit_types(request: HttpRequest) -> HttpResponse:
    """List unit types with their approved revision, narrowed by text and family."""
    text, family = searched(request), request.GET.get("family", "")
    approved = TypeRevision.objects.filter(state=TypeRevision.State.APPROVED).select_related("service_fluid")
    rows = (
        UnitType.objects.select_related("merged_into")
        .matching(text)
        .prefetch_related(Prefetch("revisions", approved, to_attr="approved"), "maker_numbers")
    )
    if family in UnitType.Family.values:
        rows = rows.filter(family=family)
    rows = in_order(request, columns.UNIT_TYPES, rows)
    context = {
        "page": Paginator(rows, 50).get_page(request.GET.get("page")),
        "text": text,
        "family": family,
        "families": UnitType.Family.choices,
        "may_change": may(request.user, "catalogue"),
        "refusal": refusal(request.user, "catalogue"),
        "panels": panels_for("shop:unit_types", request, None),
    }
    return answer_list(request, "shop/unit_types.html", context, table=columns.UNIT_TYPES, rows=rows)


@require_GET
@needs("see")
def unit_type(request: HttpRequest, pk: int) -> HttpResponse:
    """One unit type, shown by its approved revision or the one asked for."""
    row = get_object_or_404(UnitType.objects.select_related("merged_into", "variant_of"), pk=pk)
    revisions = list(row.revisions.select_related("service_fluid").order_by("-number"))
    revision = _asked(revisions, request.GET.get("revision", ""))
    context: dict[str, Any] = {
        "unit_type": row,
        "revisions": revisions,
        "revision": revision,
        "places": row.mounting_places.select_related("application"),
        "may_change": may(request.user, "catalogue"),
        "refusal": refusal(request.user, "catalogue"),
        "can_draft": not any(each.state == TypeRevision.State.DRAFT for each in revisions),
        "changes": changes(row.history.all(), several=histories_of(row)),
        **relations_of(row),
    }
    if revision:
        plans = list(revision.test_plans.prefetch_related("steps__limits").order_by("-version"))
        context |= {
            "is_draft": revision.state == TypeRevision.State.DRAFT,
            "ports": revision.ports.select_related("hose"),
            "hoses": revision.hoses.select_related("port", "revision"),
            "dimensions": revision.dimension_limits.select_related("position"),
            "technique": technique_of([revision])[revision.pk],
            "plans": plans,
            "plan": _shown_plan(plans),
            "sums": revision_sums(revision, inch=takes_inch(request)),
            "panels": panels_for("shop:unit_type", request, revision),
            "changes": changes(row.history.all(), several=[*histories_of(row), *_histories(revision)]),
        }
    return render(request, "shop/unit_type.html", context)


def _asked(revisions: list[TypeRevision], number: str) -> TypeRevision | None:
    """Return the revision of that number, else the approved one, else the latest; None without any."""
    if number:
        found = next((each for each in revisions if str(each.number) == number), None)
        if not found:
            raise Http404(f"There is no revision {number}.")
        return found
    approved = (each for each in revisions if each.state == TypeRevision.State.APPROVED)
    return next(approved, revisions[0] if revisions else None)


def _shown_plan(plans: list[TestPlan]) -> TestPlan | None:
    approved = (plan for plan in plans if plan.state == TestPlan.State.APPROVED)
    return next(approved, plans[0] if plans else None)


def _histories(revision: TypeRevision) -> list[Any]:
    kinds = [model.history.filter(revision=revision) for model in catalogue.ROWS.values()]
    return [revision.history.all(), *kinds]


def trail_of(revision: TypeRevision) -> Trail:
    """Return the way from the list of unit types to a revision."""
    return [
        ("Unit types", reverse("shop:unit_types")),
        (revision.unit_type.code, revision.unit_type.get_absolute_url()),
        (f"Revision {revision.number}", revision_url(revision)),
    ]


def revision_url(revision: TypeRevision) -> str:
    """Return the address of the unit type's page that shows this revision."""
    return f"{revision.unit_type.get_absolute_url()}?revision={revision.number}"


@require_http_methods(["GET", "POST"])
@needs("catalogue")
def unit_type_new(request: HttpRequest) -> HttpResponse:
    """Enter a unit type with the draft of its first revision."""

    def write(data: dict[str, Any]) -> str:
        act, fluid = act_of(request), data.pop("service_fluid")
        row = catalogue.save_unit_type(act=act, **data)
        return revision_url(catalogue.draft_revision(act=act, unit_type=row, service_fluid=fluid))

    url = reverse("shop:unit_types")
    return answer_form(
        request,
        form=NewUnitTypeForm(request.POST or None),
        template="shop/form_page.html",
        write=write,
        context={
            "title": "Enter a unit type",
            "submit": "Enter it and start its first revision",
            "trail": [("Unit types", url)],
            "links": [("The fluid is not in the list: enter it", reverse("shop:fluid_new"))],
            "cancel_url": url,
        },
    )


@require_http_methods(["GET", "POST"])
@needs("catalogue")
def unit_type_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change what a unit type is called, with the reason."""
    row = get_object_or_404(UnitType, pk=pk)

    def write(data: dict[str, Any]) -> UnitType:
        return catalogue.save_unit_type(act=act_of(request, data.pop("why")), unit_type=row, **data)

    return answer_form(
        request,
        form=ChangeUnitTypeForm(request.POST or None, instance=row),
        template="shop/form_page.html",
        write=write,
        context={
            "title": f"Change {row}",
            "submit": "Save the change",
            "trail": [("Unit types", reverse("shop:unit_types")), (row.code, row.get_absolute_url())],
            "cancel_url": row.get_absolute_url(),
        },
    )


@require_POST
@needs("catalogue")
def revision_draft(request: HttpRequest, pk: int) -> HttpResponse:
    """Start a draft revision."""
    row = get_object_or_404(UnitType, pk=pk)
    return answer_post(
        request, lambda: revision_url(catalogue.draft_revision(act=act_of(request), unit_type=row))
    )


@require_http_methods(["GET", "POST"])
@needs("catalogue")
def revision_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change the figures of a draft."""
    row = _revision_or_404(pk)
    return answer_form(
        request,
        form=RevisionForm(request.POST or None, instance=row),
        template="shop/form_page.html",
        write=lambda data: revision_url(catalogue.change_revision(act=act_of(request), revision=row, **data)),
        context={
            "title": f"Figures of {row}",
            "submit": "Save the figures",
            "trail": trail_of(row),
            "cancel_url": revision_url(row),
        },
    )


@require_http_methods(["GET", "POST"])
@needs("catalogue")
def revision_approve(request: HttpRequest, pk: int) -> HttpResponse:
    """Approve a draft, with the reason."""
    row = get_object_or_404(TypeRevision.objects.select_related("unit_type"), pk=pk)
    has_plan = row.test_plans.filter(state=TestPlan.State.APPROVED).exists()
    note = "New rebuilds will be built to it; rebuilds in the shop keep the revision they began with."
    if not has_plan:
        note += " It has no approved test plan yet: until then its units cannot be tested."
    return answer_form(
        request,
        form=WhyForm(request.POST or None),
        template="shop/form_page.html",
        write=lambda data: revision_url(
            catalogue.approve_revision(act=act_of(request, data["why"]), revision=row)
        ),
        context={
            "title": f"Approve {row}",
            "note": note,
            "submit": "Approve this revision",
            "trail": trail_of(row),
            "cancel_url": revision_url(row),
        },
    )


@require_http_methods(["GET", "POST"])
@needs("catalogue")
def place_edit(request: HttpRequest, pk: int, kind: str, place_pk: int | None = None) -> HttpResponse:
    """Add or change a place of a draft, or a row of its technique."""
    if kind not in ROW_FORMS:
        raise Http404(f"Unit types have no {kind}.")
    revision = _revision_or_404(pk)
    row = _place_or_404(kind, place_pk, pk) if place_pk else None
    word, plural = PLACE_WORDS[kind]
    anchor = f"{revision_url(revision)}#{plural}"

    def write(data: dict[str, Any]) -> str:
        catalogue.save_place(act=act_of(request), revision=revision, place=kind, row=row, **data)
        return anchor

    initial = {} if row else {"order": getattr(revision, plural).count() + 1}
    context = {
        "title": f"Change {row}" if row else f"Add a {word}",
        "submit": f"Save this {word}" if row else f"Add this {word}",
        "trail": trail_of(revision),
        "cancel_url": anchor,
    }
    if row:
        context["remove_url"] = reverse("shop:place_remove", args=[pk, kind, row.pk])
        context["remove_words"] = f"Take this {word} out of the draft"
    instance = row or catalogue.ROWS[kind](revision=revision)
    form = ROW_FORMS[kind](request.POST or None, instance=instance, initial=initial)
    return answer_form(request, form=form, template="shop/form_page.html", write=write, context=context)


@require_POST
@needs("catalogue")
def place_remove(request: HttpRequest, pk: int, kind: str, place_pk: int) -> HttpResponse:
    """Take a place out of a draft."""
    if kind not in ROW_FORMS:
        raise Http404(f"Unit types have no {kind}.")
    url = revision_url(_revision_or_404(pk))

    def write() -> str:
        catalogue.remove_place(act=act_of(request), row=_place_or_404(kind, place_pk, pk))
        return url

    return answer_post(request, write)


def _revision_or_404(pk: int) -> TypeRevision:
    """Return the revision with its type; whether it is a draft is the service's rule."""
    return get_object_or_404(TypeRevision.objects.select_related("unit_type"), pk=pk)


def _place_or_404(kind: str, pk: int, revision_pk: int) -> Any:
    return get_object_or_404(catalogue.ROWS[kind], pk=pk, revision=revision_pk)
