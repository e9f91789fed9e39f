"""App configuration."""

from django.apps import AppConfig


class ShopConfig(AppConfig):
    """The shop app."""

    name = "shop"

    def ready(self) -> None:
        """Register the start-up checks, and the groups and limits that come with every database."""
        from shop import append_only, checks, database_checks, groups, limit_defaults, navigation  # noqa: F401
        from shop.calc import registry

        registry.add_package(name="shop.calc")
        navigation.register("Bench sums", "shop:sums", action="see", order=55)
        navigation.register("Unit types", "shop:unit_types", action="see", order=50)
        navigation.register("People", "shop:people", action="see", order=80)
        navigation.register("Shop", "shop:settings", action="see", order=90)
