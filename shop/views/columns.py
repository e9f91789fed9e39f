"""The columns of this app's lists, as files."""

from django.db.models.functions import LPad

from shop.models import Customer, FluidFamily, UnitType
from shop.views.sorting import by_choice, by_text
from shop.views.tables import Column, Table


def _yes(value: bool) -> str:
    return "yes" if value else "no"


def _ship_tos(customer: Customer) -> str:
    """Write addresses as the importer of customers reads them, the default first."""
    rows = sorted(
        (row for row in customer.ship_tos.all() if not row.retired), key=lambda row: not row.is_default
    )
    return "; ".join(f"{row.label}: {', '.join(row.lines.splitlines())}" for row in rows)


def _pair_columns(which: str) -> tuple[Column, ...]:
    """Return the columns of one of two customers."""
    title = which.capitalize()
    return (
        Column(f"{title}, name", f"{which}.name", sort=by_text(f"{which}__name")),
        Column(f"{title}, telephone", f"{which}.phone"),
        Column(f"{title}, e-mail", f"{which}.email"),
        Column(f"{title}, address", lambda pair: ", ".join(getattr(pair, which).address_lines)),
    )


CUSTOMERS = Table(
    "customers",
    (
        Column("Name", "name", sort=by_text("name")),
        Column("Kind", "get_kind_display", sort=by_choice("kind", Customer.Kind.values)),
        Column("Telephone", "phone", sort=by_text("phone")),
        Column("E-mail", "email", sort=by_text("email")),
        Column("Street", "street"),
        Column("Postcode", "postcode", sort=by_text("postcode")),
        Column("Town", "town", sort=by_text("town")),
        Column("Country", "country"),
        Column("Note for shipping", "shipping_note"),
        Column("Bills go to", "bill_name"),
        Column("Address lines of the bill", "bill_address"),
        Column("Days to pay", "payment_days"),
        Column("Terms of payment", "payment_terms"),
        Column("Requires their order number", lambda row: _yes(row.needs_order_number)),
        Column("Who holds the warranty", "get_warranty_holder_display"),
        Column("Ship-to addresses", _ship_tos),
        Column("Note", "note"),
    ),
)
LIKELY_DUPLICATES = Table(
    "likely-duplicates",
    (
        *_pair_columns("first"),
        *_pair_columns("second"),
        Column("The same", lambda pair: ", ".join(pair.same)),
    ),
)
DIFFERENT_CUSTOMERS = Table(
    "different-customers",
    (
        *_pair_columns("first"),
        *_pair_columns("second"),
        Column("Why", "why"),
        Column("Recorded by", "by"),
        Column("Recorded", "at", sort="at"),
    ),
)
UNIT_TYPES = Table(
    "unit-types",
    (
        Column("Unit type", "code", sort=by_text("code")),
        Column("Name", "name", sort=by_text("name")),
        Column("Family", "get_family_display", sort=by_choice("family", UnitType.Family.values)),
        Column("Maker", "maker", sort=by_text("maker")),
        Column("Maker's numbers", lambda row: ", ".join(map(str, row.maker_numbers.all()))),
        Column("Built from", "built_from", sort="built_from"),
        Column("Built until", "built_to", sort="built_to"),
        Column("Approved revision", lambda row: row.approved[0].number if row.approved else ""),
        Column("Service fluid", lambda row: row.approved[0].service_fluid.name if row.approved else ""),
        Column("Note", "note"),
    ),
)
APPLICATIONS = Table(
    "applications",
    (
        Column("Name", "name", sort=by_text("name")),
        Column("Mounting places", "place_count", sort="place_count"),
        Column("Note", "note"),
    ),
)
FLUIDS = Table(
    "fluids",
    (
        Column("Name", "name", sort=by_text("name")),
        Column("Family", "get_family_display", sort=by_choice("family", FluidFamily.values)),
        Column("Viscosity grade", "viscosity_grade", sort=LPad(by_text("viscosity_grade"), 20)),
        Column("Note", "note"),
    ),
)
TOOLS = Table(
    "special-tools",
    (
        Column("Number", "number", sort="number"),
        Column("Name", "name", sort="name"),
        Column("Where it is kept", "kept_at", sort="kept_at"),
        Column("Unit types that need it", "types", sort="types"),
        Column("No longer there", "gone"),
        Column("Note", "note"),
    ),
)
PEOPLE = Table(
    "people",
    (
        Column("Name", "printed_name", sort="printed_name"),
        Column("Signs in as", "username", sort="username"),
        Column("Roles", lambda row: ", ".join(group.name for group in row.groups.all())),
        Column("Authority", "authority_no", sort="authority_no"),
        Column("May sign in", "is_active", sort="is_active"),
    ),
)
IMPORTS = Table(
    "lists-from-files",
    (
        Column("List", "kind", sort="kind"),
        Column("File", "file.name", sort=by_text("file__name")),
        Column("Rows entered", "rows_entered", sort="rows_entered"),
        Column("Rows there already", "rows_there"),
        Column("By", "by", sort=by_text("by__printed_name")),
        Column("When", "at", sort="at"),
        Column("Undone", "undone_at"),
        Column("Why undone", "undone_why"),
    ),
)
IMPORTED_ROWS = Table(
    "rows-of-an-import", (Column("Row of the file", "row_number"), Column("What it became", "name"))
)
