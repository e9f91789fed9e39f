"""Print the whole record of one unit."""

import json
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from shop.services.profile import currency_of_shop
from workorders.calc.serial import SerialError, parse_serial
from workorders.models import Unit
from workorders.services.lookup import answer, history_of, timeline
from workorders.services.record.unit import unit_record


class Command(BaseCommand):
    """``history SERIAL [--json]``."""

    help = "Print the whole record of a unit, across all its rebuilds."

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the serial in any spelling, and the shape of the output."""
        parser.add_argument("serial")
        parser.add_argument("--json", action="store_true", help="print JSON instead of text")

    def handle(self, *args: Any, **options: Any) -> None:
        """Print the record; exit status 2 with one sentence for a wrong or unknown serial."""
        try:
            serial = parse_serial(options["serial"])
        except SerialError as error:
            raise CommandError(str(error), returncode=2) from error
        unit = Unit.objects.select_related("unit_type").filter(serial=serial).first()
        if unit is None:
            raise CommandError(f"No unit carries the serial {serial}.", returncode=2)
        if options["json"]:
            self.stdout.write(json.dumps(unit_record(unit), indent=2, ensure_ascii=False))
        else:
            self.print_text(unit)

    def print_text(self, unit: Unit) -> None:
        """Print the answer and the timeline as lines."""
        from django.utils import timezone

        passes, currency = history_of(unit), currency_of_shop()
        told = answer(unit, passes, on=timezone.localdate())
        self.stdout.write(f"{unit.serial}  {unit.unit_type}\n{told.headline}")
        for sentence in told.sentences:
            self.stdout.write(sentence)
        for rebuild in passes:
            self.stdout.write(
                f"\nRebuild {rebuild.number}, {rebuild.work_order}, {rebuild.get_stage_display()}"
            )
            for event in timeline(rebuild, currency=currency):
                when = timezone.localtime(event.at).strftime("%d %b %Y %H:%M")
                self.stdout.write(f"  {when}  {event.title}  {event.verdict}  {event.text}".rstrip())
