"""App configuration."""

from django.apps import AppConfig


class WorkOrdersConfig(AppConfig):
    """The work orders app."""

    name = "workorders"
