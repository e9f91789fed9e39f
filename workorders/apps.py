"""App configuration."""

from django.apps import AppConfig


class WorkOrdersConfig(AppConfig):
    """The work orders app."""

    name = "workorders"

    def ready(self) -> None:
        """Offer this app's pages in the header."""
        from shop import navigation
        from shop.calc import registry
        from workorders import box_triggers, panels  # noqa: F401

        registry.add_package(name="workorders.calc")
        panels.register()
        navigation.register("In the shop", "workorders:home", action="see", order=10)
        navigation.register("Shipments", "workorders:shipments", action="see", order=50)
        navigation.register("Receive", "workorders:receive", action="receive", order=20)
        navigation.register("Work orders", "workorders:work_orders", action="see", order=25)
        navigation.register("Customers", "shop:customers", action="see", order=65)
        navigation.register("Claims", "workorders:claims", action="see", order=60)
        navigation.register("Instruments", "workorders:instruments", action="see", order=70)
        navigation.register_search("workorders:find")
