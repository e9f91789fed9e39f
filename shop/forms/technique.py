"""Forms of technique: notes, fastening figures, needs of special tools, and the tools themselves."""

from typing import Any

from django import forms

from shop.forms.rows import RowForm, row_field
from shop.models import FasteningFigure, SpecialTool, TechniqueNote, ToolNeed, TypeRevision

WHOLE_UNIT = "the whole unit"
POINTERS = ("position", "component", "port")


def where_choices(revision: TypeRevision) -> list[tuple[str, str]]:
    """Return the places of a revision by the values that forms and addresses name them with."""
    groups: tuple[Any, ...] = (revision.positions, revision.components, revision.ports)
    rows = [
        (f"{kind}-{row.pk}", str(row))
        for kind, group in zip(POINTERS, groups, strict=True)
        for row in group.all()
    ]
    return [("", WHOLE_UNIT), *rows]


class TechniqueForm(RowForm):
    """A row of technique; ``where`` stands for the three keys of which one at most is set."""

    where = forms.ChoiceField(label="Where", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["where"].choices = where_choices(self.instance.revision)  # type: ignore[attr-defined]
        place = self.instance.place
        if place:
            kind = next(name for name in POINTERS if getattr(self.instance, f"{name}_id"))
            self.initial.setdefault("where", f"{kind}-{place.pk}")

    def clean(self) -> dict[str, Any]:
        """Turn the place chosen into the key that points to it."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        kind, _dash, pk = data.pop("where", "").partition("-")
        for name in POINTERS:
            model: Any = TechniqueNote._meta.get_field(name).related_model
            data[name] = model.objects.get(pk=pk) if kind == name else None
        return data


class NoteForm(TechniqueForm):
    """How one step is done."""

    class Meta:
        model = TechniqueNote
        fields = ("step", "text", "basis", "order")
        formfield_callback = row_field
        labels = {"step": "Shown at the step"}
        help_texts = {"basis": "A drawing, a named source, or “common practice, no source”."}

    field_order = ("step", "where", "text", "basis", "order")


class FasteningForm(TechniqueForm):
    """How tight something is fastened."""

    class Meta:
        model = FasteningFigure
        fields = (
            *("what", "pieces", "torque_nm", "tolerance_nm", "least_nm", "most_nm"),
            *("threads", "sequence", "locker", "locker_note", "cure_h", "basis", "required", "order"),
        )
        formfield_callback = row_field
        help_texts = {
            "what": "Such as: gland nut, or screws of the end cover.",
            "sequence": "Such as: crosswise in two stages, half the torque first.",
            "locker_note": "The shop's own choice; the strength alone is the figure.",
            "cure_h": "No pressure before. Common practice, no source: the maker's data sheet decides, "
            "and cold metal takes longer.",
            "basis": "Where torque and thread locker come from: a drawing, a calculation, a named source. "
            "Say “from memory” where they do.",
        }

    groups = (
        ("What and where", ("what", "where", "pieces", "order")),
        (
            "Torque: with its ±, or least and most",
            ("torque_nm", "tolerance_nm", "least_nm", "most_nm", "threads", "sequence"),
        ),
        ("Thread locker", ("locker", "locker_note", "cure_h")),
        ("Where it comes from", ("basis", "required")),
    )


class ToolNeedForm(TechniqueForm):
    """A special tool that a step needs."""

    class Meta:
        model = ToolNeed
        fields = ("tool", "step", "note", "order")
        formfield_callback = row_field
        labels = {"step": "Shown at the step"}

    field_order = ("tool", "where", "step", "note", "order")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        tool = self.fields["tool"]
        tool.queryset = SpecialTool.objects.filter(gone=False)  # type: ignore[attr-defined]
        tool.empty_label = "Choose a tool"  # type: ignore[attr-defined]
        step = self.fields["step"]
        step.choices = [("", "every step"), *step.choices[1:]]  # type: ignore[attr-defined]


TECHNIQUE_FORMS: dict[str, type[RowForm]] = {
    "note": NoteForm,
    "fastening": FasteningForm,
    "tool": ToolNeedForm,
}


class ToolForm(RowForm):
    """A special tool or fixture."""

    class Meta:
        model = SpecialTool
        fields = ("number", "name", "kept_at", "note")
        formfield_callback = row_field
        help_texts = {"number": "As it is stamped or painted on it.", "kept_at": "Such as: wall B, hook 14."}


class ToolChangeForm(ToolForm):
    """A special tool to change, with the reason."""

    class Meta(ToolForm.Meta):
        fields = ("number", "name", "kept_at", "note", "gone")  # type: ignore[assignment]

    why = forms.CharField(label="Reason for the change", max_length=200)
