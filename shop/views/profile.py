"""The shop's settings: name, address, warranty terms, and its limits with their sources."""

from copy import copy
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from shop.changes import changes
from shop.forms.profile import LabourRateForm, LimitSettingForm, ProfileChangeForm, ProfileForm
from shop.models import LabourRate, LimitSetting, ShopProfile
from shop.roles import may, refusal
from shop.services.profile import currency_of_shop, save_profile, set_labour_rate, set_limit
from shop.views.answers import act_of, answer_form, needs

MONEY = ("money", "currency")  # a limit in the shop's currency, whatever that is


def _in_currency(row: LimitSetting, currency: str) -> LimitSetting:
    """Show a limit about money in the shop's currency; the row is for a page, not to be saved."""
    row.unit = currency if row.unit in MONEY else row.unit
    return row


@require_GET
@needs("see")
def settings(request: HttpRequest) -> HttpResponse:
    """Show the shop's settings and limits."""
    profile = ShopProfile.objects.first()
    currency = currency_of_shop()
    context = {
        "profile": profile,
        "limits": [_in_currency(row, currency) for row in LimitSetting.objects.all()],
        "changes": changes(
            ShopProfile.history.all(),
            several=[LimitSetting.history.exclude(history_user=None)],
        ),
        "may_change": may(request.user, "people"),
        "rates": LabourRate.objects.select_related("by") if may(request.user, "costs") else None,
        "may_rate": may(request.user, "prices"),
        "may_set": may(request.user, "catalogue"),
        "refusal": refusal(request.user, "people"),
    }
    return render(request, "shop/settings.html", context)


@require_http_methods(["GET", "POST"])
@needs("people")
def settings_change(request: HttpRequest) -> HttpResponse:
    """Enter the shop's settings, or change them with the reason."""
    profile = ShopProfile.objects.first()
    url = reverse("shop:settings")

    def write(data: dict[str, Any]) -> str:
        save_profile(act=act_of(request, data.pop("why", "")), **data)
        return url

    form_class = ProfileChangeForm if profile else ProfileForm
    return answer_form(
        request,
        form=form_class(request.POST or None, instance=profile),
        template="shop/form_page.html",
        write=write,
        context={
            "title": "Change the shop's settings" if profile else "Enter the shop's settings",
            "submit": "Save the settings",
            "trail": [("Shop", url)],
            "cancel_url": url,
        },
    )


@require_http_methods(["GET", "POST"])
@needs("catalogue")
def limit_change(request: HttpRequest, key: str) -> HttpResponse:
    """Change one limit of the shop, with the reason."""
    row = get_object_or_404(LimitSetting, key=key)
    url = reverse("shop:settings")

    def write(data: dict[str, Any]) -> str:
        set_limit(act=act_of(request, data.pop("why")), setting=row, **data)
        return f"{url}#limits"

    initial = {"value": row.value, "source": row.source, "basis": row.basis}
    form = LimitSettingForm(request.POST or None, initial=initial)
    shown = _in_currency(copy(row), currency_of_shop())
    form.fields["value"].widget.attrs["data-unit"] = shown.unit
    return answer_form(
        request,
        form=form,
        template="shop/form_page.html",
        write=write,
        context={
            "title": row.title,
            "note": "Plans that are approved keep the limit they were written with.",
            "submit": "Save this limit",
            "trail": [("Shop", url)],
            "cancel_url": url,
            "changes": changes(row.history.all()),
        },
    )


@require_http_methods(["GET", "POST"])
@needs("prices")
def labour_rate(request: HttpRequest) -> HttpResponse:
    """Say what an hour of work costs from a day on."""
    url = reverse("shop:settings")
    currency = currency_of_shop()

    def write(data: dict[str, Any]) -> str:
        set_labour_rate(act=act_of(request, data.pop("why")), **data)
        return f"{url}#labour"

    return answer_form(
        request,
        form=LabourRateForm(
            request.POST or None, currency=currency, initial={"valid_from": timezone.localdate()}
        ),
        template="shop/form_page.html",
        write=write,
        context={
            "title": "What an hour of work costs",
            "note": "It holds until the next entry begins. Work of earlier days keeps its rate.",
            "submit": "Save this rate",
            "trail": [("Shop", url)],
            "cancel_url": url,
        },
    )
