"""Teardown: one page with every place, and a form at a time for what it shows."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST
from django_htmx.http import push_url

from shop.forms.reading import span_in_inch
from shop.models import Hose, Step
from shop.roles import LEAD, may, roles_of
from shop.services.writing import Act
from shop.views.answers import act_of, answer_form, answer_post, needs
from shop.views.units import takes_inch, unit_switch
from workorders.documents.bench_cautions import HOSES, HOSES_SOURCES, TEARDOWN, TEARDOWN_SOURCES
from workorders.forms.debris import DebrisForm
from workorders.forms.finding import FindingForm
from workorders.forms.fluid_found import FluidFoundForm
from workorders.forms.hose import HoseFindingForm
from workorders.forms.measurement import MeasurementForm
from workorders.forms.signed_work import SignWorkForm, TakeBackForm
from workorders.models import Finding, Measurement, Rebuild
from workorders.services import teardown as service
from workorders.services.dimensions import dimensions
from workorders.services.draft_places import is_on_bench_draft
from workorders.services.flush_paper import flush_paper
from workorders.services.hoses import came_along, numbers_attached, ports_to_photograph
from workorders.services.places import Place, at, key_of, kind_of, places, row_key
from workorders.services.standing import Meaning, signature, standing_build
from workorders.services.work import placed
from workorders.views.rebuild_of import place_of, rebuild_of, to_build, to_teardown
from workorders.views.technique import panels_of
from workorders.views.trails import to_rebuild

BOTH = ["GET", "POST"]
OF_HOSE = ("length_mm", "kept_reason", "no_photo_reason")


def teardown_context(request: HttpRequest, rebuild: Rebuild, place: Place | None = None) -> dict[str, Any]:
    """Return what the teardown page shows, with or without one place in front."""
    findings = {row_key(row): row for row in placed(rebuild.findings)}
    rows = [(one, kind_of(one), findings.get(key_of(one))) for one in places(rebuild.revision)]
    found = list(findings.values())
    has_hoses = any(row[1] == "hose" for row in rows)
    numbers = numbers_attached(rebuild) if has_hoses else []
    return {
        "trail": to_rebuild(rebuild),
        "rebuild": rebuild,
        "place": place,
        "positions": [row for row in rows if row[1] == "position"],
        "others": [row for row in rows if row[1] in ("component", "port")],
        "hoses": [row for row in rows if row[1] == "hose"],
        "ports_to_photograph": ports_to_photograph(rebuild) if has_hoses else [],
        "hoses_away": any(
            isinstance(row[0], Hose) and row[2] is None and not came_along(row[0], numbers) for row in rows
        ),
        "judged": len(found),
        "total": len(rows),
        "dimensions": dimensions(rebuild, found),
        "fluid": getattr(rebuild, "fluid_found", None),
        "missing": service.missing_for_teardown(rebuild),
        "inspected": signature(rebuild, Meaning.RECEIVED),
        "signed": signature(rebuild, Meaning.TORN_DOWN),
        "cautions": TEARDOWN,
        "caution_sources": TEARDOWN_SOURCES,
        "may_work": may(request.user, "teardown"),
        "on_draft": is_on_bench_draft(rebuild),
        "may_add": may(request.user, "draft_type"),
        "open_positions": any(row[2] is None for row in rows if row[1] == "position"),
        "panels": panels_of(request, rebuild, step=Step.TEARDOWN, place=place) if rebuild.is_open else [],
        "open_others": any(row[2] is None for row in rows if row[1] != "position"),
    }


@require_GET
@needs("see")
def teardown(request: HttpRequest, pk: int) -> HttpResponse:
    """Every place with its state, the dimensions, the fluid, and what is still open."""
    context = teardown_context(request, rebuild_of(pk))
    return _at_its_address(request, render(request, "workorders/teardown.html", context))


def _at_its_address(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    """Let a part that htmx fetched, after a save as well, stand under the address it came from."""
    if request.htmx and request.method == "GET":  # type: ignore[attr-defined]
        return push_url(response, request.path)
    return response


def act_with_reason(request: HttpRequest, data: dict[str, Any]) -> Act:
    """Return the act of the signed-in person with the reason of a correction, where one was given."""
    return act_of(request, data.get("why", "").strip())


def _after_finding(rebuild: Rebuild, place: Place, was_signed: bool) -> str:
    """Return the page of the next open place of the same kind first; else the overview."""
    rest = [] if was_signed else service.open_places(rebuild)
    same = [one for one in rest if kind_of(one) == kind_of(place) and one.order >= place.order]
    for one in [*same, *rest]:
        return reverse("workorders:finding", args=[rebuild.pk, kind_of(one), one.pk])
    return reverse("workorders:teardown", args=[rebuild.pk]) + "#after-places"


def _finding_form(
    request: HttpRequest,
    rebuild: Rebuild,
    place: Place,
    stands: Finding | None,
    signed: bool,
    context: dict[str, Any],
) -> FindingForm:
    """Return the form of a place; of a hose with what it asks beside, which goes into the context."""
    sent = request.POST or None, request.FILES or None
    if not isinstance(place, Hose):
        return FindingForm(*sent, place=place, finding=stands, signed=signed)
    came = came_along(place, numbers_attached(rebuild))
    wanted = place in context["ports_to_photograph"]
    context |= {
        "came": came,
        "photo_missing": wanted,
        "hose_caution": HOSES,
        "hose_caution_source": HOSES_SOURCES,
    }
    excused = bool(stands and stands.no_photo_reason)
    return HoseFindingForm(
        *sent,
        place=place,
        finding=stands,
        signed=signed,
        came=came,
        photo_wanted=wanted or excused,
        is_lead=LEAD in roles_of(request.user),
    )


@require_http_methods(BOTH)
@needs("teardown")
def finding(request: HttpRequest, pk: int, kind: str, place_pk: int) -> HttpResponse:
    """The finding of one place; after saving, the next open place comes forward."""
    rebuild = rebuild_of(pk)
    place = place_of(rebuild, kind, place_pk)
    stands = rebuild.findings.filter(**at(place)).select_related("found_by").first()
    signed = signature(rebuild, Meaning.TORN_DOWN) is not None
    context = teardown_context(request, rebuild, place)
    form = _finding_form(request, rebuild, place, stands, signed, context)

    def write(data: dict[str, Any]) -> str:
        service.record_finding(
            act=act_with_reason(request, data),
            rebuild=rebuild,
            place=place,
            condition=data["condition"],
            cause=data["cause"],
            action=data["action"],
            note=data["note"],
            evidence=data.get("evidence", ""),
            corrosion=data.get("corrosion", ""),
            pitting=data.get("pitting", ""),
            photos=form.uploads,
            **{name: data[name] for name in OF_HOSE if name in data},
        )
        messages.success(request, f"{place}: recorded.")
        return _after_finding(rebuild, place, signed)

    context |= {
        "stands": stands,
        "kind": kind,
        "photos": stands.photos.select_related("file") if stands else (),
    }
    answer = answer_form(
        request, form=form, template="workorders/teardown.html", write=write, context=context
    )
    return _at_its_address(request, answer)


@require_POST
@needs("teardown")
def renew_rest(request: HttpRequest, pk: int) -> HttpResponse:
    """The rest of the seal positions: renewed, not examined."""
    return _rest(request, pk, service.renew_rest, "renewed, not examined")


@require_POST
@needs("teardown")
def keep_rest(request: HttpRequest, pk: int) -> HttpResponse:
    """The rest of the components and ports: kept, not examined."""
    return _rest(request, pk, service.keep_rest, "kept, not examined")


def _rest(request: HttpRequest, pk: int, answer_rest: Any, words: str) -> HttpResponse:
    rebuild = rebuild_of(pk)

    def write() -> str:
        found = answer_rest(act=act_of(request), rebuild=rebuild)
        messages.success(request, f"{', '.join(row.place.code for row in found)}: {words}.")
        return reverse("workorders:teardown", args=[rebuild.pk])

    return answer_post(request, write)


def _inspection(request: HttpRequest, rebuild: Rebuild) -> str:
    """Return the page that inspects the outside work which the address names; empty for none."""
    named = request.GET.get("inspect", "")
    if not (named.isdecimal() and len(named) < 18):
        return ""
    work = rebuild.outside_works.filter(pk=named).first()
    return reverse("workorders:outside_work_inspect", args=[work.pk]) if work else ""


@require_http_methods(BOTH)
@needs("teardown")
def measurement(request: HttpRequest, pk: int, limit_pk: int, moment: str) -> HttpResponse:
    """The readings of one dimension at its stations, as found or after the work."""
    rebuild = rebuild_of(pk)
    limit = get_object_or_404(rebuild.revision.dimension_limits, pk=limit_pk)
    if moment not in Measurement.Moment.values:
        raise Http404(f"no moment is called {moment}")
    after = moment == Measurement.Moment.AFTER
    dimension = next(row for row in dimensions(rebuild) if row.limit == limit)
    signed = standing_build(rebuild) if after else signature(rebuild, Meaning.TORN_DOWN)
    back = reverse("workorders:build" if after else "workorders:teardown", args=[rebuild.pk])
    done = f"{back}#dimensions"
    if after and (inspected := _inspection(request, rebuild)):
        back = done = inspected
    inch = takes_inch(request)
    form = MeasurementForm(
        request.POST or None,
        dimension=dimension,
        moment=moment,
        needs_reason=signed is not None,
        inch=inch,
    )

    def write(data: dict[str, Any]) -> str:
        service.record_readings(
            act=act_of(request, form.reason(data)),
            rebuild=rebuild,
            limit=limit,
            readings=form.readings,
            instrument=data["instrument"],
            moment=moment,
        )
        messages.success(request, f"{limit}: recorded.")
        return done

    context = {
        "trail": to_build(rebuild) if after else to_teardown(rebuild),
        "rebuild": rebuild,
        "dimension": dimension,
        "after": after,
        "back": back,
        **unit_switch(request, inch=inch),
        "limits_in_inch": inch and span_in_inch(low=limit.lower, high=limit.upper, unit=limit.unit),
    }
    return answer_form(
        request, form=form, template="workorders/measurement.html", write=write, context=context
    )


@require_http_methods(BOTH)
@needs("teardown")
def fluid_found(request: HttpRequest, pk: int) -> HttpResponse:
    """The fluid that came out of the unit."""
    rebuild = rebuild_of(pk)
    found = getattr(rebuild, "fluid_found", None)
    signed = signature(rebuild, Meaning.TORN_DOWN) is not None
    form = FluidFoundForm(request.POST or None, found=found, signed=signed)

    def write(data: dict[str, Any]) -> str:
        fields = {name: value for name, value in data.items() if name != "why"}
        service.record_fluid(act=act_with_reason(request, data), rebuild=rebuild, **fields)
        messages.success(request, "Fluid found: recorded.")
        return reverse("workorders:teardown", args=[rebuild.pk]) + "#fluid"

    context = {"trail": to_teardown(rebuild), "rebuild": rebuild, "found": found}
    return answer_form(
        request, form=form, template="workorders/fluid_found.html", write=write, context=context
    )


@require_http_methods(BOTH)
@needs("teardown")
def debris(request: HttpRequest, pk: int) -> HttpResponse:
    """Debris found: where it came from; the other open units of the work order are flagged."""
    rebuild = rebuild_of(pk)
    signed = signature(rebuild, Meaning.TORN_DOWN) is not None
    form = DebrisForm(request.POST or None, rebuild=rebuild, signed=signed)

    def write(data: dict[str, Any]) -> str:
        service.record_debris(act=act_with_reason(request, data), rebuild=rebuild, origin=form.origin)
        messages.warning(request, "Debris recorded. Every other open unit of the work order is flagged.")
        return reverse("workorders:teardown", args=[rebuild.pk]) + "#debris"

    others = Rebuild.objects.open().filter(work_order=rebuild.work_order_id).exclude(pk=rebuild.pk)
    context = {
        "trail": to_teardown(rebuild),
        "rebuild": rebuild,
        "others": others.select_related("unit__unit_type", "mounting_place"),
        "withdraw_form": TakeBackForm(needs_reason=True),
    }
    return answer_form(request, form=form, template="workorders/debris.html", write=write, context=context)


@require_POST
@needs("teardown")
def withdraw_debris(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back debris that was recorded on the wrong unit."""
    rebuild = rebuild_of(pk)

    def write() -> str:
        why = request.POST.get("why", "").strip()
        service.withdraw_debris(act=act_of(request, why), rebuild=rebuild)
        messages.success(request, "The debris is taken back; the flags it set are gone.")
        return reverse("workorders:teardown", args=[rebuild.pk]) + "#debris"

    return answer_post(request, write)


