"""The kit of a revision, as a panel of the unit type's page."""

from typing import Any

from django.http import HttpRequest

from inventory.models import Kit
from inventory.services.kits import lines_of
from inventory.services.upgrades import material_checks
from shop.models import TypeRevision
from shop.roles import may


def revision_kit(request: HttpRequest, revision: TypeRevision) -> tuple[str, dict[str, Any]]:
    """Show the kit of the revision that the page is about, or offer to make one."""
    kit = Kit.objects.filter(revision=revision).first()
    lines = lines_of(kit) if kit else []
    checks = material_checks(lines, revision)
    earlier = Kit.objects.filter(
        revision__unit_type=revision.unit_type_id, revision__number__lt=revision.number
    )
    context = {
        "kit": kit,
        "rows": [(line, checks[line.pk]) for line in lines],
        "revision": revision,
        "fluid": revision.service_fluid,
        "can_copy": not kit and earlier.exists(),
        "can_make": not kit
        and revision.state != TypeRevision.State.SUPERSEDED
        and may(request.user, "catalogue"),
    }
    return "inventory/_revision_kit.html", context
