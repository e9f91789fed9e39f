"""App configuration."""

from django.apps import AppConfig


class InventoryConfig(AppConfig):
    """The stores app."""

    name = "inventory"

    def ready(self) -> None:
        """Offer this app's pages in the header, and its part of the pages of earlier apps."""
        from inventory import importers, stock_triggers  # noqa: F401
        from inventory.views.revision_kit import revision_kit
        from shop import navigation, panels
        from shop.calc import registry

        registry.add_package(name="inventory.calc")
        navigation.register("Lots", "inventory:lots", action="see", order=40, group="Stores")
        navigation.register("Parts", "inventory:parts", action="see", order=42, group="Stores")
        navigation.register("Kits", "inventory:kits", action="see", order=44, group="Stores")
        navigation.register(
            "What to order", "inventory:what_to_order", action="see", order=45, group="Stores"
        )
        navigation.register(
            "Purchase orders", "inventory:purchase_orders", action="see", order=46, group="Stores"
        )
        navigation.register("Ledger", "inventory:ledger", action="see", order=43, group="Stores")
        navigation.register("Expiring", "inventory:expiring", action="see", order=47, group="Stores")
        navigation.register("Dead stock", "inventory:dead_stock", action="see", order=48, group="Stores")
        panels.register("shop:unit_type", revision_kit)
        importers.register()
