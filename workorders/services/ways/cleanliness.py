"""Cleanliness of an oil sample: its code of ISO 4406 against the code at most."""

import re

from shop.calc.cleanliness import cleanliness_code, read_code
from shop.calc.parameters import InputError
from shop.errors import RuleBroken
from shop.models import StepLimit
from workorders.calc.oil_sample import judge_cleanliness
from workorders.services.entries import CleanlinessEntry, Entry
from workorders.services.ways.base import TEXT, Ask, Evaluated, Judged, Observed, Part, Way

COUNTS = ("count_4um", "count_6um", "count_14um")


class Cleanliness(Way):
    """An oil sample taken at test, from its particle counts or from the code that was printed."""

    takes = (CleanlinessEntry,)

    def asks(self, limit: StepLimit) -> tuple[Ask, ...]:
        """Ask for three counts or the code, and whose they are."""
        counts = tuple(
            Ask(
                part=name,
                label=f"Particles of {size} µm(c) and more",
                unit="1/mL",
                least=0,
                required=False,
            )
            for name, size in zip(COUNTS, (4, 6, 14), strict=True)
        )
        return (
            *counts,
            Ask(
                part="code",
                label="Or the code as printed",
                kind=TEXT,
                required=False,
                help="Such as 18/16/13 or 14/12/>=7.",
            ),
            Ask(
                part="report",
                label="Counted by, and number of the report",
                kind=TEXT,
                help="The laboratory or the counter, and how the sample is told.",
            ),
        )

    def entry(self, limit: StepLimit, part: Part) -> Entry:
        """Return the counts or the code; refuse both, neither, or counts in part."""
        counts = [part(name) for name in COUNTS]
        code, given = (part("code") or "").strip(), [count for count in counts if count is not None]
        if bool(code) == bool(given):
            raise RuleBroken(fields={"code": "Give the three counts, or the code that was printed."})
        if code:
            return CleanlinessEntry(report=part("report"), code=code)
        if len(given) < len(COUNTS):
            empty = COUNTS[counts.index(None)]
            raise RuleBroken(fields={empty: "Give all three counts."})
        first, second, third = map(float, given)
        return CleanlinessEntry(report=part("report"), counts_per_ml=(first, second, third))

    def judge(self, limit: StepLimit, observed: Observed, evaluated: Evaluated | None) -> Judged:
        """Judge each scale number against that of the limit."""
        code = self._code(observed)
        numbers = read_code(code)
        one, two, three = (bool(re.search(r">=|≥", text)) for text in code.split("/"))
        verdict = judge_cleanliness(
            numbers=numbers, few=(one, two, three), limit=read_code(limit.code_at_most), code=code
        )
        return Judged(verdict=verdict, words=self._words(observed))

    def shown(self, limit: StepLimit, value: float | None, observed: Observed) -> str:
        """Return the code."""
        return self._code(observed)

    @staticmethod
    def _words(observed: Observed) -> str:
        counts = observed.get("counts_per_ml")
        told = f"{' / '.join(f'{count:g}' for count in counts)} particles per mL; " if counts else ""
        return f"{observed['report']}: {told}"

    @staticmethod
    def _code(observed: Observed) -> str:
        counts = observed.get("counts_per_ml")
        if not counts:
            return str(observed["code"])
        if not counts[0] >= counts[1] >= counts[2]:
            raise ValueError("the counts must not rise with the size, since each includes the larger sizes")
        try:
            return cleanliness_code(count_4um=counts[0], count_6um=counts[1], count_14um=counts[2]).code
        except InputError as error:
            raise ValueError(str(error)) from error
