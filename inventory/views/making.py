"""Made in house: making a lot from pieces of others, taking it back, and recipes."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from inventory.forms.making import MakeLotForm, RecipeLineForm
from inventory.models import Lot, Part, RecipeLine
from inventory.services.making import (
    make_lot,
    propose_inputs,
    remove_recipe_line,
    save_recipe_line,
    take_back_making,
)
from inventory.views.lots import answer_lot
from shop.forms.rows import WhyForm
from shop.views.answers import act_of, answer_form, needs

BOTH = ["GET", "POST"]


@require_http_methods(BOTH)
@needs("make")
def lot_make(request: HttpRequest) -> HttpResponse:
    """Make a lot; part and pieces in the address propose what its recipe takes."""
    part, pieces = _asked(request)
    proposed, short = (
        propose_inputs(part=part, quantity=pieces, on=timezone.localdate()) if part else ([], [])
    )
    form = MakeLotForm(
        request.POST or None,
        proposed=proposed,
        initial={"part": part, "quantity": pieces, "done_by": request.user},
    )

    def write(_data: dict[str, Any]) -> Lot:
        return make_lot(act=act_of(request), inputs=form.inputs, **form.told)

    return answer_form(
        request,
        form=form,
        template="inventory/lot_make.html",
        write=write,
        context={
            "title": "Make a lot",
            "asked": part,
            "pieces": pieces,
            "short": short,
            "recipes": Part.objects.filter(recipe__isnull=False).distinct(),
            "trail": [("Lots", reverse("inventory:lots"))],
            "cancel_url": reverse("inventory:lots"),
        },
    )


def _asked(request: HttpRequest) -> tuple[Part | None, int]:
    part, pieces = request.GET.get("part", ""), request.GET.get("pieces", "")
    known = Part.objects.filter(pk=part).first() if part.isascii() and part.isdigit() else None
    return known, int(pieces) if pieces.isascii() and pieces.isdigit() and 0 < len(pieces) < 6 else 1


@require_http_methods(BOTH)
@needs("make")
def making_take_back(request: HttpRequest, number: str) -> HttpResponse:
    """Take a making back, with the reason."""
    row = get_object_or_404(Lot.objects.filter(made_here=True), number=number)
    return answer_lot(
        request,
        row,
        WhyForm(request.POST or None),
        "Take back the making of lot",
        "Take it back",
        lambda data: take_back_making(act=act_of(request, data["why"]), lot=row),
        "Every piece that went in returns to its place. The lot stays in the record, empty and on hold. "
        "This goes while nothing of it was used.",
    )


@require_http_methods(BOTH)
@needs("stores")
def recipe_line_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Add a part to the recipe of another."""
    made = get_object_or_404(Part, pk=pk)
    return _answer_line(request, made, RecipeLineForm(request.POST or None), None)


@require_http_methods(BOTH)
@needs("stores")
def recipe_line_change(request: HttpRequest, pk: int, line_pk: int) -> HttpResponse:
    """Change what goes into one piece."""
    line = get_object_or_404(RecipeLine.objects.select_related("made", "part"), pk=line_pk, made=pk)
    return _answer_line(request, line.made, RecipeLineForm(request.POST or None, instance=line), line)


def _answer_line(
    request: HttpRequest, made: Part, form: RecipeLineForm, line: RecipeLine | None
) -> HttpResponse:
    url = made.get_absolute_url()

    def write(data: dict[str, Any]) -> str:
        save_recipe_line(act=act_of(request), made=made, line=line, **data)
        return url

    remove = reverse("inventory:recipe_line_remove", args=[made.pk, line.pk]) if line else ""
    return answer_form(
        request,
        form=form,
        template="shop/form_page.html",
        write=write,
        context={
            "title": f"{'Change' if line else 'Add to'} the recipe of {made.number}",
            "note": "What goes into one piece. Lots made so far keep what went into them.",
            "submit": "Save this part",
            "trail": [("Parts", reverse("inventory:parts")), (made.number, url)],
            "links": [("Take it out of the recipe", remove)] if line else [],
            "cancel_url": url,
        },
    )


@require_http_methods(BOTH)
@needs("stores")
def recipe_line_remove(request: HttpRequest, pk: int, line_pk: int) -> HttpResponse:
    """Take a part out of a recipe, with the reason."""
    made = get_object_or_404(Part, pk=pk)
    lines = made.recipe.select_related("made", "part")
    line = lines.filter(pk=line_pk).first()
    if request.method == "GET" and not line:
        raise Http404("This recipe has no such line.")
    url = made.get_absolute_url()

    # Looked up inside the write: a repeated request still gets the answer of the first.
    def write(data: dict[str, Any]) -> str:
        remove_recipe_line(act=act_of(request, data["why"]), line=get_object_or_404(lines, pk=line_pk))
        return url

    return answer_form(
        request,
        form=WhyForm(request.POST or None),
        template="shop/form_page.html",
        write=write,
        context={
            "title": f"Take {line.part} out of the recipe" if line else "Take a part out of the recipe",
            "submit": "Take it out",
            "trail": [("Parts", reverse("inventory:parts")), (made.number, url)],
            "cancel_url": url,
        },
    )
