"""People and what each role may do."""

from typing import Any

from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from shop.changes import changes
from shop.forms.people import ChangePersonForm, NewPasswordForm, NewPersonForm
from shop.models import User
from shop.roles import ACTIONS, ROLES, may
from shop.services.people import change_person, enter_person, set_new_password
from shop.views import columns
from shop.views.answers import act_of, answer_form, needs, searched
from shop.views.sorting import in_order
from shop.views.tables import answer_list

STATES = (("may", "may sign in"), ("out", "signed out for good"))


@require_GET
@needs("see")
def people(request: HttpRequest) -> HttpResponse:
    """Who works here, and what each role may do."""
    rows, text = User.objects.prefetch_related("groups"), searched(request)
    role, state = request.GET.get("role", ""), request.GET.get("state", "")
    for word in text.split():
        rows = rows.filter(
            Q(printed_name__icontains=word) | Q(username__icontains=word) | Q(authority_no__icontains=word)
        )
    if role in ROLES:
        rows = rows.filter(groups__name=role)
    if state in dict(STATES):
        rows = rows.filter(is_active=state == "may")
    rows = in_order(request, columns.PEOPLE, rows.order_by("-is_active", "printed_name", "pk"))
    context = {
        "people": rows,
        "text": text,
        "role": role,
        "state": state,
        "states": STATES,
        "roles": ROLES,
        "actions": [
            (words, [role in allowed for role in ROLES])
            for name, (words, allowed) in ACTIONS.items()
            if name != "see"
        ],
        "may_change": may(request.user, "people"),
    }
    return answer_list(request, "shop/people.html", context, table=columns.PEOPLE, rows=rows)


@require_http_methods(["GET", "POST"])
@needs("people")
def person_new(request: HttpRequest) -> HttpResponse:
    """Enter a person."""
    url = reverse("shop:people")

    def write(data: dict[str, Any]) -> str:
        enter_person(act=act_of(request), **data)
        return url

    return answer_form(
        request,
        form=NewPersonForm(request.POST or None),
        template="shop/form_page.html",
        context={"title": "Enter a person", "submit": "Enter", "trail": [("People", url)], "cancel_url": url},
        write=write,
    )


def _context(person: User) -> dict[str, Any]:
    url = reverse("shop:people")
    return {
        "person": person,
        "trail": [("People", url)],
        "cancel_url": url,
        "changes": changes(person.history.all()),
        "form": ChangePersonForm(
            initial={
                "printed_name": person.printed_name,
                "authority_no": person.authority_no,
                "is_active": person.is_active,
                "inch_units": person.inch_units,
                "roles": list(person.groups.values_list("name", flat=True)),
            }
        ),
        "password_form": NewPasswordForm(),
    }


@require_http_methods(["GET", "POST"])
@needs("people")
def person(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a person's name, authority, roles or leave to sign in."""
    row = get_object_or_404(User, pk=pk)
    context = _context(row)
    form = ChangePersonForm(request.POST) if request.method == "POST" else context["form"]

    def write(data: dict[str, Any]) -> str:
        change_person(act=act_of(request, data.pop("why")), person=row, **data)
        return reverse("shop:people")

    return answer_form(request, form=form, template="shop/person.html", context=context, write=write)


@require_http_methods(["POST"])
@needs("people")
def person_password(request: HttpRequest, pk: int) -> HttpResponse:
    """Give a person a new password."""
    row = get_object_or_404(User, pk=pk)
    form = NewPasswordForm(request.POST)
    context = _context(row)

    def write(data: dict[str, Any]) -> str:
        set_new_password(act=act_of(request, "new password"), person=row, **data)
        return reverse("shop:people")

    return answer_form(request, form=form, template="shop/person_password.html", context=context, write=write)
