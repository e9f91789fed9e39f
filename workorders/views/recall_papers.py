"""The papers of a recall: letters issued, issued anew, all in one archive, and the call sheet."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from shop.forms.rows import WhyForm
from shop.views.answers import act_of, answer_form, answer_post, needs
from workorders.models import RecallLetter
from workorders.services import recall_papers as service
from workorders.views.recalls import recall_of


@require_POST
@needs("recall_calls")
def issue(request: HttpRequest, number: str) -> HttpResponse:
    """Issue the letters that are still to be written."""
    row = recall_of(number)

    def write() -> str:
        letters = service.issue_letters(act=act_of(request), recall=row)
        count = len(letters)
        words = (
            f"{count} letter{'' if count == 1 else 's'} issued." if count else "No letter was to be written."
        )
        messages.success(request, words)
        return f"{row.get_absolute_url()}#letters"

    return answer_post(request, write)


@require_http_methods(["GET", "POST"])
@needs("recall_calls")
def reissue(request: HttpRequest, pk: int) -> HttpResponse:
    """Issue one letter anew, with the reason."""
    letter = get_object_or_404(RecallLetter.objects.select_related("recall", "customer"), pk=pk)
    row = letter.recall

    def write(data: dict[str, str]) -> str:
        new = service.reissue_letter(act=act_of(request, data["why"]), letter=letter)
        messages.success(request, f"Letter {new} replaces {letter}.")
        return f"{row.get_absolute_url()}#letters"

    context = {
        "title": f"Issue letter {letter} anew",
        "note": f"To {letter.customer}. The new letter says which one it replaces and why; both stay.",
        "submit": "Issue it anew",
        "trail": [("Recalls", reverse("workorders:recalls")), (str(row), row.get_absolute_url())],
        "cancel_url": row.get_absolute_url(),
    }
    return answer_form(
        request,
        form=WhyForm(request.POST or None),
        template="shop/form_page.html",
        write=write,
        context=context,
    )


@require_GET
@needs("see")
def letters_zip(request: HttpRequest, number: str) -> HttpResponse:
    """All letters in force, as they were issued, in one archive."""
    row = recall_of(number)
    response = HttpResponse(service.letters_zip(row), content_type="application/zip")
    response["Content-Disposition"] = f'attachment; filename="letters-{row}.zip"'
    return response


@require_GET
@needs("see")
def call_sheet(request: HttpRequest, number: str) -> HttpResponse:
    """The call sheet as it stands, as PDF."""
    row = recall_of(number)
    paper = service.call_sheet(row, on=timezone.localdate())
    response = HttpResponse(paper, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="call-sheet-{row}.pdf"'
    return response
