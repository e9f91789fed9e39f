"""From the rows of a box to its papers: the slip to put inside, and the tags of its trays."""

import re
from collections.abc import Iterable

from django.conf import settings
from django.utils import timezone

from shop.documents.label import Label
from shop.models import ShopProfile
from workorders.documents.box_slip import BoxSlip, SlipLine, box_slip_pdf
from workorders.documents.printed import day
from workorders.models import Box, BoxLine
from workorders.services.papers import shop_data

_NUMBER = re.compile(r"\bB(\d{2})-?(\d{4,})\b", re.IGNORECASE)


def box_address(base: str, number: str) -> str:
    """Return the web address of a box's page, in upper case as printed."""
    return f"{base}/b/{number}".upper()


def read_box_number(text: str) -> str | None:
    """Find a box number in a scan or in what was typed: bare, or at the end of an address."""
    found = _NUMBER.search(text)
    return f"B{found[1]}-{found[2]}" if found else None


def print_slip(box: Box) -> bytes:
    """Print the slip of a box on the shop's paper."""
    profile = ShopProfile.objects.first() or ShopProfile(name="Rebuild shop")
    slip = BoxSlip(
        number=box.number,
        address=box_address(settings.PUBLIC_ADDRESS, box.number),
        shop=shop_data(profile),
        announced_on=timezone.localdate(box.known_since),
        sender=box.sender_as_written or str(box.sender or ""),
        lines=tuple(
            SlipLine(number=line.order, what=line.what, symptoms=line.symptoms)
            for line in box.lines.filter(expected=True)
        ),
        return_address=box.return_address,
        contact=box.contact,
        customer_order=box.customer_order,
    )
    return box_slip_pdf(slip, page_size=profile.paper_size)


def box_label(box: Box) -> Label:
    """Return the label of the box itself, whoever sent it and whatever is in it."""
    packing = "" if box.packing in ("", Box.Packing.SOUND) else f"packing {box.get_packing_display()}"
    return Label(
        address=box_address(settings.PUBLIC_ADDRESS, box.number),
        big=box.number,
        lines=(
            str(box.sender or box.sender_as_written or "sender not known"),
            f"here since {day(timezone.localdate(box.received_at))}" if box.received_at else "on its way",
            packing,
        ),
    )


def tray_tags(box: Box, lines: Iterable[BoxLine]) -> list[Label]:
    """Return the tags of the lines that are here, also of those nobody could identify."""
    address = box_address(settings.PUBLIC_ADDRESS, box.number)
    return [
        Label(
            address=address,
            big=f"{box.number}/{line.order}",
            lines=(line.what, _outcome(box, line), str(box.sender or "sender not known")),
        )
        for line in lines
        if line.outcome != BoxLine.Outcome.MISSING
    ]


def _outcome(box: Box, line: BoxLine) -> str:
    """Say what became of a line; in a box that nobody announced, nothing stands out as such."""
    if line.outcome == BoxLine.Outcome.EXTRA and box.announced_at is None:
        return ""
    return line.get_outcome_display()
