"""Forms with which the bench adds a place to a draft type: a tap on its kind is often all it takes."""

from typing import Any, ClassVar

from django import forms
from django.db.models import Q

from shop.forms import ShopForm
from shop.models import Component, DimensionLimit, Hose, Port, SealPosition, TypeRevision
from shop.services.catalogue import Place

CODE_HELP = "The next free one is proposed."
MOTION = [("", "as usual for its kind"), *SealPosition.Motion.choices]


class FoundPlaceForm(ShopForm):
    """What every place has; what is left empty is filled in by the service."""

    bench = True
    kept: ClassVar[tuple[str, ...]] = ("code", "name", "order")

    code = forms.CharField(label="Code", max_length=12, required=False, help_text=CODE_HELP)
    name = forms.CharField(
        label="Name", max_length=80, required=False, help_text="Left empty, it is named after its kind."
    )
    order = forms.IntegerField(
        label="Place in the order",
        required=False,
        min_value=0,
        max_value=999,
        help_text="Left empty, it comes last.",
    )

    def __init__(
        self, *args: Any, row: Place | None, code: str, revision: TypeRevision, **kwargs: Any
    ) -> None:
        first = {name: getattr(row, name) for name in self.kept} if row else {"code": code}
        kwargs.setdefault("initial", first)
        super().__init__(*args, **kwargs)
        if row:
            for name in ("code", "name", "order"):
                self.fields[name].required = True
                self.fields[name].help_text = ""


class FoundPositionForm(FoundPlaceForm):
    """A seal position as found."""

    kept = (*FoundPlaceForm.kept, "kind", "motion")
    field_order = ("kind", "motion", "code", "name", "order")

    kind = forms.ChoiceField(label="What seals here", choices=SealPosition.Kind, widget=forms.RadioSelect)
    motion = forms.ChoiceField(label="How it moves", choices=MOTION, required=False, widget=forms.RadioSelect)

    def __init__(self, *args: Any, row: Place | None, **kwargs: Any) -> None:
        super().__init__(*args, row=row, **kwargs)
        if row:
            motion = self.fields["motion"]
            assert isinstance(motion, forms.ChoiceField)
            motion.choices, motion.required = SealPosition.Motion.choices, True


class FoundComponentForm(FoundPlaceForm):
    """A component that is no seal."""

    kept = (*FoundPlaceForm.kept, "kind")
    field_order = ("kind", "code", "name", "order")

    kind = forms.ChoiceField(label="What it is", choices=Component.Kind, widget=forms.RadioSelect)


class FoundPortForm(FoundPlaceForm):
    """A port; the hose that was on it is a row of its own."""

    kept = (*FoundPlaceForm.kept, "fitting", "thread")
    field_order = ("fitting", "thread", "code", "name", "order")

    fitting = forms.ChoiceField(label="How the hose is held", choices=Port.Fitting, widget=forms.RadioSelect)
    thread = forms.CharField(label="Thread or fitting size", max_length=40, required=False)


class FoundHoseForm(FoundPlaceForm):
    """A hose with the port that it belongs on."""

    kept = (*FoundPlaceForm.kept, "attachment")
    field_order = ("port", "attachment", "code", "name", "order")

    port = forms.ModelChoiceField(
        Port.objects.none(),
        label="Port that it belongs on",
        empty_label=None,
        widget=forms.RadioSelect,
        help_text="A port that is not here yet is added first.",
    )
    attachment = forms.ChoiceField(
        label="Fixed or removable",
        choices=Hose.Attachment,
        initial=Hose.Attachment.NOT_KNOWN,
        widget=forms.RadioSelect,
    )

    def __init__(
        self, *args: Any, row: Place | None, code: str, revision: TypeRevision, **kwargs: Any
    ) -> None:
        hose = row if isinstance(row, Hose) else None
        if hose is None:
            kwargs.setdefault("initial", {"code": code, "attachment": Hose.Attachment.NOT_KNOWN})
        super().__init__(*args, row=row, code=code, revision=revision, **kwargs)
        port = self.fields["port"]
        assert isinstance(port, forms.ModelChoiceField)
        own = hose.port_id if hose else None
        port.queryset = revision.ports.filter(Q(hose__isnull=True) | Q(pk=own))
        self.initial.setdefault("port", own)
        self.fields["code"].label = "Number of the hose"


class FoundDimensionForm(FoundPlaceForm):
    """A dimension to measure; its limits are the lead's."""

    kept = (*FoundPlaceForm.kept, "quantity", "unit", "stations")
    field_order = ("quantity", "name", "unit", "stations", "code", "order")

    quantity = forms.ChoiceField(
        label="What is measured", choices=DimensionLimit.Quantity, widget=forms.RadioSelect
    )
    unit = forms.ChoiceField(
        label="In", choices=[("mm", "mm"), ("µm", "µm")], initial="mm", widget=forms.RadioSelect
    )
    stations = forms.IntegerField(label="Readings to take", min_value=1, max_value=20, initial=3)

    def __init__(self, *args: Any, row: Place | None, code: str, **kwargs: Any) -> None:
        if row is None:
            kwargs.setdefault("initial", {"code": code, "unit": "mm", "stations": 3})
        super().__init__(*args, row=row, code=code, **kwargs)


FORMS: dict[str, type[FoundPlaceForm]] = {
    "position": FoundPositionForm,
    "component": FoundComponentForm,
    "port": FoundPortForm,
    "hose": FoundHoseForm,
    "dimension": FoundDimensionForm,
}
