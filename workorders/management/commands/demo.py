"""Load the demo shop into an empty database and serve it."""

import gc
import os
import socket
from argparse import ArgumentParser
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import waitress
from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.core.wsgi import get_wsgi_application
from django.utils import timezone

from shop.errors import RuleBroken
from workorders.demo.catalogue import PASSWORD, sign_ins
from workorders.demo.load import has_demo, load_demo


class Command(BaseCommand):
    """``demo [--no-serve] [--host H] [--port N]``."""

    help = "Load the demo shop into an empty database, and serve it; what was entered is kept."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take where to serve, or that nothing is served."""
        parser.add_argument("--no-serve", action="store_true", help="stop after loading")
        parser.add_argument("--host", default="127.0.0.1")
        parser.add_argument("--port", type=int, default=8000)

    def handle(self, *args: Any, **options: Any) -> None:
        """Migrate, load the demo once, print how to sign in, serve."""
        host, port = options["host"], options["port"]
        if not options["no_serve"]:
            refuse_port_in_use(host, port)
        address = f"http://{host}:{port}"
        if "PUBLIC_ADDRESS" not in os.environ:
            settings.PUBLIC_ADDRESS = address
        self.stdout.write("Preparing the database ...")
        self.stdout.flush()
        call_command("migrate", verbosity=0)
        self.load()
        self.stdout.write(f"\nSign in at {address}/ with the password: {PASSWORD}")
        for username, name, role in sign_ins():
            self.stdout.write(f"  {username:<8} {role:<14} {name}")
        if options["no_serve"]:
            return
        settings.DEMO_SIGN_INS = [(username, role, PASSWORD) for username, _name, role in sign_ins()]
        self.stdout.write(f"\nServing on {address}/ until Ctrl-C.")
        self.stdout.flush()
        waitress.serve(get_wsgi_application(), host=host, port=port, threads=8, _quiet=True)

    def load(self) -> None:
        """Load the demo unless it is there; another shop's records are never mixed with it."""
        if has_demo():
            self.stdout.write("The demo shop is loaded already; what was entered is kept.")
            return
        self.stdout.write("Loading the demo shop, about four years of work:")
        try:
            with collecting_seldom():
                loaded = load_demo(now=timezone.now(), say=self.say)
        except RuleBroken as error:
            raise CommandError(str(error), returncode=2) from error
        self.stdout.write(f"\n{loaded.rebuilds} rebuilds loaded.")

    def say(self, month: str) -> None:
        """Show how far the load has come, a dot at each rebuild and the month when it changes."""
        new = month != getattr(self, "_month", None)
        self._month = month
        self.stdout.write(f"\n{month} " if new else ".", ending="")
        self.stdout.flush()


@contextmanager
def collecting_seldom() -> Iterator[None]:
    """Look for cyclic rubbish seldom: a tenth less time for a load, and 270 MB more memory (measured)."""
    before = gc.get_threshold()
    gc.set_threshold(1_000_000, 50, 1000)
    try:
        yield
    finally:
        gc.set_threshold(*before)


def refuse_port_in_use(host: str, port: int) -> None:
    """Raise CommandError where another program holds the port."""
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            message = f"Port {port} on {host} is in use or cannot be used; choose another with --port."
            raise CommandError(message, returncode=2) from error
