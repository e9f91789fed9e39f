"""App configuration."""

from django.apps import AppConfig


class ShopConfig(AppConfig):
    """The shop app."""

    name = "shop"

    def ready(self) -> None:
        """Register the start-up checks, and the groups and limits that come with every database."""
        from shop import append_only, checks, database_checks, groups, importers, limit_defaults, navigation  # noqa: F401
        from shop.calc import registry
        from shop.importers import customers, unit_types

        registry.add_package(name="shop.calc")
        importers.register(customers.CUSTOMERS)
        importers.register(unit_types.UNIT_TYPES)
        navigation.register("Bench sums", "shop:sums", action="see", order=55, group="Catalogue")
        navigation.register("Unit types", "shop:unit_types", action="see", order=50, group="Catalogue")
        navigation.register("From files", "shop:imports", action="import", order=85, group="The shop")
        navigation.register("People", "shop:people", action="see", order=80, group="The shop")
        navigation.register("Shop", "shop:settings", action="see", order=90, group="The shop")
