"""App configuration."""

from django.apps import AppConfig


class WorkOrdersConfig(AppConfig):
    """The work orders app."""

    name = "workorders"

    def ready(self) -> None:
        """Offer this app's pages in the header."""
        from shop import navigation

        navigation.register("In the shop", "workorders:home", action="see", order=10)
        navigation.register("Shipments", "workorders:shipments", action="see", order=50)
        navigation.register("Claims", "workorders:claims", action="see", order=60)
        navigation.register("Instruments", "workorders:instruments", action="see", order=70)
        navigation.register_search("workorders:find")
