"""How the pages of one rebuild find it and its places."""

from django.http import Http404
from django.shortcuts import get_object_or_404
from django.urls import reverse

from workorders.models import Rebuild
from workorders.services.places import KINDS, Place
from workorders.views.trails import Trail, to_rebuild


def rebuild_of(pk: int) -> Rebuild:
    """Return a rebuild with what every page of it names, in one query; Http404 where there is none."""
    rows = Rebuild.objects.select_related(
        "unit__unit_type",
        "work_order__customer",
        "revision__unit_type",
        "revision__service_fluid",
        "mounting_place__application",
        "received_by",
        "fluid_found__fluid",
    )
    return get_object_or_404(rows, pk=pk)


def place_of(rebuild: Rebuild, kind: str, pk: int) -> Place:
    """Return a place of the rebuild's revision; Http404 for one of another."""
    if kind not in KINDS:
        raise Http404(f"no kind of place is called {kind}")
    place: Place = get_object_or_404(KINDS[kind], pk=pk, revision=rebuild.revision_id)  # type: ignore[assignment]
    return place


def to_teardown(rebuild: Rebuild) -> Trail:
    """Return the way to a page below the teardown."""
    return [*to_rebuild(rebuild), ("Teardown", reverse("workorders:teardown", args=[rebuild.pk]))]


def to_build(rebuild: Rebuild) -> Trail:
    """Return the way to a page below the build."""
    return [*to_rebuild(rebuild), ("Build", reverse("workorders:build", args=[rebuild.pk]))]
