"""A draft type opened at the bench: what was found for it, what a usable type still lacks, approval."""

from dataclasses import dataclass

from django.db.models import Count, Max, Q, QuerySet
from django.urls import reverse

from inventory.models import KitLine
from shop.errors import RuleBroken
from shop.models import Fluid, SealPosition, TestPlan, TypeRevision, UnitType
from shop.services import catalogue
from shop.services.draft_types import open_bench_draft
from shop.services.maker_numbers import settle_numbers
from shop.services.writing import Act, service
from workorders.models import Rebuild, Signature
from workorders.services.missing import Missing
from workorders.services.teardown import open_places


def bench_drafts() -> QuerySet[UnitType]:
    """Return the draft types from the bench, the latest first, with how many units are here on each.

    ``draft_pk`` is the revision that waits for the lead.
    """
    open_here = Q(revisions__rebuilds__isnull=False) & ~Q(
        revisions__rebuilds__stage__in=Rebuild.CLOSED_STAGES
    )
    return (
        UnitType.objects.bench_drafts()
        .annotate(
            units_here=Count("revisions__rebuilds", filter=open_here, distinct=True),
            unit_count=Count("units", distinct=True),
            latest=Max("revisions__rebuilds__received_at"),
            found=Count("revisions__positions", distinct=True),
            draft_pk=Max("revisions__pk", filter=Q(revisions__state=TypeRevision.State.DRAFT)),
        )
        .order_by("-latest", "-pk")
    )


@dataclass(frozen=True, kw_only=True)
class DraftState:
    """A draft with its rebuilds, what stops its approval, and what a usable type still lacks."""

    revision: TypeRevision
    rebuilds: list[Rebuild]
    must: list[Missing]
    lacks: list[Missing]


def draft_state(revision: TypeRevision) -> DraftState:
    """Look over a draft for the lead."""
    rows = revision.rebuilds.select_related("unit", "work_order__customer").order_by("received_at", "pk")
    rebuilds = list(rows)
    positions = list(revision.positions.all())
    return DraftState(
        revision=revision,
        rebuilds=rebuilds,
        must=_must(revision, positions),
        lacks=[*_lacking_figures(revision), *_lacking_seats(revision, positions), *_open_work(rebuilds)],
    )


def _must(revision: TypeRevision, positions: list[SealPosition]) -> list[Missing]:
    """Return what approval refuses; the service fluid is asked for on the page itself."""
    page = _catalogue_page(revision)
    found = []
    if not positions and not revision.components.exists():
        found.append(Missing("Places", "no seal position and no component is entered", page))
    for row in revision.dimension_limits.filter(limits_open=True):
        if row.is_judged_by_nothing:
            url = reverse("shop:place_change", args=[revision.pk, "dimension", row.pk])
            found.append(Missing(str(row), "its limits were left to you", url))
    return found


def _lacking_figures(revision: TypeRevision) -> list[Missing]:
    figures = reverse("shop:revision_change", args=[revision.pk])
    found = []
    if revision.proof_pressure_bar is None:
        sentence = "none: a unit without one is not proof tested. Enter it with its basis, or leave it out"
        found.append(Missing("Proof pressure", sentence, figures))
    if not revision.mark_place:
        found.append(Missing("Permanent mark", "no place for it is named", figures))
    if not revision.test_plans.filter(state=TestPlan.State.APPROVED).exists():
        sentence = "none is approved: until then no unit of this type can be tested"
        found.append(Missing("Test plan", sentence, _catalogue_page(revision)))
    return found


def _lacking_seats(revision: TypeRevision, positions: list[SealPosition]) -> list[Missing]:
    """Return positions without a size, without a gland, and without a part of the kit."""
    with_part = set(KitLine.objects.filter(kit__revision=revision).values_list("position_id", flat=True))
    found = []
    for row in positions:
        lacking = []
        if not row.size_designation:
            lacking.append("no size is chosen")
        if row.gland_depth_min_mm is None:
            lacking.append("its gland is not measured")
        if row.pk not in with_part:
            lacking.append("the kit names no part")
        if lacking:
            url = reverse("shop:place_change", args=[revision.pk, "position", row.pk])
            found.append(Missing(str(row), ", ".join(lacking), url))
    return found


def _open_work(rebuilds: list[Rebuild]) -> list[Missing]:
    """Return the units here whose teardown is not signed, or that have a place without a finding."""
    signed = set(
        Signature.objects.filter(rebuild__in=rebuilds, meaning=Signature.Meaning.TORN_DOWN).values_list(
            "rebuild_id", flat=True
        )
    )
    found = []
    for row in rebuilds:
        if not row.is_open:
            continue
        url = reverse("workorders:teardown", args=[row.pk])
        places = open_places(row)
        if places:
            names = ", ".join(place.code for place in places)
            found.append(Missing(f"Unit {row.unit.serial}", f"no finding yet at {names}", url))
        elif row.pk not in signed:
            found.append(Missing(f"Unit {row.unit.serial}", "its teardown is not signed", url))
    return found


def _catalogue_page(revision: TypeRevision) -> str:
    return f"{revision.unit_type.get_absolute_url()}?revision={revision.number}"


@service("catalogue")
def approve_draft(
    *,
    act: Act,
    revision: TypeRevision,
    code: str,
    name: str,
    service_fluid: Fluid | None,
    maker: str = "",
    maker_numbers: str = "",
) -> TypeRevision:
    """Give a draft type its names and its service fluid, and approve it; its rebuilds stay on it.

    ``act.why`` says what the type is. Raises RuleBroken while it keeps its provisional code, and as
    `approve_revision` does; then nothing is changed.
    """
    draft = open_bench_draft(revision)
    unit_type = draft.unit_type
    if code.strip() == unit_type.code:
        raise RuleBroken(fields={"code": f"{unit_type.code} was provisional: give the type its own code."})
    if service_fluid is None:
        raise RuleBroken(fields={"service_fluid": "Name the service fluid: which seals fit depends on it."})
    names = {"code": code.strip(), "name": name.strip(), "maker": maker.strip()}
    catalogue.save_unit_type(act=act, unit_type=unit_type, **names)
    settle_numbers(unit_type=unit_type, text=maker_numbers)
    catalogue.change_revision(act=act, revision=draft, service_fluid=service_fluid)
    return catalogue.approve_revision(act=act, revision=draft)
