"""The papers of a recall: letters, issued and stored one per customer, and the call sheet."""

import io
import zipfile
from collections.abc import Sequence
from datetime import date
from typing import Any

from django.utils import timezone

from shop.errors import RuleBroken
from shop.models import Customer, ShopProfile
from shop.services.files import read_bytes, store_bytes
from shop.services.writing import Act, keep, locked, service
from workorders.documents.call_sheet import CallLine, CallSheet, call_sheet_pdf
from workorders.documents.certificate_data import Replaces
from workorders.documents.recall_letter import LetterUnit, RecallLetter, recall_letter_pdf
from workorders.models import Recall, RecallCall
from workorders.models import RecallLetter as Letter
from workorders.services.papers import customer_data, local, shop_data
from workorders.services.recall_progress import (
    RENEWED,
    TOLD_SCRAPPED,
    Line,
    Progress,
    UnitState,
    progress_of,
)
from workorders.services.recalls import add_found_units

CHANGED = "the units, or the words of the letter, have changed"
# What no letter asks about: the part is out, or the customer scrapped the unit.
SETTLED = (RENEWED, TOLD_SCRAPPED)


@service("recall_calls")
def issue_letters(*, act: Act, recall: Recall) -> list[Letter]:
    """Issue the letters that are still to be written: one to each customer who has a unit with the lot.

    Whose latest letter says the same already gets none; where units or words have changed, a new one
    that names the one it replaces. Of a withdrawn recall, everybody who got a letter is told so.
    """
    row = locked(recall)
    if not row.withdrawn_at:
        add_found_units(act=act, recall=row)
    return [
        _issue(act, row, line, units, CHANGED if line.letter else "")
        for line, units in _wanted(row, progress_of(row, on=timezone.localdate(act.at)))
        if not (line.letter and _same(line.letter, row, units))
    ]


@service("recall_calls")
def reissue_letter(*, act: Act, letter: Letter) -> Letter:
    """Issue a letter anew for the reason in ``act.why``; it names the one it replaces, and both stay.

    Raises RuleBroken without a reason, for a letter that is replaced already, and where the customer
    has no unit with the lot any more.
    """
    if not act.why.strip():
        raise RuleBroken(fields={"why": "Say why the letter is issued anew."})
    if Letter.objects.filter(replaces=letter).exists():
        raise RuleBroken("This letter is replaced already; reissue the latest one.")
    row = locked(letter.recall)
    for line, units in _wanted(row, progress_of(row, on=timezone.localdate(act.at))):
        if line.letter == letter:
            return _issue(act, row, line, units, act.why.strip())
    raise RuleBroken("This customer has no unit with the lot any more; there is nothing to write about.")


def letters_to_write(recall: Recall, progress: Progress) -> int:
    """Return how many letters `issue_letters` would issue."""
    return sum(
        not (line.letter and _same(line.letter, recall, units)) for line, units in _wanted(recall, progress)
    )


def _wanted(recall: Recall, progress: Progress) -> list[tuple[Line, list[UnitState]]]:
    """Return who should hold a letter, each with the units that it names."""
    lines = sorted(progress.lines, key=lambda line: line.customer.pk)
    named = [(line, [unit for unit in line.units if unit.state not in SETTLED]) for line in lines]
    return [(line, units) for line, units in named if units and (line.letter or not recall.withdrawn_at)]


def _content(recall: Recall, units: Sequence[UnitState]) -> dict[str, Any]:
    """Return what a letter says, as it is stored; the same content needs no new letter."""
    return {
        "advice": recall.advice,
        "reason": recall.reason,
        "instructions": recall.instructions,
        "withdrawn": recall.withdraw_reason,
        "units": [_unit(unit) for unit in units],
    }


def _unit(unit: UnitState) -> dict[str, str]:
    assert unit.now is not None, "a line of the call sheet names units that are out with the lot"
    at = unit.now.at
    sent = f"{local(at.shipped_at):%d %b %Y}, {at.shipment}" if at.shipped_at else ""
    places = dict.fromkeys(
        f"{place.place} {place.place_name}".strip() or "whole unit" for place in unit.now.inside
    )
    return {
        "serial": at.serial,
        "type_name": at.type_name,
        "maker_serial": unit.listed.unit.maker_serial,
        "places": "; ".join(places),
        "sent": sent,
    }


