"""Receiving a unit that no unit type fits: a draft type is opened for it."""

from typing import Any

from shop.errors import RuleBroken
from shop.services.draft_types import SeenOutside, open_draft_type
from shop.services.writing import Act, service
from workorders.calc.serial import draw_serial
from workorders.models import Rebuild, WorkOrder
from workorders.services.receiving import Draw, Intake, new_unit, open_next_rebuild, tidy_maker_serial


@service("receive")
def add_unknown_unit(
    *,
    act: Act,
    work_order: WorkOrder,
    seen: SeenOutside,
    maker_serial: str = "",
    draw: Draw = draw_serial,
    **intake: Any,
) -> Rebuild:
    """Receive a unit of an unknown type: open a draft type, its revision, the unit and its rebuild.

    ``intake`` are the fields of `Intake`. Raises RuleBroken without a photo, since nothing else
    tells what the unit is, and as `open_draft_type` does.
    """
    told = Intake(**intake)
    if not told.photos:
        raise RuleBroken(
            fields={"photo": "Take at least one photo: nothing else tells yet what this unit is."}
        )
    draft = open_draft_type(act=act, seen=seen)
    unit = new_unit(draft.unit_type, tidy_maker_serial(maker_serial), draw)
    return open_next_rebuild(act, work_order, unit, draft, told)
