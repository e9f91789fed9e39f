"""App configuration."""

from django.apps import AppConfig


class InventoryConfig(AppConfig):
    """The stores app."""

    name = "inventory"
