"""The hoses of a unit in one rebuild: which came with it, and the photos of their ports."""

from collections.abc import Iterable, Sequence
from typing import Any

from django.core.files.uploadedfile import UploadedFile

from shop.errors import RuleBroken
from shop.models import Hose, Port
from shop.roles import LEAD, roles_of
from shop.services.writing import Act
from workorders.models import ArrivalItem, Finding, Photo, Rebuild
from workorders.models.finding import UNSAFE_HOSE
from workorders.services.photos import add_photo

Condition, Action, Attachment = Finding.Condition, Finding.Action, Hose.Attachment


def same_number(one: str, other: str) -> bool:
    """Whether two texts are the number of one hose; small letters and blanks make no difference."""
    return "".join(one.split()).casefold() == "".join(other.split()).casefold()


def numbers_attached(rebuild: Rebuild) -> list[str]:
    """Return the numbers of the hoses that the intake lists as attached."""
    rows = rebuild.arrival_items.filter(kind=ArrivalItem.Kind.HOSE)
    return list(rows.order_by().values_list("label", flat=True))


def is_listed(hose: Hose, numbers: Iterable[str]) -> bool:
    """Whether the intake lists a hose as attached."""
    return any(same_number(hose.code, number) for number in numbers)


def came_along(hose: Hose, numbers: Iterable[str]) -> bool:
    """Whether a hose is here: the intake lists it, or it is fixed to the unit."""
    return hose.attachment == Attachment.FIXED or is_listed(hose, numbers)


def can_be_mixed_up(ports: Iterable[Port]) -> bool:
    """Whether a hose could go on a wrong port: more than one port of the unit takes one."""
    return sum(port.fitting != Port.Fitting.PLUGGED for port in ports) > 1


def ports_to_photograph(rebuild: Rebuild) -> list[Hose]:
    """Return the hoses listed as attached whose port has no photo from before they come off.

    With one port to take a hose nothing can be mixed up, and no photo is asked.
    """
    hoses = list(rebuild.revision.hoses.all())
    ports = {port.pk: port for port in rebuild.revision.ports.all()} if hoses else {}
    if not can_be_mixed_up(ports.values()):
        return []
    numbers = numbers_attached(rebuild)
    if not numbers:
        return []
    taken = set(rebuild.photos.filter(moment=Photo.Moment.PORT).values_list("port", flat=True))
    for hose in hoses:
        hose.port = ports[hose.port_id]
    return [hose for hose in hoses if is_listed(hose, numbers) and hose.port_id not in taken]


def add_port_photos(
    act: Act, rebuild: Rebuild, hose: Hose, uploads: Sequence["UploadedFile[Any]"]
) -> list[Photo]:
    """Add photos of a port from before its hose comes off; RuleBroken without any."""
    if not uploads:
        raise RuleBroken(fields={"photo": "Choose at least one photo."})
    caption = f"port {hose.port.code}, before hose {hose.code} comes off"
    moment, port = Photo.Moment.PORT, hose.port
    return [
        add_photo(act=act, rebuild=rebuild, upload=upload, moment=moment, caption=caption, port=port)
        for upload in uploads
    ]


def check_hose_finding(act: Act, rebuild: Rebuild, hose: Hose, finding: Finding, kept_before: str) -> None:
    """Refuse a hose that is not here but was listed, and an unsafe one kept without the lead's word.

    ``kept_before`` is the reason that stands already; anybody may leave it as it is.
    """
    if finding.condition == Condition.NOT_HERE:
        _refuse_not_here(rebuild, hose)
    if finding.condition not in UNSAFE_HOSE or finding.action != Action.KEPT:
        finding.kept_reason = ""
    elif not finding.kept_reason:
        raise RuleBroken(
            fields={
                "kept_reason" if LEAD in roles_of(act.by) else "action": (
                    f"A hose that is {finding.get_condition_display()} is replaced: it can burst, and fluid "
                    "under pressure goes through skin. The lead alone may keep it, with a reason."
                )
            }
        )
    elif finding.kept_reason != kept_before and LEAD not in roles_of(act.by):
        raise RuleBroken(fields={"action": "The lead alone may keep a hose in this state, with a reason."})


def _refuse_not_here(rebuild: Rebuild, hose: Hose) -> None:
    if hose.attachment == Attachment.FIXED:
        message = f"Hose {hose.code} is fixed to the unit. If it is gone, the word is “missing”."
        raise RuleBroken(fields={"condition": message})
    if is_listed(hose, numbers_attached(rebuild)):
        message = f"The intake lists hose {hose.code} as attached. Say what it shows, or correct the intake."
        raise RuleBroken(fields={"condition": message})