@require_GET
@needs("see")
def flush_warning(request: HttpRequest, pk: int) -> HttpResponse:
    """The warning to flush the circuit before fitting, as a PDF."""
    rebuild = rebuild_of(pk)
    data = flush_paper(rebuild, on=timezone.localdate())
    response = HttpResponse(data, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="flush-warning-{rebuild.unit.serial}.pdf"'
    return response


@require_http_methods(BOTH)
@needs("teardown")
def close_teardown(request: HttpRequest, pk: int) -> HttpResponse:
    """Sign the teardown; what is still open is named."""
    rebuild = rebuild_of(pk)
    form = SignWorkForm(request.POST or None)

    def write(data: dict[str, Any]) -> str:
        service.close_teardown(act=act_of(request), rebuild=rebuild, done_at=data["done_at"])
        messages.success(request, "The teardown is signed.")
        return rebuild.get_absolute_url()

    context = {
        "trail": to_teardown(rebuild),
        "rebuild": rebuild,
        "missing": service.missing_for_teardown(rebuild),
        "signed": signature(rebuild, Meaning.TORN_DOWN),
        "title": "Sign the teardown",
        "statement": "Disassembled, cleaned and inspected; every place is judged.",
        "button": "Sign the teardown",
        "back": reverse("workorders:teardown", args=[rebuild.pk]),
    }
    return answer_form(request, form=form, template="workorders/sign_work.html", write=write, context=context)
