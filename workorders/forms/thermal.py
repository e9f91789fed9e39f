"""What is asked about the temperature in the file of a hold."""

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms

from shop.errors import RuleBroken
from shop.forms import number_field
from workorders.services.entries import NOT_THE_OIL, ThermalEntry
from workorders.services.ways.thermal import CAUTION, OIL_CHOICES

THERMAL = ("oil", "oil_column", "oil_error", "oil_volume")
EMPTY_COLUMN = ("", "the only such column")
LEGEND = "The temperature in the file"


def thermal_fields(columns: Sequence[tuple[int, str]]) -> dict[str, forms.Field]:
    """Return the fields about the temperature; ``columns`` are those of the file that are one."""
    return {
        "oil": forms.ChoiceField(
            label="The oil shut in is", choices=OIL_CHOICES, required=False, help_text=CAUTION
        ),
        "oil_column": forms.TypedChoiceField(
            label="Its temperature is in",
            choices=[EMPTY_COLUMN, *columns],
            coerce=int,
            required=False,
            empty_value=None,
        ),
        "oil_error": number_field(
            "Largest error of the change, ± (k = 2)", unit="K", required=False, min_value=0, max_value=100
        ),
        "oil_volume": number_field(
            "Oil shut in, of unit and rig together", unit="mL", required=False, min_value=0, max_value=500_000
        ),
    }


def thermal_entry(data: Mapping[str, Any]) -> ThermalEntry | None:
    """Return what was said of the temperature; None where nothing was.

    Raises RuleBroken beside the figure that is missing.
    """
    oil, error, volume = data.get("oil") or "", data.get("oil_error"), data.get("oil_volume")
    if not oil and (error is not None or volume is not None):
        raise RuleBroken(fields={"oil": "Say which oil it is, or leave its figures empty."})
    if not oil:
        return None
    if oil == NOT_THE_OIL:
        return ThermalEntry(oil=oil)
    if error is None:
        raise RuleBroken(fields={"oil_error": "Say by how much the change of the temperature may be off."})
    if volume is not None and not volume > 0:
        raise RuleBroken(fields={"oil_volume": "The oil shut in is above 0 mL."})
    return ThermalEntry(
        oil=oil,
        column=data.get("oil_column"),
        error_k=float(error),
        volume_ml=None if volume is None else float(volume),
    )
