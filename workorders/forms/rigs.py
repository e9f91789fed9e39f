"""Forms of the register of rigs, and of the files that rigs sent."""

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms

from shop.forms import ShopForm
from shop.models import Fluid, StepLimit
from workorders.calc.serial import grouped
from workorders.forms.asked import InstrumentField
from workorders.forms.outside_work import date_field
from workorders.models import Instrument, PressureTest, Rig, RigFile


class RigForm(ShopForm):
    """A test rig of the shop."""

    code = forms.CharField(label="Code", max_length=20, help_text="As on the rig; without spaces.")
    name = forms.CharField(label="What it is", max_length=120)
    place = forms.CharField(label="Where it stands", max_length=80, required=False)
    fluid = forms.ModelChoiceField(
        Fluid.objects.all(),
        label="Fluid in it now",
        required=False,
        empty_label="not known",
        help_text="Proposed where a test starts on this rig.",
    )
    note = forms.CharField(
        label="Note", max_length=600, required=False, widget=forms.Textarea(attrs={"rows": 3})
    )


class RigChangeForm(RigForm):
    """A change to a rig, with its reason."""

    retired = forms.BooleanField(label="Retired: nothing that it sends is taken", required=False)
    why = forms.CharField(label="Why it is changed", max_length=200)

    @classmethod
    def initial_of(cls, rig: Rig) -> dict[str, Any]:
        """Return the present values of a rig."""
        return {name: getattr(rig, name) for name in cls.base_fields if name != "why"}


class MountedField(forms.ModelChoiceField):  # type: ignore[type-arg]
    """A choice of the instruments in use, with the rig that one is mounted on."""

    def label_from_instance(self, obj: Instrument) -> str:
        """Name an instrument and where it is mounted; one is mounted once at most."""
        on = [channel.rig.code for channel in obj.channels.all()]
        return f"{obj}" + (f" (on {on[0]})" if on else "")


class MountForm(ShopForm):
    """An instrument that is mounted on a rig."""

    instrument = MountedField(
        Instrument.objects.filter(retired=False).prefetch_related("channels__rig"),
        label="Instrument",
        empty_label="Choose the instrument",
    )
    column = forms.CharField(
        label="Column that it writes",
        max_length=80,
        required=False,
        help_text="The heading in the files of this rig. Leave it empty where a file has one pressure.",
    )


class TokenForm(ShopForm):
    """A new token of a rig."""

    used_for = forms.CharField(
        label="Where it will be kept", max_length=80, help_text="Such as: logger PC of the left bench."
    )
    last_day = date_field(
        "Last day on which it is taken",
        required=False,
        help_text="Put a new one in place before it. Empty: it is good until it is revoked.",
    )


class GiveForm(ShopForm):
    """The reading that a file kept aside is handed in for."""

    field_order = ["reading", "instrument", "why"]
    reading = forms.TypedChoiceField(label="Hand it in for", coerce=str, widget=forms.RadioSelect)
    why = forms.CharField(
        label="Reason",
        max_length=200,
        required=False,
        help_text="Only where the rig named another unit.",
    )

    def __init__(
        self,
        *args: Any,
        rig_file: RigFile,
        readings: Sequence[tuple[PressureTest, StepLimit]],
        states: Mapping[int, str],
        **kwargs: Any,
    ) -> None:
        chosen = InstrumentField(quantity=Instrument.Quantity.PRESSURE, unit="bar", states=states)
        self.base_fields = {**type(self).base_fields, "instrument": chosen}  # type: ignore[misc]
        super().__init__(*args, **kwargs)
        self.readings = {f"{test.pk}-{limit.pk}": (test, limit) for test, limit in readings}
        field = self.fields["reading"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [(key, _words(test, limit)) for key, (test, limit) in self.readings.items()]
        if rig_file.unit_id is None:
            del self.fields["why"]
        if not self.is_bound and len(self.readings) == 1:
            self.initial.setdefault("reading", next(iter(self.readings)))

    @property
    def chosen(self) -> dict[str, Any]:
        """Test, reading and instrument as chosen."""
        test, limit = self.readings[self.cleaned_data["reading"]]
        return {"test": test, "limit": limit, "instrument": self.cleaned_data["instrument"]}


def _words(test: PressureTest, limit: StepLimit) -> str:
    unit = test.rebuild.unit
    what = f"test {test.number}, step {limit.step}, {limit.reading}"
    return f"{grouped(unit.serial)}, {unit.unit_type.name}: {what}"
