"""Customers: the senders and owners of units, and the addresses that their parcels go to."""

from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from django.utils.translation import ngettext

from .base import Tracked


class CustomerQuerySet(models.QuerySet["Customer"]):
    """Ways to find a customer."""

    def standing(self) -> "CustomerQuerySet":
        """Not merged into another one: what searches and choices offer."""
        return self.filter(merged_into__isnull=True)

    def matching(self, text: str) -> "CustomerQuerySet":
        """Name, town or e-mail containing the text, or a telephone number with its digits."""
        found = Q(name__icontains=text) | Q(town__icontains=text) | Q(email__icontains=text)
        digits = "".join(c for c in text if c.isdigit())
        if len(digits) >= 4:
            found |= Q(phone_digits__contains=digits)
        return self.filter(found)


class Customer(Tracked):
    """A person or firm that sends units, and to whom they go back."""

    class Kind(models.TextChoices):
        OWNER = "owner", "owner"
        TRADE = "trade", "trade account"

    class Holder(models.TextChoices):
        CUSTOMER = "customer", "the customer"
        OWNER = "owner", "the owner of the machine"

    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=10, choices=Kind, default=Kind.OWNER)
    email = models.EmailField("e-mail", blank=True)
    phone = models.CharField("telephone", max_length=40, blank=True)
    phone_digits = models.CharField(max_length=40, blank=True, editable=False, db_index=True)
    street = models.CharField(max_length=160, blank=True)
    postcode = models.CharField(max_length=20, blank=True)
    town = models.CharField(max_length=80, blank=True)
    country = models.CharField(max_length=60, blank=True)
    note = models.TextField(blank=True)
    bill_name = models.CharField("bill to", max_length=120, blank=True)
    bill_address = models.TextField("address for bills", max_length=400, blank=True)
    payment_days = models.PositiveSmallIntegerField("days to pay", null=True, blank=True)
    payment_terms = models.CharField("terms of payment", max_length=200, blank=True)
    needs_order_number = models.BooleanField("requires an order number of theirs", default=False)
    warranty_holder = models.CharField(
        "who holds the warranty", max_length=8, choices=Holder, default=Holder.CUSTOMER
    )
    shipping_note = models.CharField("note for shipping", max_length=300, blank=True)
    merged_into = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="merged_from")

    objects = CustomerQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.CheckConstraint(
                name="shop_customer_named",
                condition=~Q(name=""),
                violation_error_message="A customer needs a name.",
            ),
            models.CheckConstraint(
                name="shop_customer_terms_for_trade",
                condition=Q(kind="trade") | Q(payment_days__isnull=True, payment_terms=""),
                violation_error_message="Only a trade account has terms of payment: choose trade account.",
            ),
            models.CheckConstraint(
                name="shop_customer_order_number_for_trade",
                condition=Q(kind="trade") | Q(needs_order_number=False),
                violation_error_message="Only a trade account can require an order number of theirs.",
            ),
            models.CheckConstraint(
                name="shop_customer_holder_for_trade",
                condition=Q(kind="trade") | Q(warranty_holder="customer"),
                violation_error_message="An owner holds the warranty; only a trade account passes it on.",
            ),
            models.CheckConstraint(
                name="shop_customer_days_within_a_year",
                condition=Q(payment_days__isnull=True) | Q(payment_days__lte=365),
                violation_error_message="Nobody has more than 365 days to pay.",
            ),
            models.CheckConstraint(
                name="shop_customer_bill_whole",
                condition=Q(bill_name="", bill_address="") | (~Q(bill_name="") & ~Q(bill_address="")),
                violation_error_message="An address for bills needs a name and the address lines.",
            ),
            models.CheckConstraint(
                name="shop_customer_not_into_itself",
                condition=Q(merged_into__isnull=True) | ~Q(merged_into=F("pk")),
                violation_error_message="A customer cannot be merged into itself.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("shop:customer", args=[self.pk])

    @property
    def address_lines(self) -> list[str]:
        """The postal address as printed, without empty lines."""
        lines = [self.street, f"{self.postcode} {self.town}".strip(), self.country]
        return [line for line in lines if line]

    @property
    def own_address(self) -> str:
        """Name and postal address, as the lines of a label; empty without an address."""
        return "\n".join([self.name, *self.address_lines]) if self.address_lines else ""

    @property
    def bill_to(self) -> str:
        """Name and address that bills go to, as lines: their own where none differs."""
        if not self.bill_name:
            return self.own_address
        return "\n".join([self.bill_name, *_lines(self.bill_address)])

    @property
    def terms(self) -> str:
        """The terms of payment in words, or empty."""
        many = self.payment_days
        days = "" if many is None else ngettext("%d day", "%d days", many) % many
        return ", ".join(part for part in (days, self.payment_terms) if part)


def _lines(text: str) -> list[str]:
    return [line.strip() for line in text.splitlines() if line.strip()]


class ShipToQuerySet(models.QuerySet["ShipTo"]):
    """Ways to narrow ship-to addresses down."""

    def in_use(self) -> "ShipToQuerySet":
        """Not retired, the default first."""
        return self.filter(retired=False).order_by("-is_default", "label", "pk")


class ShipTo(Tracked):
    """An address that parcels for a customer go to; kept when it is retired."""

    customer = models.ForeignKey(Customer, models.PROTECT, related_name="ship_tos")
    label = models.CharField("what it is called here", max_length=60)
    name = models.CharField("name on the parcel", max_length=120)
    address = models.TextField("address lines", max_length=400)
    note = models.CharField("note for this place", max_length=200, blank=True)
    is_default = models.BooleanField("goes here unless told otherwise", default=False)
    retired = models.BooleanField("no longer used", default=False)

    objects = ShipToQuerySet.as_manager()

    class Meta:
        ordering = ["customer", "retired", "label", "pk"]
        verbose_name = "ship-to address"
        verbose_name_plural = "ship-to addresses"
        constraints = [
            models.UniqueConstraint(
                fields=["customer"],
                condition=Q(is_default=True),
                name="shop_shipto_one_default",
                violation_error_message="Another ship-to address of this customer is the default already.",
            ),
            models.CheckConstraint(
                name="shop_shipto_default_in_use",
                condition=Q(retired=False) | Q(is_default=False),
                violation_error_message="An address that is no longer used cannot be the default.",
            ),
            models.CheckConstraint(
                name="shop_shipto_whole",
                condition=~Q(label="") & ~Q(name="") & ~Q(address=""),
                violation_error_message="A ship-to address needs what it is called, a name, and its lines.",
            ),
        ]

    def __str__(self) -> str:
        return self.label

    def get_absolute_url(self) -> str:
        return f"{self.customer.get_absolute_url()}#ship-tos"

    @property
    def lines(self) -> str:
        """Name and address, as the lines of a label."""
        return "\n".join([self.name, *_lines(self.address)])
