"""Enter the first lead of an empty shop."""

import getpass
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from shop.errors import RuleBroken
from shop.services.people import first_lead


class Command(BaseCommand):
    """``first_lead``: asks for the name to sign in with, the printed name and a password."""

    help = "Enter the first shop lead, who then enters everybody else on the page People."

    def add_arguments(self, parser: CommandParser) -> None:
        """Names may come as options; the password is always asked for."""
        parser.add_argument("--username")
        parser.add_argument("--printed-name")

    def handle(self, *args: Any, **options: Any) -> None:
        """Ask for what is missing and enter the lead."""
        username = options["username"] or input("Name to sign in with: ")
        printed_name = options["printed_name"] or input("Name as printed beside signatures: ")
        password = getpass.getpass("Password: ")
        if password != getpass.getpass("The same again: "):
            raise CommandError("The two passwords differ; nobody was entered.", returncode=2)
        try:
            person = first_lead(username=username, printed_name=printed_name, password=password)
        except RuleBroken as error:
            raise CommandError(str(error), returncode=2) from error
        self.stdout.write(f"{person} can sign in as {person.username}.")
