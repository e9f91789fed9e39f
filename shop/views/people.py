"""People and what each role may do."""

from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from shop.changes import changes
from shop.forms import ShopForm
from shop.models import User
from shop.roles import ACTIONS, ROLES, may
from shop.services.people import change_person, enter_person, set_new_password
from shop.views.answers import act_of, answer_form, needs

ROLE_CHOICES = [(role, role.capitalize()) for role in ROLES]


class PersonForm(ShopForm):
    """Name, authority and roles of one person."""

    printed_name = forms.CharField(
        label="Name as printed beside signatures",
        max_length=80,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    authority_no = forms.CharField(
        label="Authority or certificate number",
        max_length=40,
        required=False,
        help_text="Printed beside the signature, where the person has one.",
    )
    roles = forms.MultipleChoiceField(
        label="Roles", choices=ROLE_CHOICES, widget=forms.CheckboxSelectMultiple
    )


class NewPersonForm(PersonForm):
    """A new person, with the name to sign in by and a first password."""

    username = forms.CharField(
        label="Name to sign in with", max_length=150, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )
    password = forms.CharField(
        label="First password",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text="Eight characters or more, not only digits, not a common one.",
    )
    field_order = ["username", "password", "printed_name", "authority_no", "roles"]


class ChangePersonForm(PersonForm):
    """A change of a person, with the reason."""

    is_active = forms.BooleanField(label="May sign in", required=False)
    why = forms.CharField(label="Why", max_length=200)


class NewPasswordForm(ShopForm):
    """A new password for somebody."""

    password = forms.CharField(
        label="New password", strip=False, widget=forms.PasswordInput(attrs={"autocomplete": "new-password"})
    )


@require_GET
@needs("see")
def people(request: HttpRequest) -> HttpResponse:
    """Who works here, and what each role may do."""
    context = {
        "people": User.objects.prefetch_related("groups").order_by("-is_active", "printed_name"),
        "roles": ROLES,
        "actions": [
            (words, [role in allowed for role in ROLES])
            for name, (words, allowed) in ACTIONS.items()
            if name != "see"
        ],
        "may_change": may(request.user, "people"),
    }
    return render(request, "shop/people.html", context)


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
