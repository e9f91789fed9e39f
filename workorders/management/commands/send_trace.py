"""Send a logger file as a rig does: `python manage.py send_trace FILE --to URL --token-file F`."""

import json
import random
import time
from argparse import ArgumentParser
from http.client import HTTPException
from pathlib import Path
from typing import Any
from urllib.error import HTTPError, URLError
from urllib.parse import urlencode, urlsplit
from urllib.request import HTTPRedirectHandler, Request, build_opener

from django.core.management.base import BaseCommand, CommandError

TAKEN = (200, 201, 202)
WAIT_S = 2.0  # before the first repeat; twice as long before each further one
LONGEST_WAIT_S = 60.0
ANSWER_WITHIN_S = 300.0  # two million samples take 40 s on a busy small machine (measured)


class _NoRedirect(HTTPRedirectHandler):
    """A token is never carried to another address."""

    def redirect_request(self, *_args: Any, **_kwargs: Any) -> None:
        """Follow nothing."""


class Command(BaseCommand):
    """Send a file, and again with longer and longer waits while the network or the server is away."""

    help = (
        "Send a logger file to the shop as a rig does. Repeats are harmless: the same file for the same "
        "step is taken once. Exit status 0: it is there; 1: refused, or not sent after all tries."
    )
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the file, where it goes, the token, and what the file is for."""
        parser.add_argument("file", type=Path, help="the file as the logger left it")
        parser.add_argument(
            "--to", required=True, metavar="URL", help="the shop, such as https://shop.example"
        )
        parser.add_argument("--token-file", required=True, type=Path, help="a file with the token alone")
        parser.add_argument("--serial", default="", help="shop serial of the unit")
        parser.add_argument("--step", default="", help="number, kind or title of the step")
        parser.add_argument("--reading", default="", help="where a step has more than one from a file")
        parser.add_argument("--instrument", default="", help="its code, where more than one is on the rig")
        parser.add_argument("--tries", type=int, default=8, help="how often at most (8)")

    def handle(self, *args: Any, **options: Any) -> None:
        """Send it; print what the shop says."""
        try:
            data = options["file"].read_bytes()
            token = options["token_file"].read_text().strip()
        except (OSError, UnicodeDecodeError) as error:
            raise CommandError(f"A file cannot be read: {error}") from error
        words = {name: options[name] for name in ("serial", "step", "reading", "instrument") if options[name]}
        address = _address(options["to"], {**words, "name": options["file"].name})
        self.stdout.write(self._send(address, data, token, max(1, options["tries"])))

    def _send(self, address: str, data: bytes, token: str, tries: int) -> str:
        trouble = ""
        for turn in range(tries):
            if turn:
                wait_s = min(WAIT_S * 2 ** (turn - 1), LONGEST_WAIT_S)
                self.stderr.write(f"{trouble} Again in {wait_s:g} s.")
                time.sleep(wait_s * random.uniform(0.8, 1.2))  # noqa: S311 - so that rigs do not keep step
            status, says = _ask(address, data, token)
            if status in TAKEN:
                return says
            if status and status < 500 and status != 429:
                raise CommandError(f"Refused ({status}): {says}")
            trouble = says
        raise CommandError(f"Not sent after {tries} tries. {trouble}")


def _address(base: str, words: dict[str, str]) -> str:
    parts = urlsplit(base)
    if parts.scheme not in ("http", "https") or not parts.netloc:
        raise CommandError(f"“{base}” is no address of a shop; it begins with http:// or https://.")
    return f"{parts.scheme}://{parts.netloc}{parts.path.rstrip('/')}/rig/traces?{urlencode(words)}"


def _ask(address: str, data: bytes, token: str) -> tuple[int, str]:
    """Send once; return the status, 0 where there was no answer, and what it says."""
    headers = {"Authorization": f"Bearer {token}", "Content-Type": "text/csv"}
    try:
        request = Request(address, data=data, headers=headers, method="POST")  # noqa: S310 - checked above
        with build_opener(_NoRedirect).open(request, timeout=ANSWER_WITHIN_S) as answer:
            return answer.status, _says(answer.read())
    except HTTPError as error:
        return error.code, _says(error.read())
    except (URLError, OSError, HTTPException) as error:
        return 0, f"No answer from {urlsplit(address).netloc}: {getattr(error, 'reason', error)}."
    except ValueError as error:  # a token with a line break inside
        raise CommandError(f"This cannot be sent: {error}") from error


def _says(body: bytes) -> str:
    try:
        told = json.loads(body)
        return str(told["says"])
    except (ValueError, KeyError, TypeError):
        return "The answer is not that of a shop."
