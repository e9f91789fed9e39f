"""Checks at start: what would only show much later, on paper or after a power cut, is refused now."""

import re
from collections.abc import Iterator, Sequence
from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Error, register

# A unit's page is /U/ and its serial; workorders.calc.serial draws that many characters.
UNIT_PATH = "/U/"
SERIAL_LENGTH = 9
COARSEST_DPI = 203


@register("labels")
def label_address_check(app_configs: Any = None, **kwargs: Any) -> list[CheckMessage]:
    """Refuse a public address that cannot be printed as QR symbol on the labels of the shop."""
    return [
        *_stock_errors(settings.LABEL_STOCKS),
        *_address_errors(settings.PUBLIC_ADDRESS, settings.LABEL_STOCKS),
    ]


def _stock_errors(names: Sequence[str]) -> Iterator[CheckMessage]:
    from shop.documents.label_stock import LABEL_STOCKS

    unknown = [name for name in names if name not in LABEL_STOCKS]
    if unknown or not names:
        yield Error(
            f"LABEL_STOCKS names no label stock that is known here: {', '.join(unknown) or 'it is empty'}.",
            hint=f"Choose among {', '.join(LABEL_STOCKS)}, separated by commas.",
            id="shop.E101",
        )


def _address_errors(base: str, stock_names: Sequence[str]) -> Iterator[CheckMessage]:
    """Yield the first thing that is wrong with the address."""
    strange = sorted(set(re.sub(r"[A-Z0-9$%*+\-./:]", "", base.upper())))
    path = re.sub(r"^https?://[^/]+", "", base, flags=re.IGNORECASE)
    if path == base:
        yield Error(
            f"PUBLIC_ADDRESS is no web address: {base!r}. Labels would lead nowhere.",
            hint="Give the address under which the shop's pages are reached, such as https://shop.example.org",
            id="shop.E102",
        )
    elif strange:
        yield Error(
            f"PUBLIC_ADDRESS {base!r} has characters that no label can carry: {' '.join(strange)}",
            hint="Use letters, digits and $ % * + - . / : only, such as a host name with a port.",
            id="shop.E103",
        )
    elif path.upper() != path:
        yield Error(
            f"The path of PUBLIC_ADDRESS has small letters: {path}. Labels carry the address in upper case, "
            "which is the same for the host but not for a path.",
            hint="Serve the pages at the root of a host, or below a path of capitals and digits.",
            id="shop.E104",
        )
    else:
        yield from _length_errors(base, stock_names)


def _length_errors(base: str, stock_names: Sequence[str]) -> Iterator[CheckMessage]:
    # Imported here: commands that check nothing need no drawing libraries.
    from shop.documents.label import longest_address
    from shop.documents.label_stock import LABEL_STOCKS

    overhead = len(UNIT_PATH) + SERIAL_LENGTH
    for stock in (LABEL_STOCKS[name] for name in stock_names if name in LABEL_STOCKS):
        longest = longest_address(stock, dpi=COARSEST_DPI) - overhead
        if len(base) > longest:
            yield Error(
                f"PUBLIC_ADDRESS has {len(base)} characters; the longest that fits a {stock.name} mm label "
                f"is {longest}, since the QR symbol needs 4 printer dots per module at {COARSEST_DPI} dpi.",
                hint="Use a shorter host name, or take the small stock out of LABEL_STOCKS.",
                id="shop.E105",
            )
