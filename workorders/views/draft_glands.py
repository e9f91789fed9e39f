"""The gland of a place of a draft type, the seal that came out of it, and the size that it takes."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from shop.models import SealPosition
from shop.views.answers import act_of, answer_form, answer_post, needs
from shop.views.units import takes_inch, unit_switch
from workorders.forms.draft_gland import GlandForm, SealFoundForm, SizeForm
from workorders.models import Rebuild
from workorders.services import draft_glands, seals_found
from workorders.services.draft_places import is_on_bench_draft
from workorders.services.seal_matches import matches_of
from workorders.services.standing import Meaning, signature
from workorders.views.draft_places import place_of_draft
from workorders.views.rebuild_of import rebuild_of, to_teardown

BOTH = ["GET", "POST"]


def _context(rebuild: Rebuild, position: SealPosition) -> dict[str, Any]:
    finding = reverse("workorders:finding", args=[rebuild.pk, "position", position.pk])
    return {
        "trail": [*to_teardown(rebuild), (position.code, finding)],
        "rebuild": rebuild,
        "position": position,
        "on_draft": is_on_bench_draft(rebuild),
        "back": finding,
    }


def _rows(rows: list[draft_glands.GlandRow]) -> dict[str, Any]:
    differing = [row for row in rows if row.differs]
    is_read = any(row.readings or row.stands_in_words for row in rows)
    return {"rows": rows, "differs": bool(differing), "is_read": is_read}


@require_http_methods(BOTH)
@needs("draft_type")
def gland(request: HttpRequest, pk: int, place_pk: int) -> HttpResponse:
    """Read the gland of a place; figures that stand in the draft are replaced only by a second act."""
    rebuild = rebuild_of(pk)
    position = place_of_draft(rebuild, "position", place_pk)
    rows = draft_glands.gland_rows(position)
    stands = {row.figure: [one for one in row.readings if one.rebuild_id == rebuild.pk] for row in rows}
    signed = signature(rebuild, Meaning.TORN_DOWN) is not None
    inch = takes_inch(request)
    form = GlandForm(request.POST or None, position=position, stands=stands, signed=signed, inch=inch)

    def write(data: dict[str, Any]) -> str:
        draft_glands.record_gland(
            act=act_of(request, form.reason(data)),
            rebuild=rebuild,
            position=position,
            readings=form.readings,
            instrument=data["instrument"],
            arrangement=data.get("arrangement", ""),
        )
        messages.success(request, f"Gland of {position}: recorded.")
        return reverse("workorders:seal_size", args=[rebuild.pk, position.pk])

    context = {**_context(rebuild, position), **_rows(rows), "way": draft_glands.WAY}
    context |= unit_switch(request, inch=inch)
    return answer_form(
        request, form=form, template="workorders/draft_gland.html", write=write, context=context
    )


@require_POST
@needs("draft_type")
def gland_take_over(request: HttpRequest, pk: int, place_pk: int) -> HttpResponse:
    """Replace the gland figures of the draft by what the readings give, with the reason."""
    rebuild = rebuild_of(pk)
    position = place_of_draft(rebuild, "position", place_pk)

    def write() -> str:
        act = act_of(request, request.POST.get("why", "").strip())
        draft_glands.take_over_gland(act=act, rebuild=rebuild, position=position)
        messages.success(request, f"The draft has the figures that the readings of {position} give.")
        return reverse("workorders:seal_size", args=[rebuild.pk, position.pk])

    return answer_post(request, write)


@require_http_methods(BOTH)
@needs("draft_type")
def seal_found(request: HttpRequest, pk: int, place_pk: int) -> HttpResponse:
    """Measure the seal that came out of a place."""
    rebuild = rebuild_of(pk)
    position = place_of_draft(rebuild, "position", place_pk)
    seal = rebuild.seals_found.filter(position=position).first()
    inch = takes_inch(request)
    form = SealFoundForm(request.POST or None, seal=seal, inch=inch)

    def write(data: dict[str, Any]) -> str:
        seals_found.record_seal(
            act=act_of(request, form.converted),
            rebuild=rebuild,
            position=position,
            profile=data["profile"],
            instrument=data["instrument"],
            **form.sizes,
        )
        messages.success(request, f"Seal of {position}: recorded.")
        return reverse("workorders:seal_size", args=[rebuild.pk, position.pk])

    context = {**_context(rebuild, position), "seal": seal, **unit_switch(request, inch=inch)}
    return answer_form(
        request, form=form, template="workorders/seal_found.html", write=write, context=context
    )


@require_http_methods(BOTH)
@needs("draft_type")
def seal_size(request: HttpRequest, pk: int, place_pk: int) -> HttpResponse:
    """Which size a place takes: matches by the seal and by the gland, and the one chosen."""
    rebuild = rebuild_of(pk)
    position = place_of_draft(rebuild, "position", place_pk)
    seal = rebuild.seals_found.filter(position=position).select_related("instrument", "measured_by").first()
    first = {"designation": searched_size(request) or position.size_designation}
    form = SizeForm(request.POST or None, stands=position.size_designation, initial=first)

    def write(data: dict[str, Any]) -> str:
        act = act_of(request, data.get("why", "").strip())
        seals_found.choose_size(act=act, rebuild=rebuild, position=position, designation=data["designation"])
        messages.success(request, f"{position} takes {data['designation']}.")
        return reverse("workorders:finding", args=[rebuild.pk, "position", position.pk])

    context = {
        **_context(rebuild, position),
        "seal": seal,
        "matches": matches_of(position=position, seal=seal, on=timezone.localdate()),
        **_rows(draft_glands.gland_rows(position)),
    }
    return answer_form(request, form=form, template="workorders/seal_size.html", write=write, context=context)


def searched_size(request: HttpRequest) -> str:
    """Return the size that a match of the page proposes, to be written down with a reason."""
    return request.GET.get("designation", "").replace("\0", "").strip()[:60]
