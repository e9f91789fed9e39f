"""Compare the balances of the stores with the ledger they are the sums of."""

import json
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from inventory.models import Movement
from inventory.services.stock import ledger_differences


class Command(BaseCommand):
    """``ledger [--json]``."""

    help = "Compare every balance with the sum of its movements; exit status 1 where one differs."

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the shape of the output."""
        parser.add_argument("--json", action="store_true", help="print JSON instead of text")

    def handle(self, *args: Any, **options: Any) -> None:
        """Print what differs, one line for each lot and place."""
        found = [
            {"lot": lot.number, "place": place, "balance": have, "ledger": total}
            for lot, place, have, total in ledger_differences()
        ]
        count = Movement.objects.count()
        if options["json"]:
            self.stdout.write(json.dumps({"movements": count, "differences": found}, ensure_ascii=False))
        else:
            for row in found:
                self.stdout.write(
                    f"lot {row['lot']} at {row['place']}: balance {row['balance']}, ledger {row['ledger']}"
                )
        if found:
            raise CommandError(f"{len(found)} balances differ from the ledger.", returncode=1)
        if not options["json"]:
            self.stdout.write(f"Every balance is the sum of its movements ({count} movements).")
