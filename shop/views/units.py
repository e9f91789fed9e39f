"""In which units a page shows and takes numbers: chosen on the page, remembered until signing out."""

from typing import Any

from django.http import HttpRequest
from django.utils.http import urlencode

from shop.forms.reading import INCH, METRIC


def takes_inch(request: HttpRequest) -> bool:
    """Tell whether the page is in inch-pound: as its address says, as chosen before, as the person is set.

    A form that is sent says itself in which units it was filled in; without a word it was metric.
    """
    if request.method == "POST":
        return request.POST.get("units") == INCH
    units = request.GET.get("units", "")
    if units in (METRIC, INCH):
        request.session["units"] = units
    else:
        usual = INCH if getattr(request.user, "inch_units", False) else METRIC
        units = request.session.get("units", usual)
    return bool(units == INCH)


def unit_switch(request: HttpRequest, *, inch: bool, **typed: str) -> dict[str, Any]:
    """Return what `shop/_units.html` shows: the units of the page, and its address in the other ones.

    ``typed`` are values of the address as they are typed in the other units.
    """
    query = {**request.GET.dict(), **typed, "units": METRIC if inch else INCH}
    return {
        "inch": inch,
        "units": INCH if inch else METRIC,
        "other_units_url": f"?{urlencode(query)}",
    }
