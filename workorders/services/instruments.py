"""Instruments and their calibrations: what a reading may be taken with, and whether it counts."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.utils import timezone

from shop.errors import RuleBroken
from shop.services.files import store_paper
from shop.services.writing import Act, keep, locked, service
from workorders.models import Calibration, Instrument, Measurement, Operation, Reading

Quantity = Instrument.Quantity

# The units that are kept inside, per quantity; what a dial shows otherwise is converted on entry.
UNITS_OF: Mapping[str, tuple[str, ...]] = {
    Quantity.PRESSURE: ("bar",),
    Quantity.FLOW: ("mL/min", "L/min"),
    Quantity.LENGTH: ("mm", "µm"),
    Quantity.TEMPERATURE: ("°C",),
    Quantity.CURRENT: ("A",),
    Quantity.VOLTAGE: ("V",),
    Quantity.TIME: ("s",),
    Quantity.ROUGHNESS: ("µm",),
    Quantity.TORQUE: ("N·m",),
    Quantity.RESISTANCE: ("Ω",),
    Quantity.INSULATION: ("MΩ",),
    Quantity.SPEED: ("1/min",),
    Quantity.COUNT: ("counts",),
}
# How long before the due date an instrument is called due soon (common practice, no source).
DUE_SOON_DAYS = 30
FIXED_ONCE_USED = ("code", "quantity", "unit")


@dataclass(frozen=True, kw_only=True)
class CalibrationState:
    """Where an instrument stands on one day: a word, how it is drawn, and a sentence."""

    word: str
    kind: str
    shape: str
    sentence: str

    @property
    def is_valid(self) -> bool:
        """Whether a reading taken that day counts."""
        return self.kind == "good" or self.word == "due soon"


def calibration_state(instrument: Instrument, on: date) -> CalibrationState:
    """Tell where the calibration of an instrument stands on a day.

    Reads ``instrument.calibrations``; prefetch them for a list.
    """
    if instrument.retired:
        return CalibrationState(
            word="retired", kind="plain", shape="plain", sentence="No longer used for readings."
        )
    latest = instrument.calibration_on(on)
    if latest is None:
        return _invalid("never calibrated", f"There is no calibration on or before {day(on)}.")
    if not latest.left_good:
        return _invalid(
            "out of tolerance",
            f"Found out of tolerance on {day(latest.calibrated_on)}; adjust and calibrate.",
        )
    if latest.due_on < on:
        return _invalid("out of calibration", f"The calibration ended on {day(latest.due_on)}.")
    left = (latest.due_on - on).days
    if left <= DUE_SOON_DAYS:
        sentence = f"Due on {day(latest.due_on)}, in {left} day{'' if left == 1 else 's'}."
        return CalibrationState(word="due soon", kind="warn", shape="wait", sentence=sentence)
    return CalibrationState(
        word="in calibration", kind="good", shape="good", sentence=f"Valid until {day(latest.due_on)}."
    )


def _invalid(word: str, sentence: str) -> CalibrationState:
    return CalibrationState(word=word, kind="bad", shape="bad", sentence=sentence)


def day(value: date) -> str:
    """Write a date that cannot be misread: ``05 Nov 2026``."""
    return f"{value:%d %b %Y}"


def shop_day(act: Act) -> date:
    """Return the date of an act in the shop's time zone."""
    return timezone.localtime(act.at).date()


def is_used(instrument: Instrument) -> bool:
    """Whether any reading, measurement or value of rework was taken with an instrument."""
    second = Reading.objects.filter(second_instrument=instrument)
    return second.exists() or any(
        rows.objects.filter(instrument=instrument).exists() for rows in (Reading, Measurement, Operation)
    )


@service("instruments")
def save_instrument(*, act: Act, instrument: Instrument | None = None, **fields: Any) -> Instrument:
    """Add an instrument to the register, or change one.

    ``fields`` are those of the model. Raises RuleBroken where the unit does not fit the quantity,
    and where code, quantity or unit of an instrument with readings would change.
    """
    row = locked(instrument) if instrument else Instrument()
    if instrument and is_used(row):
        _refuse_new_identity(row, fields)
    for name, value in fields.items():
        setattr(row, name, value)
    units = UNITS_OF.get(row.quantity, ())
    if row.unit not in units:
        raise RuleBroken(fields={"unit": f"Readings of {row.quantity} are kept in {' or '.join(units)}."})
    return keep(row)


def _refuse_new_identity(row: Instrument, fields: Mapping[str, Any]) -> None:
    wrong = {
        name: "This instrument has readings; register another one instead."
        for name in FIXED_ONCE_USED
        if name in fields and fields[name] != getattr(row, name)
    }
    if wrong:
        raise RuleBroken(fields=wrong)


@service("instruments")
def add_calibration(
    *,
    act: Act,
    instrument: Instrument,
    calibrated_on: date,
    due_on: date,
    certificate_no: str,
    done_by: str,
    in_tolerance: bool = True,
    adjusted: bool = False,
    error_found: float | None = None,
    error_at: float | None = None,
    certificate: "UploadedFile[Any] | None" = None,
) -> Calibration:
    """Record one calibration: ``in_tolerance`` as found, ``adjusted`` where it was out and is good as left.

    The error as found is reading minus true value at the reading ``error_at``, both in the unit of the
    instrument. Raises RuleBroken for a date in the future, a retired instrument, an error of an
    instrument found good, and a certificate that is neither PDF nor photo.
    """
    row = locked(instrument)
    if row.retired:
        raise RuleBroken("This instrument is retired; take it back into use first.")
    if calibrated_on > shop_day(act):
        raise RuleBroken(fields={"calibrated_on": "A calibration cannot lie in the future."})
    made = Calibration(
        instrument=row,
        calibrated_on=calibrated_on,
        due_on=due_on,
        certificate_no=certificate_no,
        done_by=done_by,
        in_tolerance=in_tolerance,
        adjusted=adjusted,
        error_found=error_found,
        error_at=error_at,
    )
    return _keep_calibration(act, made, certificate)


def _keep_calibration(
    act: Act, row: Calibration, certificate: "UploadedFile[Any] | None" = None
) -> Calibration:
    if row.in_tolerance and row.error_found is not None:
        message = "An error is entered where the instrument was found out of tolerance."
        raise RuleBroken(fields={"error_found": message})
    if certificate:
        row.file = store_paper(act=act, upload=certificate, field="certificate")
    return keep(row)


@service("instruments")
def correct_calibration(
    *, act: Act, calibration: Calibration, certificate: "UploadedFile[Any] | None" = None, **fields: Any
) -> Calibration:
    """Correct a wrongly entered calibration; the act's reason is required, history keeps the earlier.

    A certificate given takes the place of the one before, which stays in the files and the history.

    Readings already taken keep the calibration that they were judged with.
    """
    if not act.why:
        raise RuleBroken(fields={"why": "Say what was entered wrongly."})
    row = locked(calibration)
    for name, value in fields.items():
        setattr(row, name, value)
    if row.calibrated_on > shop_day(act):
        raise RuleBroken(fields={"calibrated_on": "A calibration cannot lie in the future."})
    return _keep_calibration(act, row, certificate)
