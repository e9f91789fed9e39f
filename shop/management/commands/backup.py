"""Back up the shop while the program runs."""

from argparse import ArgumentParser, ArgumentTypeError
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError, connections
from django.utils import timezone

from shop.backup.making import Made, make_archive, thin_out
from shop.backup.manifest import BackupError


class Command(BaseCommand):
    """``backup DEST [--keep N]``."""

    help = (
        "Write one archive with the database and all stored files, while the program may run. "
        "Exit status 1: written, but something was missing or damaged; 2: nothing written."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take where the archive goes, and how many to keep there."""
        parser.add_argument("dest", type=Path, help="a folder, or the name of a new file")
        parser.add_argument(
            "--keep",
            type=_count,
            metavar="N",
            help="after a whole backup into a folder, keep the newest N there",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Make the archive and say what is in it."""
        dest: Path = options["dest"]
        if options["keep"] and not dest.is_dir():
            raise CommandError(f"--keep needs a folder, and {dest} is none.", returncode=2)
        try:
            database = connections["default"].settings_dict
            made = make_archive(database=database, dest=dest, now=timezone.now())
        except (BackupError, DatabaseError, OSError) as error:
            raise CommandError(f"Nothing was backed up. {error}", returncode=2) from error
        self.say(made)
        if made.manifest.problems:
            raise CommandError("\n".join(["The backup is not whole:", *made.manifest.problems]), returncode=1)
        for path in thin_out(folder=dest, keep=options["keep"]) if options["keep"] else []:
            self.stdout.write(f"Removed {path}, as --keep asks.")

    def say(self, made: Made) -> None:
        """Print what was written, and what is left out on purpose."""
        manifest = made.manifest
        self.stdout.write(
            f"{made.path}: {sum(manifest.rows.values())} rows of {len(manifest.rows)} tables and "
            f"{len(manifest.file_members)} files, {made.path.stat().st_size / 1e6:.1f} MB."
        )
        self.stdout.write(f"SHA-256 {made.sha256}")
        self.stdout.write(
            "Not in it: the secret key and the settings of the environment. It holds customers' data and "
            "password digests: keep it, and a copy off the premises, where only you can read it."
        )


def _count(text: str) -> int:
    number = int(text)
    if number < 1:
        raise ArgumentTypeError("must be 1 or more")
    return number
