"""Where pages belong: the links above their heads."""

from django.urls import reverse

from workorders.models import Box, Rebuild, Rig, RigFile, Unit, WorkOrder

Trail = list[tuple[str, str]]


def to_order(order: WorkOrder) -> Trail:
    """Return the way to a page below a work order."""
    return [("Work orders", reverse("workorders:work_orders")), (order.number, order.get_absolute_url())]


def to_choice(order: WorkOrder) -> Trail:
    """Return the way to a page that adds one unit."""
    return [*to_order(order), ("Add a unit", reverse("workorders:add_unit", args=[order.number]))]


def to_rebuild(rebuild: Rebuild) -> Trail:
    """Return the way to a page below a rebuild."""
    return [*to_order(rebuild.work_order), ("Rebuild", rebuild.get_absolute_url())]


def to_intake(rebuild: Rebuild) -> Trail:
    """Return the way to a page below an intake."""
    return [*to_rebuild(rebuild), ("Intake", reverse("workorders:intake", args=[rebuild.pk]))]


def to_unit(unit: Unit, latest: Rebuild | None) -> Trail:
    """Return the way to a page below a unit, by way of its latest work order."""
    way = to_order(latest.work_order) if latest else []
    return [*way, ("Unit", unit.get_absolute_url())]


def to_boxes() -> Trail:
    """Return the way to a page below the list of boxes."""
    return [("Boxes", reverse("workorders:boxes"))]


def to_box(box: Box) -> Trail:
    """Return the way to a page below a box."""
    return [*to_boxes(), (box.number, box.get_absolute_url())]


def to_rigs() -> Trail:
    """Return the way to a page below the register of rigs."""
    return [("Rigs", reverse("workorders:rigs"))]


def to_rig(rig: Rig) -> Trail:
    """Return the way to a page below a rig."""
    return [*to_rigs(), (rig.code, rig.get_absolute_url())]


def to_rig_file(row: RigFile) -> Trail:
    """Return the way to a page below a file that a rig sent."""
    return [*to_rig(row.rig), (str(row.file), row.get_absolute_url())]
