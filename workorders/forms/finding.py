"""The form of one finding: condition, cause and action as tiles, with a note and photos."""

from typing import Any

from django import forms

from shop.models import SealPosition
from workorders.forms.receiving import PhotoForm
from workorders.models import Finding
from workorders.models.finding import Grade
from workorders.services.inside_leaks import DRIFT, DRIFT_IS_NO_PROOF, can_leak_inside
from workorders.services.operation_values import GRADES, GRADES_SOURCE
from workorders.services.places import Place

Condition, Cause, Action = Finding.Condition, Finding.Cause, Finding.Action

SEAL_CONDITIONS = (
    Condition.SOUND,
    Condition.HARDENED,
    Condition.SWOLLEN,
    Condition.WORN,
    Condition.CUT,
    Condition.EXTRUDED,
    Condition.ROLLED,
    Condition.COMPRESSION_SET,
    Condition.CRACKED,
    Condition.BLISTERED,
    Condition.BROKEN_UP,
    Condition.MISSING,
    Condition.NOT_EXAMINED,
)
OTHER_CONDITIONS = (
    Condition.SOUND,
    Condition.WORN,
    Condition.SCORED,
    Condition.CORRODED,
    Condition.BENT,
    Condition.CRACKED,
    Condition.BROKEN_UP,
    Condition.OIL_WET,
    Condition.LOOSE,
    Condition.BLOCKED,
    Condition.MISSING,
    Condition.NOT_EXAMINED,
)
SEAL_ACTIONS = (Action.RENEWED, Action.KEPT, Action.REJECTED)
OTHER_ACTIONS = (Action.KEPT, Action.RENEWED, Action.REWORKED, Action.REJECTED)
# The honest answer first, so that nobody is led to invent a cause.
CAUSES: tuple[Finding.Cause, ...] = (
    Cause.NOT_DETERMINED,
    *(cause for cause in Cause if cause != Cause.NOT_DETERMINED),
)


def _tiles(label: str, **kwargs: Any) -> forms.ChoiceField:
    return forms.ChoiceField(label=label, widget=forms.RadioSelect, **kwargs)


# Asked of what is corroded or pitted; the style sheet hides them until that is chosen.
GRADED = ("corrosion", "pitting")


class FindingForm(PhotoForm):
    """What one place showed.

    The cause starts as not determined, and the action of a seal as renewed: most of the time one
    tap on the condition is all that is needed.
    """

    bench = True
    conditions: tuple[Finding.Condition, ...] = OTHER_CONDITIONS
    actions: tuple[Finding.Action, ...] = OTHER_ACTIONS
    field_order: tuple[str, ...] = (
        "condition",
        *GRADED,
        "evidence",
        "action",
        "cause",
        "note",
        "camera",
        "photo",
        "why",
    )

    condition = _tiles("Condition, as found")
    evidence = _tiles(
        "If it leaks inside: what shows it", required=False, help_text=DRIFT_IS_NO_PROOF, initial=""
    )
    corrosion = _tiles("How much corrosion", required=False, help_text=GRADES_SOURCE, initial="")
    pitting = _tiles("How much pitting", required=False, initial="")
    action = _tiles("Action")
    cause = _tiles("Likely cause", initial=Cause.NOT_DETERMINED)
    note = forms.CharField(
        label="Note", required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 2})
    )
    why = forms.CharField(
        label="Why it is corrected",
        max_length=200,
        help_text="The teardown is signed. What stood here stays in the history, beside this reason.",
    )

    def __init__(
        self, *args: Any, place: Place, finding: Finding | None, signed: bool, **kwargs: Any
    ) -> None:
        kwargs.setdefault("initial", self.first_answer(place, finding))
        super().__init__(*args, **kwargs)
        if isinstance(place, SealPosition):
            self.conditions, self.actions = SEAL_CONDITIONS, SEAL_ACTIONS
        if can_leak_inside(place):
            self.conditions = (*self.conditions[:-1], Condition.LEAKS_INSIDE, self.conditions[-1])
            shown = [(each.value, str(each.label)) for each in Finding.Evidence if each.value]
            self._choose("evidence", [*shown, (DRIFT, "drift under load")])
        else:
            del self.fields["evidence"]
        for name in GRADED:
            told = GRADES[name]
            graded = [(each.value, f"{each.label}: {told[each]}") for each in Grade]
            self._choose(name, [("", "not graded"), *graded])
            if Condition.CORRODED not in self.conditions:
                del self.fields[name]
        stands = [Condition(finding.condition)] if finding else []
        conditions = dict.fromkeys([*self.conditions, *stands])
        self._choose("condition", [(value, str(value.label)) for value in conditions])
        self._choose("action", [(value, str(value.label)) for value in self.actions])
        self._choose("cause", [(value, str(value.label)) for value in CAUSES])
        if not signed:
            del self.fields["why"]

    def first_answer(self, place: Place, finding: Finding | None) -> dict[str, Any]:
        """Return what the form shows at first: the finding that stands, or a seal as renewed."""
        if finding:
            names = ("condition", *GRADED, "evidence", "cause", "action", "note")
            return {name: getattr(finding, name) for name in names}
        return {"action": Action.RENEWED} if isinstance(place, SealPosition) else {}

    def _choose(self, name: str, choices: list[tuple[str, str]]) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)
        field.choices = choices

    def clean(self) -> dict[str, Any]:
        """Point a cause of something nobody examined to its field; only what is corroded has grades."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        grades = {data[name] for name in GRADED if name in data}
        if data.get("condition") != Condition.CORRODED:
            data |= {name: "" for name in GRADED if name in data}
        elif Grade.NONE in grades and grades <= {Grade.NONE, ""}:
            self.add_error("corrosion", "It is corroded or pitted, so one of the two is more than none.")
        unseen = data.get("condition") in (Condition.NOT_EXAMINED, Condition.NOT_HERE)
        if unseen and data.get("cause") not in (None, Cause.NOT_DETERMINED):
            self.add_error("cause", "Nobody examined it: choose “cause not determined”.")
        return data
