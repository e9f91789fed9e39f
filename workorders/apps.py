"""App configuration."""

from django.apps import AppConfig


class WorkOrdersConfig(AppConfig):
    """The work orders app."""

    name = "workorders"

    def ready(self) -> None:
        """Offer this app's pages in the header."""
        from inventory.services import known_demand
        from shop import navigation
        from shop.calc import registry
        from workorders import box_triggers, finding_triggers, panels  # noqa: F401
        from workorders.services import customer_merges, recalls, shortages

        registry.add_package(name="workorders.calc")
        panels.register()
        customer_merges.register()
        known_demand.register(shortages.needed_from_shelf)
        recalls.register()
        navigation.register("In the shop", "workorders:home", action="see", order=10)
        navigation.register(
            "Identify a unit", "workorders:identify", action="see", order=48, group="Catalogue"
        )
        navigation.register("Shipments", "workorders:shipments", action="see", order=50, group="Desk")
        navigation.register("Receive", "workorders:receive", action="receive", order=20)
        navigation.register("Work orders", "workorders:work_orders", action="see", order=25)
        navigation.register("Boxes", "workorders:boxes", action="see", order=22)
        navigation.register("Shortages", "workorders:shortages", action="see", order=43, group="Stores")
        navigation.register("Outside work", "workorders:outside_works", action="see", order=28)
        navigation.register("Customers", "shop:customers", action="see", order=65, group="Desk")
        navigation.register("Claims", "workorders:claims", action="see", order=60, group="Desk")
        navigation.register("Recalls", "workorders:recalls", action="see", order=62, group="Desk")
        navigation.register(
            "Instruments", "workorders:instruments", action="see", order=70, group="Catalogue"
        )
        navigation.register("Rigs", "workorders:rigs", action="see", order=72, group="Catalogue")
        navigation.register("Lessons", "workorders:lessons", action="see", order=75, group="Catalogue")
        navigation.register("Margins", "workorders:margins", action="costs", order=82, group="The shop")
        navigation.register_search("workorders:find")
