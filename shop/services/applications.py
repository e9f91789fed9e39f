"""Applications: machines in which several unit types work together, and their mounting places."""

from django.db.models import ProtectedError

from shop.errors import RuleBroken
from shop.models import Application, MountingPlace, UnitType
from shop.services.writing import Act, keep, locked, service


@service("catalogue")
def save_application(
    *, act: Act, application: Application | None = None, name: str, note: str = ""
) -> Application:
    """Enter an application or change one."""
    row = locked(application) if application else Application()
    row.name, row.note = name, note
    return keep(row)


@service("catalogue")
def save_mounting_place(
    *,
    act: Act,
    application: Application,
    unit_type: UnitType,
    name: str,
    access_labour_h: float = 0,
    twin_of: MountingPlace | None = None,
    place: MountingPlace | None = None,
) -> MountingPlace:
    """Add or change a mounting place; a twin is another place of the same application."""
    row = locked(place) if place else MountingPlace(application=application)
    if twin_of and (twin_of.application_id != row.application_id or twin_of.pk == row.pk):
        message = "A twin is another place of the same application, such as left and right."
        raise RuleBroken(fields={"twin_of": message})
    row.unit_type, row.name, row.access_labour_h, row.twin_of = unit_type, name, access_labour_h, twin_of
    return keep(row)


@service("catalogue")
def remove_mounting_place(*, act: Act, place: MountingPlace) -> Application:
    """Remove a mounting place that no rebuild and no twin names."""
    application: Application = place.application
    try:
        locked(place).delete()
    except ProtectedError as error:
        raise RuleBroken(f"{place} stands in records of units, or has a twin: it stays.") from error
    return application
