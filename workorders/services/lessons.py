"""Lessons from the bench: written once, seen at once, taken over or declined by the lead."""

from collections.abc import Iterable
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.db.models import Q
from django.utils import timezone

from shop.errors import RuleBroken
from shop.models import TypeRevision
from shop.services import catalogue
from shop.services.files import store_photo
from shop.services.writing import Act, keep, locked, service
from workorders.models import Lesson, LessonReview, Rebuild
from workorders.models.finding import PLACE_FIELDS
from workorders.services.places import KINDS, Place, at, kind_of, require_place_of

Outcome = LessonReview.Outcome
RELATED = (*PLACE_FIELDS, "by", "photo", "review__revision", "review__by")
# More than anybody reads at the bench; the list of lessons has them all.
SHOWN = 40


@service("lesson")
def write_lesson(
    *,
    act: Act,
    rebuild: Rebuild,
    step: str,
    text: str,
    place: Place | None = None,
    photo: "UploadedFile[Any] | None" = None,
) -> Lesson:
    """Write what was learned at a step of a rebuild; ``place`` None is the whole unit.

    It stands beside the record and changes nothing of it, so it may be written at any time.
    Raises RuleBroken for an empty text, a place of another revision, and what is not a photo.
    """
    if place:
        require_place_of(rebuild.revision, place)
    if not text.strip():
        raise RuleBroken(fields={"text": "Write what was learned."})
    stored = store_photo(act=act, upload=photo) if photo else None
    return keep(
        Lesson(
            rebuild=rebuild,
            **at(place),
            step=step,
            text=text.strip(),
            photo=stored,
            by=act.by,
            at=act.at,
            why=act.why,
        )
    )


@service("lesson")
def withdraw_lesson(*, act: Act, lesson: Lesson) -> LessonReview:
    """Take one's own lesson back for the reason in ``act.why``; it stays in the list.

    Raises RuleBroken for somebody else's lesson, without a reason, and once it is reviewed.
    """
    if lesson.by_id != act.by.pk:
        raise RuleBroken("Only who wrote a lesson withdraws it; the lead declines it.")
    return _review(act, lesson, Outcome.WITHDRAWN)


@service("catalogue")
def decline_lesson(*, act: Act, lesson: Lesson) -> LessonReview:
    """Decline a lesson for the reason in ``act.why``; the bench no longer sees it.

    Raises RuleBroken without a reason, and once it is reviewed.
    """
    return _review(act, lesson, Outcome.DECLINED)


@service("catalogue")
def take_over_lesson(*, act: Act, lesson: Lesson, text: str, step: str) -> LessonReview:
    """Make a lesson a technique note in the draft of its unit type, which is started where none is open.

    The note says which lesson it comes from. Raises RuleBroken for an empty text, where the draft
    has no place of that code, and once the lesson is reviewed.
    """
    if not text.strip():
        raise RuleBroken(fields={"text": "Write the note as the bench shall read it."})
    unit_type = lesson.rebuild.revision.unit_type
    draft = unit_type.revisions.filter(state=TypeRevision.State.DRAFT).first()
    draft = draft or catalogue.draft_revision(act=act, unit_type=unit_type)
    written = f"{timezone.localtime(lesson.at):%d %b %Y}"
    catalogue.save_place(
        act=act,
        revision=draft,
        place="note",
        step=step,
        text=text.strip(),
        basis=f"Lesson {lesson.pk} of {lesson.by}, {written}, unit {lesson.rebuild.unit.serial}",
        order=draft.technique_notes.count() + 1,
        **_place_in(draft, lesson),
    )
    return _review(act, lesson, Outcome.TAKEN_OVER, draft)


def _place_in(draft: TypeRevision, lesson: Lesson) -> dict[str, Any]:
    """Return the pointer to the place of a lesson in another revision, found by its code.

    Technique of a hose stands at its port.
    """
    place = lesson.hose.port if lesson.hose else lesson.place
    if place is None:
        return {}
    kind = kind_of(place)
    found = KINDS[kind]._default_manager.filter(revision=draft, code=place.code).first()
    if found is None:
        raise RuleBroken(f"{draft} has no {place}: add it there first, or decline the lesson.")
    return {kind: found}


def _review(act: Act, lesson: Lesson, outcome: str, revision: TypeRevision | None = None) -> LessonReview:
    row = locked(lesson)
    if LessonReview.objects.filter(lesson=row).exists():
        raise RuleBroken("This lesson is reviewed or withdrawn already.")
    if outcome != Outcome.TAKEN_OVER and not act.why.strip():
        raise RuleBroken(fields={"why": "Say why; the reason stays with the lesson."})
    return keep(
        LessonReview(
            lesson=row, outcome=outcome, revision=revision, by=act.by, at=act.at, why=act.why.strip()[:300]
        )
    )


def lessons_for(rebuilds: Iterable[Rebuild], *, step: str) -> dict[int, list[Lesson]]:
    """Return what the bench sees at a step, by the key of the unit type, the latest first; one query.

    That are lessons that are not reviewed, and those taken over into a revision later than the one
    that the rebuild is built to, which does not show the note yet.
    """
    built_to = {rebuild.revision.unit_type_id: rebuild.revision.number for rebuild in rebuilds}
    wanted = Q()
    for unit_type, number in built_to.items():
        waiting = Q(review__isnull=True) | Q(review__revision__number__gt=number)
        wanted |= Q(rebuild__revision__unit_type=unit_type) & waiting
    found: dict[int, list[Lesson]] = {key: [] for key in built_to}
    rows = Lesson.objects.filter(wanted, step=step).select_related(*RELATED, "rebuild__revision")
    for row in rows[: SHOWN * len(built_to)]:
        found[row.rebuild.revision.unit_type_id].append(row)
    return found
