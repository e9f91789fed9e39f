"""App configuration."""

from django.apps import AppConfig


class InventoryConfig(AppConfig):
    """The stores app."""

    name = "inventory"

    def ready(self) -> None:
        """Offer this app's pages in the header, and its part of the pages of earlier apps."""
        from inventory import importers
        from inventory.views.revision_kit import revision_kit
        from shop import navigation, panels
        from shop.calc import registry

        registry.add_package(name="inventory.calc")
        navigation.register("Lots", "inventory:lots", action="see", order=40)
        navigation.register("Parts", "inventory:parts", action="see", order=42)
        navigation.register("Kits", "inventory:kits", action="see", order=44)
        panels.register("shop:unit_type", revision_kit)
        importers.register()
