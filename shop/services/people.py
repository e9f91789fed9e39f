"""People: entered, given roles, signed out for good, never deleted."""

from collections.abc import Sequence
from dataclasses import replace

from django.contrib.auth.models import Group
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from shop.errors import RuleBroken
from shop.models import User
from shop.roles import LEAD, ROLES
from shop.services.numbering import one_at_a_time
from shop.services.writing import Act, acting, current_act, keep, locked, service


@service("people")
def enter_person(
    *,
    act: Act,
    username: str,
    printed_name: str,
    password: str,
    roles: Sequence[str],
    authority_no: str = "",
    inch_units: bool = False,
) -> User:
    """Enter somebody who may sign in.

    Raises RuleBroken for a name in use, a weak password or no role.
    """
    person = User(
        username=username, printed_name=printed_name, authority_no=authority_no, inch_units=inch_units
    )
    _set_password(person, password)
    _keep_with_roles(person, roles)
    return person


@service("people")
def change_person(
    *,
    act: Act,
    person: User,
    printed_name: str,
    roles: Sequence[str],
    authority_no: str = "",
    is_active: bool = True,
    inch_units: bool = False,
) -> User:
    """Change name, authority, roles, usual units, or whether the person may sign in.

    Signatures keep the name and authority of their day. Raises RuleBroken where the shop would be
    left without a lead who can sign in.
    """
    one_at_a_time("people")  # two leads may take the role from each other
    row = locked(person)
    row.printed_name, row.authority_no, row.is_active = printed_name, authority_no, is_active
    row.inch_units = inch_units
    _keep_with_roles(row, roles)
    if not User.objects.filter(is_active=True, groups__name=LEAD).exists():
        raise RuleBroken("The shop needs at least one lead who can sign in.")
    return row


@service("people")
def set_new_password(*, act: Act, person: User, password: str) -> User:
    """Give a person a new password; every open session of theirs ends.

    Raises RuleBroken for a weak password.
    """
    row = locked(person)
    _set_password(row, password)
    return keep(row)


def first_lead(*, username: str, printed_name: str, password: str) -> User:
    """Enter the first lead of an empty shop, who then enters everybody else.

    Raises RuleBroken where somebody is entered already, or for a weak password.
    """
    if User.objects.exists():
        raise RuleBroken("People are entered already; a lead enters more on the page People.")
    person = User(username=username, printed_name=printed_name)
    _set_password(person, password)
    _keep_with_roles(person, [LEAD])
    return person


def _set_password(person: User, password: str) -> None:
    try:
        validate_password(password, person)
    except ValidationError as error:
        raise RuleBroken(fields={"password": " ".join(error.messages)}) from error
    person.set_password(password)


def _keep_with_roles(person: User, roles: Sequence[str]) -> None:
    """Keep a person with these roles; the history of the person says in its reason which changed."""
    unknown = [role for role in roles if role not in ROLES]
    if unknown or not roles:
        raise RuleBroken(fields={"roles": "Choose at least one role of the list."})
    had = set() if person._state.adding else set(person.groups.values_list("name", flat=True))
    act = current_act()
    if act and had != set(roles):
        now, before = (", ".join(role for role in ROLES if role in names) for names in (set(roles), had))
        words = f"roles: {now}, before: {before or 'none'}"
        with acting(replace(act, why=f"{words}; {act.why}")):
            keep(person)
    else:
        keep(person)
    person.groups.set(Group.objects.filter(name__in=roles))
    person.refresh_from_db()
