"""List the calculations, run one, or write their pages of the docs."""

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from shop.calc import registry
from shop.calc.explained import explanation
from shop.calc.parameters import InputError
from shop.documents.sums import family_page, lines_of, page_name


class Command(BaseCommand):
    """``calc [NAME] [key=value ...] [--input FILE.json] [--json]``."""

    help = "List the sums of the trade, or do one of them; metric units."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the name, the inputs, and how to answer."""
        parser.add_argument("name", nargs="?", help="which calculation; without it all are listed")
        parser.add_argument("values", nargs="*", metavar="key=value", help="an input by its name")
        parser.add_argument("--input", type=Path, metavar="FILE.json", help="inputs as a JSON object")
        parser.add_argument("--json", action="store_true", help="answer as JSON")
        parser.add_argument("--docs", action="store_true", help="write the pages in docs/ anew")

    def handle(self, *args: Any, **options: Any) -> None:
        """Do what was asked; a bad input ends with its sentence and status 2."""
        try:
            if options["docs"]:
                self.write_docs()
            elif options["name"]:
                self.answer(options)
            else:
                self.list_all(as_json=options["json"])
        except (InputError, registry.NoSuchCalculation) as error:
            raise CommandError(str(error), returncode=2) from error

    def list_all(self, *, as_json: bool) -> None:
        """Print every calculation with what it asks for."""
        if as_json:
            listed = [
                {"name": one.name, "title": one.title, "family": one.family, "parameters": signature(one)}
                for one in registry.calculations()
            ]
            self.stdout.write(json.dumps(listed, ensure_ascii=False, indent=2))
            return
        family = ""
        for one in registry.calculations():
            if one.family != family:
                family = one.family
                self.stdout.write(f"\n{registry.FAMILIES[family]}")
            self.stdout.write(f"  {one.name} {' '.join(signature(one))}")
            self.stdout.write(f"      {explanation(calculation=one).summary}")

    def answer(self, options: dict[str, Any]) -> None:
        """Print one answer."""
        calculation = registry.find(name=options["name"])
        inputs = {**read_file(options["input"]), **calculation.read(pairs(options["values"]))}
        answer = calculation.answer(inputs)
        if options["json"]:
            self.stdout.write(json.dumps(answer.as_json(), ensure_ascii=False, indent=2, allow_nan=False))
            return
        for line in lines_of(answer):
            self.stdout.write(line)

    def write_docs(self) -> None:
        """Write one page for each family."""
        registry.calculations()
        for family in registry.FAMILIES:
            path = settings.BASE_DIR / "docs" / page_name(family)
            path.write_text(family_page(family), encoding="utf-8")
            self.stdout.write(f"docs/{path.name}")


def signature(calculation: registry.Calculation) -> list[str]:
    """Names of the inputs, those in brackets that have a default."""
    return [one.name if one.required else f"[{one.name}]" for one in calculation.asked]


def pairs(values: list[str]) -> dict[str, str]:
    """Split ``key=value``; raises InputError for what is none, and for a key that comes twice."""
    found: dict[str, str] = {}
    for value in values:
        key, sign, text = value.partition("=")
        if not sign:
            raise InputError(value, f"an input must be key=value; got {value!r}")
        if key in found:
            raise InputError(key, f"{key} must be given once; got it twice")
        found[key] = text
    return found


def read_file(path: Path | None) -> dict[str, Any]:
    """Read inputs from a JSON file; raises InputError where it holds no object."""
    if path is None:
        return {}
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError) as error:
        raise InputError("input", f"--input must be a file that can be read; got {path}: {error}") from error
    except json.JSONDecodeError as error:
        raise InputError("input", f"--input must hold JSON; got {path}: {error}") from error
    if not isinstance(found, dict):
        raise InputError("input", f"--input must hold an object of inputs; got {type(found).__name__}")
    return found
