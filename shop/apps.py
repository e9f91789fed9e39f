"""App configuration."""

from django.apps import AppConfig


class ShopConfig(AppConfig):
    """The shop app."""

    name = "shop"

    def ready(self) -> None:
        """Register the start-up checks and the groups that come with every database."""
        from shop import append_only, checks, groups  # noqa: F401
