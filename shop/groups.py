"""The groups of people, made after every migrate so that no database lacks them."""

from typing import Any

from django.db.models.signals import post_migrate
from django.dispatch import receiver

from shop.roles import ROLES


@receiver(post_migrate)
def make_groups(app_config: Any, using: str, **_kwargs: Any) -> None:
    """Make the role groups; the flush of tests empties them, so a data migration would not do."""
    if app_config.name != "shop":
        return
    from django.contrib.auth.models import Group

    for name in ROLES:
        Group.objects.using(using).get_or_create(name=name)