def _same(letter: Letter, recall: Recall, units: Sequence[UnitState]) -> bool:
    return bool(letter.content == _content(recall, units))


def _issue(act: Act, recall: Recall, line: Line, units: Sequence[UnitState], why: str) -> Letter:
    """Print, store and write one letter; its number goes on within the recall."""
    number = f"{recall.number}/{recall.letters.count() + 1}"
    content = _content(recall, units)
    data = _print(number, recall, line.customer, content, line.letter, why, local(act.at).date())
    file = store_bytes(
        act=act,
        data=data,
        name=f"recall-letter-{number.replace('/', '-')}.pdf",
        kind="paper",
        content_type="application/pdf",
    )
    return keep(
        Letter(
            recall=recall,
            customer=line.customer,
            number=number,
            content=content,
            file=file,
            replaces=line.letter,
            by=act.by,
            at=act.at,
            why=why[:300],
        )
    )


def _print(
    number: str,
    recall: Recall,
    customer: Customer,
    content: dict[str, Any],
    replaced: Letter | None,
    why: str,
    on: date,
) -> bytes:
    profile = ShopProfile.objects.get(pk=1)
    told = {name: content[name] for name in ("advice", "reason", "instructions", "withdrawn")}
    data = RecallLetter(
        number=number,
        recall=recall.number,
        shop=shop_data(profile),
        customer=customer_data(customer),
        written_on=on,
        units=tuple(LetterUnit(**unit) for unit in content["units"]),
        replaces=Replaces(number=replaced.number, reason=why) if replaced else None,
        **told,
    )
    return recall_letter_pdf(data, page_size=profile.paper_size)


def letters_zip(recall: Recall) -> bytes:
    """Return the letters in force, as they were issued, in one archive; the same letters, the same bytes."""
    rows = recall.letters.filter(replaced_by__isnull=True).select_related("file", "customer").order_by("pk")
    archive = io.BytesIO()
    with zipfile.ZipFile(archive, "w", zipfile.ZIP_DEFLATED) as out:
        for row in rows:
            who = "".join(c if c.isascii() and c.isalnum() else "-" for c in row.customer.name)
            info = zipfile.ZipInfo(f"{row.number.replace('/', '-')}-{who}.pdf", (1980, 1, 1, 0, 0, 0))
            out.writestr(info, read_bytes(row.file))
    return archive.getvalue()


def call_sheet(recall: Recall, *, on: date) -> bytes:
    """Print the call sheet as it stands on a day."""
    profile = ShopProfile.objects.get(pk=1)
    progress = progress_of(recall, on=on)
    data = CallSheet(
        recall=recall.number,
        shop=shop_data(profile),
        printed_on=on,
        advice=str(recall.get_advice_display()),
        reason=recall.reason,
        progress=progress.words,
        lines=tuple(map(_call_line, progress.lines)),
        here=tuple(
            (unit.listed.unit.serial, unit.listed.unit.unit_type.name, f"{unit.where_words}; {_state(unit)}")
            for unit in progress.here
        ),
    )
    return call_sheet_pdf(data, page_size=profile.paper_size)


def _call_line(line: Line) -> CallLine:
    return CallLine(
        customer=line.customer.name,
        phone=line.customer.phone,
        units=tuple(
            (unit.now.serial, f"{unit.now.at.type_name}: {unit.now.place_words}", _state(unit))
            for unit in line.units
            if unit.now
        ),
        calls=tuple(map(_call, line.calls)),
        next_on=line.next_on,
        is_done=line.is_done,
    )


def _state(unit: UnitState) -> str:
    return f"{unit.state}; found since" if unit.found_since else unit.state


def _call(call: RecallCall) -> str:
    note = f": {call.note}" if call.note else ""
    return f"{local(call.at):%d %b %Y, %H:%M}, {call.by}, {call.get_outcome_display()}{note}"
