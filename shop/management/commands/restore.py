"""Restore a backup into an empty place, or check one."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError, connections

from shop.backup.archive import check_archive
from shop.backup.making import engine_of
from shop.backup.manifest import BackupError, Manifest
from shop.backup.restoring import refuse_unfit, restore_archive


class Command(BaseCommand):
    """``restore SRC [--check]``."""

    help = (
        "Restore a backup into an empty database and an empty files folder, checked in full; "
        "or only check it. Exit status 1: done, but the backup was not whole; 2: nothing restored."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the archive."""
        parser.add_argument("source", type=Path, help="the archive")
        parser.add_argument("--check", action="store_true", help="check the archive and restore nothing")

    def handle(self, *args: Any, **options: Any) -> None:
        """Restore or check, and say what was found."""
        try:
            manifest = (
                self.check_archive(options["source"])
                if options["check"]
                else self.restore_archive(options["source"])
            )
        except (BackupError, DatabaseError, OSError) as error:
            raise CommandError(f"Nothing was restored. {error}", returncode=2) from error
        if manifest.problems:
            raise CommandError("\n".join(["The backup was not whole:", *manifest.problems]), returncode=1)

    def check_archive(self, source: Path) -> Manifest:
        """Check every digest, and that this program can restore the archive."""
        manifest = check_archive(source)
        refuse_unfit(manifest, engine_of(connections["default"].settings_dict))
        self.stdout.write(f"Sound: {self.contents(manifest)}")
        return manifest

    def restore_archive(self, source: Path) -> Manifest:
        """Restore into the database and the files folder of the settings."""
        database = connections["default"].settings_dict
        done = restore_archive(source=source, database=database, files_dir=Path(settings.FILES_DIR))
        self.stdout.write(f"Restored and checked: {self.contents(done.manifest)}")
        for migration in done.new_migrations:
            self.stdout.write(f"Brought up to date: {migration}")
        self.stdout.write(
            "Everybody signs in again, unless the secret key of the old place was brought along. "
            "Settings of the environment, such as PUBLIC_ADDRESS, must be set here as they were there."
        )
        return done.manifest

    def contents(self, manifest: Manifest) -> str:
        """Return what an archive holds, in a sentence."""
        return (
            f"{sum(manifest.rows.values())} rows of {len(manifest.rows)} tables and "
            f"{len(manifest.file_members)} files, made at {manifest.made_at} "
            f"by version {manifest.program_version} from {manifest.engine}."
        )
