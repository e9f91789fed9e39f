"""Print what a logger file says, without storing it: `python manage.py read_trace FILE --json`."""

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from workorders.calc.hold import HoldError, HoldFit, evaluate_hold
from workorders.calc.temperature import OILS
from workorders.calc.trace import (
    DEFAULT_MAX_BYTES,
    PRESSURE_UNITS,
    TIME_UNITS,
    Trace,
    TraceError,
    TraceMapping,
    read_trace,
)
from workorders.calc.trace_report import hold_report, stroke_report


class Command(BaseCommand):
    """Read a logger file and evaluate it as a pressure hold, or as strokes."""

    help = (
        "Read a logger file; print its columns, the decay over the whole of it and warnings; with more "
        "options the proposed hold, its decay at one temperature, or the friction of its strokes. "
        "Stores nothing."
    )
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the file, and the columns and units where it does not say them."""
        parser.add_argument("file", type=Path, help="the file as the logger left it")
        parser.add_argument("--json", action="store_true", help="print JSON")
        parser.add_argument(
            "--time-column", type=_place, metavar="N", help="number of the column, counted from 1"
        )
        parser.add_argument("--time-unit", choices=TIME_UNITS)
        parser.add_argument(
            "--pressure-column", type=_place, metavar="N", help="number of the column, counted from 1"
        )
        parser.add_argument("--pressure-unit", choices=PRESSURE_UNITS)
        parser.add_argument("--hold", action="store_true", help="evaluate the proposed window as well")
        parser.add_argument("--from", dest="start_s", type=float, metavar="S", help="with --hold: its start")
        parser.add_argument("--to", dest="end_s", type=float, metavar="S", help="with --hold: its end")
        parser.add_argument(
            "--temperature-column", type=_place, metavar="N", help="with --hold and --oil: correct the decay"
        )
        parser.add_argument("--oil", choices=OILS, help="whose published constants correct the decay")
        parser.add_argument(
            "--position-column", type=_place, metavar="N", help="evaluate strokes, from the piston's position"
        )
        parser.add_argument(
            "--force-column", type=_place, metavar="N", help="force on the rod; with --bore-mm"
        )
        parser.add_argument("--bore-mm", type=float, metavar="MM")

    def handle(self, *args: Any, **options: Any) -> None:
        """Print the reading; leave with status 2 and one sentence where the file cannot be read."""
        try:
            trace = _read(options)
            hold = evaluate_hold(time_s=trace.time_s, pressure_bar=trace.pressure_bar)
            more = _more(trace, options)
        except (TraceError, HoldError) as error:
            self.stderr.write(str(error))
            raise SystemExit(2) from None
        if options["json"]:
            self.stdout.write(json.dumps({**_as_data(trace, hold), **more}, indent=2, ensure_ascii=False))
        else:
            self.stdout.write("\n".join([_as_text(trace, hold), *_lines(more)]))


def _place(text: str) -> int:
    """Turn a column number counted from 1 into a place counted from 0."""
    number = int(text)
    if number < 1:
        raise ValueError
    return number - 1


def _read(options: dict[str, Any]) -> Trace:
    path: Path = options["file"]
    try:
        if path.is_dir():
            raise TraceError(f"{path} is a folder; name one file.")
        with path.open("rb") as file:
            # One byte too many is enough for the reader to refuse the file, however long it is.
            data = file.read(DEFAULT_MAX_BYTES + 1)
    except OSError as error:
        raise TraceError(f"{path} cannot be read: {error.strerror}.") from None
    chosen = ("time_column", "time_unit", "pressure_column", "pressure_unit")
    mapping = TraceMapping(**{name: options[name] for name in chosen})
    return read_trace(data=data, mapping=mapping, max_bytes=DEFAULT_MAX_BYTES)


def _more(trace: Trace, options: dict[str, Any]) -> dict[str, Any]:
    """Return the hold and the strokes that are asked for, by name."""
    more: dict[str, Any] = {}
    if options["hold"]:
        chosen = ("start_s", "end_s", "temperature_column", "oil")
        more["hold"] = hold_report(trace=trace, **{name: options[name] for name in chosen})
    if options["position_column"] is not None:
        more["strokes"] = stroke_report(
            trace=trace,
            position_column=options["position_column"],
            force_column=options["force_column"],
            bore_mm=options["bore_mm"],
        )
    return more


def _lines(more: dict[str, Any]) -> list[str]:
    """Write the hold and the strokes, a line each."""
    lines = []
    for name, part in more.items():
        for row in part if isinstance(part, list) else [part]:
            lines.append(f"{name}: {_words(row)}")
    return lines


def _words(row: dict[str, Any]) -> str:
    pairs = []
    for name, value in row.items():
        if isinstance(value, dict):
            pairs.append(f"{name} ({_words(value)})")
        else:
            pairs.append(f"{name} {value:.6g}" if isinstance(value, float) else f"{name} {value}")
    return ", ".join(pairs)


def _as_data(trace: Trace, hold: HoldFit) -> dict[str, Any]:
    return {
        "rows": trace.rows,
        "seconds": trace.duration_s,
        "columns": [
            {"name": column.name, "quantity": column.quantity, "unit": column.unit}
            for column in trace.columns
        ],
        "whole": {
            "decay_bar_per_min": hold.decay_bar_per_min,
            "standard_error_bar_per_min": hold.standard_error_bar_per_min,
            "straight": hold.straight,
        },
        "warnings": _warnings(trace, hold),
    }


def _as_text(trace: Trace, hold: HoldFit) -> str:
    lines = [f"{trace.rows} rows over {trace.duration_s:.3f} s"]
    for column in trace.columns:
        lines.append(f"  {column.label}: {column.quantity}" + (f", {column.unit}" if column.unit else ""))
    lines.append(
        f"decay over the whole file: {hold.decay_bar_per_min:.6g} bar/min, "
        f"standard error {hold.standard_error_bar_per_min:.3g} bar/min"
    )
    return "\n".join([*lines, *(f"note: {warning}" for warning in _warnings(trace, hold))])


def _warnings(trace: Trace, hold: HoldFit) -> list[str]:
    if hold.straight:
        return list(trace.warnings)
    bent = f"The trace is not a straight line, so the decay is no number to trust: {hold.bend}."
    return [*trace.warnings, bent]
