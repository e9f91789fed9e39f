"""The one way forms are drawn: renderer, base form and fields with their unit."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.forms import ModelChoiceField
from django.forms.boundfield import BoundField
from django.forms.renderers import DjangoTemplates

DASHES = models.fields.BLANK_CHOICE_DASH[0][1]


class FieldRenderer(DjangoTemplates):
    """Draws every field by the shop's template: label, help, error, control."""

    field_template_name = "shop/field.html"


@dataclass(frozen=True)
class ErrorLine:
    """One line of the error summary; ``target`` is the id of the control, or empty."""

    target: str
    label: str
    message: str


@dataclass(frozen=True)
class FieldGroup:
    """Fields drawn under one legend."""

    legend: str
    fields: list[BoundField]


class ShopForm(forms.Form):
    """Base of the shop's forms.

    ``bench`` makes choice tiles and the submit button large enough for gloves. ``groups`` puts
    named fields under a legend; fields that no group names come first, without a legend, and a
    field that this form lacks is left out.
    """

    bench: ClassVar[bool] = False
    refused: ClassVar[str] = "Nothing was saved"
    groups: ClassVar[Sequence[tuple[str, Sequence[str]]]] = ()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("label_suffix", "")
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            _say_what_empty_is(field)

    def full_clean(self) -> None:
        """Check the form; fields that were added to it late speak in the shop's words as well."""
        for field in self.fields.values():
            _say_what_is_missing(field)
            _say_limits(field)
        super().full_clean()

    @property
    def field_groups(self) -> list[FieldGroup]:
        """Visible fields in the order they are drawn."""
        named = {name for _legend, names in self.groups for name in names}
        loose = [field for field in self.visible_fields() if field.name not in named]
        grouped = [
            FieldGroup(legend, [self[name] for name in names if name in self.fields])
            for legend, names in self.groups
        ]
        return [group for group in (FieldGroup("", loose), *grouped) if group.fields]

    @property
    def error_lines(self) -> list[ErrorLine]:
        """Every error of the form, its own first, then by field in the order of drawing."""
        return list(_error_lines(self)) if self.is_bound else []

    @property
    def only_error(self) -> str:
        """Name of the field when it alone is wrong, else empty: that field then takes the focus."""
        names = list(self.errors) if self.is_bound else []
        if len(names) == 1 and names[0] in self.fields and not self[names[0]].is_hidden:
            return names[0]
        return ""


def _say_what_is_missing(field: forms.Field) -> None:
    """Replace Django's sentence for a missing value, unless the form has words of its own."""
    if field.error_messages.get("required") != forms.Field.default_error_messages["required"]:
        return
    if isinstance(field, forms.BooleanField):
        field.error_messages["required"] = "This must be ticked."
    elif isinstance(field, forms.ChoiceField | ModelChoiceField):
        field.error_messages["required"] = "Nothing is chosen yet."
    else:
        field.error_messages["required"] = "This is still empty."


def _say_limits(field: forms.Field) -> None:
    """Replace Django's sentences for a number outside its limits, unless the field has words of its own."""
    for validator in field.validators:
        for kind, words in ((MinValueValidator, "at least"), (MaxValueValidator, "at most")):
            if isinstance(validator, kind) and validator.message == kind.message:
                validator.message = f"Must be {words} %(limit_value)s."


def _say_what_empty_is(field: forms.Field) -> None:
    """Replace Django's row of dashes at the head of a list by words, unless the form has its own."""
    words = "Choose" if field.required else "not chosen"
    if isinstance(field, ModelChoiceField):
        if field.empty_label == DASHES:
            field.empty_label = words
    elif isinstance(field, forms.ChoiceField):
        choices: Any = field.choices
        first, *others = list(choices) or [()]
        if first == ("", DASHES):
            field.choices = [("", words), *others]


def _error_lines(form: ShopForm) -> Iterator[ErrorLine]:
    for message in form.non_field_errors():
        yield ErrorLine("", "", str(message))
    for field in form.hidden_fields():
        for message in field.errors:
            yield ErrorLine("", str(field.label), str(message))
    labels = Counter(str(field.label) for field in form.visible_fields())
    for group in form.field_groups:
        for field in group.fields:
            label = str(field.label).rstrip(".")
            # Where two groups ask for a reading each, the legend tells which.
            named = f"{group.legend}, {label}" if group.legend and labels[label] > 1 else label
            for message in field.errors:
                yield ErrorLine(control_id(field), named, str(message))


def control_id(field: BoundField) -> str:
    """Return the id of the control that a link to this field should land on."""
    return field.id_for_label or f"{field.auto_id}_0"


def number_field(
    label: str,
    *,
    unit: str,
    places: int | None = None,
    required: bool = True,
    field_class: type[forms.DecimalField] = forms.DecimalField,
    **kwargs: Any,
) -> forms.DecimalField:
    """Build a decimal field that shows ``unit`` after the number.

    ``places`` limits the decimals; other keywords (``min_value``, ``max_value``, ``help_text``)
    go to ``DecimalField``. The cleaned value is a ``Decimal`` in ``unit``.
    """
    widget = forms.NumberInput(attrs={"data-unit": unit, "inputmode": "decimal"})
    field = field_class(label=label, widget=widget, decimal_places=places, required=required, **kwargs)
    shown = unit.replace("%", "%%")  # the limit is set in by %-formatting
    for validator in field.validators:
        if isinstance(validator, MinValueValidator):
            validator.message = f"Must be at least {f'%(limit_value)s {shown}'.strip()}."
        elif isinstance(validator, MaxValueValidator):
            validator.message = f"Must be at most {f'%(limit_value)s {shown}'.strip()}."
    return field


class ManyFilesInput(forms.ClearableFileInput):
    """File control that takes several files at once."""

    allow_multiple_selected = True


class FilesField(forms.FileField):
    """Zero or more files, papers unless told otherwise; cleans to a list of uploads, in the order chosen."""

    widget = ManyFilesInput(attrs={"accept": "application/pdf,image/jpeg,image/png,image/webp"})

    def clean(self, data: Any, initial: Any = None) -> list[Any]:
        """Clean every upload by the rules of a single file; missing ones give an empty list."""
        uploads = data if isinstance(data, list | tuple) else [data]
        cleaned = [super(FilesField, self).clean(upload, initial) for upload in uploads]
        return [upload for upload in cleaned if upload]


class PhotosField(FilesField):
    """Zero or more photos."""

    widget = ManyFilesInput(attrs={"accept": "image/jpeg,image/png,image/webp", "data-photos": True})
