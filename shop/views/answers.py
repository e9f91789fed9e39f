"""How every page answers: a form once, a refusal with everything kept."""

import uuid
from collections.abc import Callable, Mapping
from functools import wraps
from typing import Any

from django.core.exceptions import BadRequest
from django.db import transaction
from django.forms import Form
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render

from shop.errors import NotAllowed, RuleBroken
from shop.models import FormToken
from shop.roles import may, refusal
from shop.services.writing import Act, staging

View = Callable[..., HttpResponseBase]
MOST_WORDS = 25


def act_of(request: HttpRequest, why: str = "") -> Act:
    """Return the act of the signed-in person, now."""
    return Act(by=request.user, why=why)  # type: ignore[arg-type]


def searched(request: HttpRequest) -> str:
    """Return the search text ``q`` of a page, of a pasted page of text its first words.

    PostgreSQL refuses the NUL that some scanners send, and each word is a condition: a thousand
    are more than a database takes.
    """
    text = request.GET.get("q", "").replace("\0", "").strip()
    words = text.split()
    return text if len(words) <= MOST_WORDS else " ".join(words[:MOST_WORDS])


def needs(action: str) -> Callable[[View], View]:
    """Decorate a view: answer 403 with the reason unless the person may do the action."""

    def wrap(view: View) -> View:
        @wraps(view)
        def run(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            if not may(request.user, action):
                raise NotAllowed(refusal(request.user, action))
            return view(request, *args, **kwargs)

        run.action = action  # type: ignore[attr-defined]
        return run

    return wrap


def once(request: HttpRequest, write: Callable[[], Any]) -> str:
    """Run a write once per form token and return the address that its answer leads to.

    The token is stored with the result in the write's own transaction: a repeat of the request
    writes nothing and gets the same address; a refused write does not consume the token.
    ``write`` returns an address or a row with ``get_absolute_url``.
    """
    try:
        token = uuid.UUID(request.POST.get("form_token", ""))
    except ValueError as error:
        raise BadRequest("The form came without its token. Open the page again.") from error
    # Fields refuse it beside themselves; the reason of a single button has none. PostgreSQL keeps no NUL.
    if any("\0" in text for _name, texts in request.POST.lists() for text in texts):
        raise BadRequest("A text of the form holds a NUL, which no text has. Write it again.")
    user = request.user if request.user.is_authenticated else None
    with staging(), transaction.atomic():
        row, made = FormToken.objects.get_or_create(
            token=token, defaults={"user": user, "path": request.path[:300]}
        )
        if not made:
            if row.user_id != (user.pk if user else None) or row.path != request.path[:300]:
                raise BadRequest("This form token belongs to another form. Open the page again.")
            return row.result_url
        result = write()
        row.result_url = result if isinstance(result, str) else result.get_absolute_url()
        row.save()
    return row.result_url


def answer_form(
    request: HttpRequest,
    *,
    form: Form,
    template: str,
    write: Callable[[dict[str, Any]], Any],
    context: Mapping[str, Any] | None = None,
) -> HttpResponse:
    """Answer a page with one form.

    GET renders it. POST runs ``write`` with the cleaned data, once, and redirects to its result.
    A wrong form or a broken rule renders the same page with status 422 and the values kept.
    """
    status = 200
    if request.method == "POST":
        if form.is_valid():
            try:
                return redirect(once(request, lambda: write(form.cleaned_data)))
            except RuleBroken as error:
                show_rule(form, error)
        status = 422
    return render(request, template, {**(context or {}), "form": form}, status=status)


def answer_post(request: HttpRequest, write: Callable[[], Any]) -> HttpResponse:
    """Answer a single button: run the write once and redirect to its result.

    A broken rule reaches the page for refusals, which says that nothing was saved.
    """
    return redirect(once(request, write))


def show_rule(form: Form, error: RuleBroken) -> None:
    """Put the messages of a broken rule beside their fields, or above the form."""
    for name, message in error.fields.items():
        form.add_error(name if name in form.fields else None, message)
    if error.message:
        form.add_error(None, error.message)
