"""The columns of this app's lists, as files."""

from shop.views.tables import Column, Table

CUSTOMERS = Table(
    "customers",
    (
        Column("Name", "name"),
        Column("Kind", "get_kind_display"),
        Column("Telephone", "phone"),
        Column("E-mail", "email"),
        Column("Street", "street"),
        Column("Postcode", "postcode"),
        Column("Town", "town"),
        Column("Country", "country"),
        Column("Note", "note"),
    ),
)
UNIT_TYPES = Table(
    "unit-types",
    (
        Column("Unit type", "code"),
        Column("Name", "name"),
        Column("Family", "get_family_display"),
        Column("Maker", "maker"),
        Column("Maker's numbers", "maker_numbers"),
        Column("Approved revision", lambda row: row.approved[0].number if row.approved else ""),
        Column("Service fluid", lambda row: row.approved[0].service_fluid.name if row.approved else ""),
        Column("Note", "note"),
    ),
)
APPLICATIONS = Table(
    "applications",
    (Column("Name", "name"), Column("Mounting places", "place_count"), Column("Note", "note")),
)
FLUIDS = Table(
    "fluids",
    (
        Column("Name", "name"),
        Column("Family", "get_family_display"),
        Column("Viscosity grade", "viscosity_grade"),
        Column("Note", "note"),
    ),
)
PEOPLE = Table(
    "people",
    (
        Column("Name", "printed_name"),
        Column("Signs in as", "username"),
        Column("Roles", lambda row: ", ".join(group.name for group in row.groups.all())),
        Column("Authority", "authority_no"),
        Column("May sign in", "is_active"),
    ),
)
IMPORTS = Table(
    "lists-from-files",
    (
        Column("List", "kind"),
        Column("File", "file.name"),
        Column("Rows entered", "rows_entered"),
        Column("Rows there already", "rows_there"),
        Column("By", "by"),
        Column("When", "at"),
        Column("Undone", "undone_at"),
        Column("Why undone", "undone_why"),
    ),
)
IMPORTED_ROWS = Table(
    "rows-of-an-import", (Column("Row of the file", "row_number"), Column("What it became", "name"))
)
