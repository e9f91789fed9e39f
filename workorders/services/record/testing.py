"""The record of a pressure test with its steps and readings."""

from typing import Any

from workorders.models import StepConfirmation
from workorders.services.record.plain import Plain, fields
from workorders.services.step_start import start_of, starts_of


def test_record(test: Any) -> Plain:
    """Return one pressure test with its steps and readings."""
    results = test.results.select_related("step", "done_by", "photo").prefetch_related(
        "readings__limit", "readings__instrument", "readings__trace__file"
    )
    starts = starts_of(test)
    return {
        "plan": str(test.plan),
        **fields(test, "number", "state", "rig_fluid", "fluid_left", "started_at", "started_by", "verdict"),
        "superseded_reason": test.superseded_reason,
        "steps": [
            {
                "kind": result.step.kind,
                "title": result.step.title,
                "side": result.step.side,
                **fields(result, "verdict", "arithmetic", "done_at", "done_by", "note"),
                "photo": result.photo.sha256 if result.photo else None,
                **start_record(start_of(result, starts)),
                "readings": [reading_record(reading) for reading in result.readings.all()],
            }
            for result in results
        ],
    }


def start_record(start: StepConfirmation | None) -> Plain:
    """Return what was confirmed before a step; nothing for steps of before this was asked."""
    if start is None:
        return {}
    names = ("medium", "rod_port", "raised_bar", "relief_bar", "relief_by", "by", "at")
    confirmed = [each["sentence"] for each in start.conditions]
    return {"started": {"confirmed": confirmed, **fields(start, *names)}}


test_record.__test__ = False  # type: ignore[attr-defined]  # not a pytest function


SINCE_NEW_WAYS = ("figure", "code_at_most", "displacement_cm3", "displacement_error_pct")


def reading_record(reading: Any) -> Plain:
    """Return one reading with its limit, instrument and trace."""
    trace = getattr(reading, "trace", None)
    return {
        "reading": reading.limit.reading,
        **fields(reading, "value", "unit", "uncertainty", "verdict", "arithmetic", "observed"),
        **fields(reading.limit, "lower", "upper", "source", "basis"),
        # Only where they are set, so that the digest of an older reading still holds.
        **{name: value for name, value in fields(reading.limit, *SINCE_NEW_WAYS).items() if value},
        "instrument": reading.instrument.code if reading.instrument else None,
        "trace": (
            {
                "sha256": trace.file.sha256,
                "file": trace.file.name,
                **fields(
                    trace,
                    "rows",
                    "window_start_s",
                    "window_end_s",
                    "decay_bar_per_min",
                    "standard_error_bar_per_min",
                    "straight",
                    "warnings",
                ),
            }
            if trace
            else None
        ),
    }
