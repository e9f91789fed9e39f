"""The one field of a lesson, and the forms of its review."""

from typing import Any

from django import forms

from shop.forms import PhotosField, ShopForm
from shop.models import Step


class LessonForm(ShopForm):
    """What was learned, in one field, with a photo where it helps."""

    bench = True

    text = forms.CharField(
        label="What you learned",
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="For whoever does this next. It is seen at once, marked as not reviewed.",
    )
    photo = PhotosField(label="Photo, where it helps", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("prefix", "lesson")  # it stands beside other forms, whose names it must not take
        super().__init__(*args, **kwargs)

    def clean_photo(self) -> Any:
        """Take one photo."""
        uploads = self.cleaned_data["photo"]
        if len(uploads) > 1:
            raise forms.ValidationError("One photo; write another lesson for the other.")
        return uploads[0] if uploads else None


class TakeOverForm(ShopForm):
    """A lesson as the technique note that it becomes."""

    step = forms.ChoiceField(label="Shown at the step", choices=Step.choices)
    text = forms.CharField(label="The note", max_length=2000, widget=forms.Textarea(attrs={"rows": 5}))
