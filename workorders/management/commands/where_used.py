"""Trace a lot to every unit, or a unit down to every lot."""

import argparse
import json
from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from workorders.calc.serial import SerialError, parse_serial
from workorders.models import Unit
from workorders.services.lookup import lots_of
from workorders.services.where_used import (
    WhereUsed,
    certificates,
    lots_in_unit,
    lots_record,
    place_words,
    used_record,
    where_used,
)


def a_day(text: str) -> date:
    """Read a day of the command line; argparse prints the sentence of a refusal and ends with status 2."""
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(f"must be a day such as 2026-03-01; got {text}") from error


class Command(BaseCommand):
    """``where_used LOT [--json] [--on DAY]``, or ``where_used --unit SERIAL [--json]``."""

    help = "Say in which units a lot sits and where each is now; or, with --unit, which lots a unit holds."

    def add_arguments(self, parser: CommandParser) -> None:
        """Take a lot or a unit, the day for the warranty, and the shape of the output."""
        asked = parser.add_mutually_exclusive_group(required=True)
        asked.add_argument("lot", nargs="?", help="number of the lot, in any case")
        asked.add_argument("--unit", metavar="SERIAL", help="shop serial of a unit, in any spelling")
        parser.add_argument("--on", type=a_day, help="day of the warranty, such as 2026-03-01")
        parser.add_argument("--json", action="store_true", help="print JSON instead of text")

    def handle(self, *args: Any, **options: Any) -> None:
        """Print the answer; exit status 2 with one sentence for a lot or serial that there is not."""
        if options["unit"]:
            self.print_lots(options["unit"], as_json=options["json"])
            return
        lot = lots_of(options["lot"]).select_related("part", "supplier").first()
        if lot is None:
            raise CommandError(f"No lot has the number {options['lot']}.", returncode=2)
        found = where_used([lot], on=options["on"] or timezone.localdate())
        if options["json"]:
            self.stdout.write(json.dumps(used_record(found), indent=2, ensure_ascii=False))
        else:
            self.print_units(found)

    def print_units(self, found: WhereUsed) -> None:
        """Print a unit to a line, with its places below it."""
        lot = found.lots[0]
        self.stdout.write(f"Lot {lot}, {lot.part}, {lot.get_state_display()}")
        self.stdout.write(
            f"{found.inside} of {len(found.units)} units hold it on {found.on:%d %b %Y}."
            if found.units
            else "It went into no unit."
        )
        for unit in found.units:
            line = f"{unit.serial}  {unit.at.type_code:<10} {unit.where_words}; {unit.warranty}"
            self.stdout.write(line.rstrip())
            for place in unit.places:
                self.stdout.write(f"           {place_words(place)}")
        for row in found.stock:
            way = f", inside {row.path}" if row.depth else ""
            self.stdout.write(f"In the stores: {row.pieces} of {row.lot} at {row.place}{way}")

    def print_lots(self, serial: str, *, as_json: bool) -> None:
        """Print a place to a line, with the lots inside made ones below it."""
        try:
            known = parse_serial(serial)
        except SerialError as error:
            raise CommandError(str(error), returncode=2) from error
        unit = Unit.objects.select_related("unit_type").filter(serial=known).first()
        if unit is None:
            raise CommandError(f"No unit carries the serial {known}.", returncode=2)
        rows = lots_in_unit(unit)
        if as_json:
            self.stdout.write(json.dumps(lots_record(unit, rows), indent=2, ensure_ascii=False))
            return
        self.stdout.write(f"{unit.serial}  {unit.unit_type}")
        for row in rows:
            self.stdout.write(
                f"{row.place.place:<6} {_lot_line(row.lot)}; rebuild {row.place.rebuild}, {row.state}"
            )
            for twig, lot in row.within:
                self.stdout.write(f"       {'  ' * twig.depth}{_lot_line(lot)}")


def _lot_line(lot: Any) -> str:
    batch = f", batch {lot.supplier_batch}" if lot.supplier_batch else ""
    cured = f", cured {lot.cure_date}" if lot.cure_date else ""
    papers = len(certificates(lot))
    shown = f", {papers} certificate{'' if papers == 1 else 's'}" if papers else ""
    return f"{lot.number}  {lot.part.number} {lot.part.name}, {lot.supplier}{batch}{cured}{shown}"
