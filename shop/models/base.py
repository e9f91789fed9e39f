"""What every tracked row shares: history that knows who, when and why."""

from typing import Any

from django.db import models
from simple_history.manager import HistoryManager
from simple_history.models import HistoricalRecords

from shop.services.writing import current_act


class BuiltOnce(HistoryManager):
    """The history manager with its class built once; the library builds one at every access."""

    _built: dict[type, type] = {}

    @classmethod
    def from_queryset(cls, queryset_class: type, class_name: str | None = None) -> Any:
        """Return the manager class of a queryset class, the same one each time."""
        if queryset_class not in cls._built:
            cls._built[queryset_class] = super().from_queryset(queryset_class, class_name)
        return cls._built[queryset_class]


class ActHistory(HistoricalRecords):
    """History rows whose person, time and reason come from the service that writes."""

    def get_history_user(self, instance: models.Model) -> Any:
        """Prefer the person of the current act over the request's."""
        act = current_act()
        return act.by if act else super().get_history_user(instance)

    def get_change_reason_for_object(self, instance: models.Model, *args: Any) -> Any:
        """Take the reason of the current act, unless the row carries its own."""
        own = super().get_change_reason_for_object(instance, *args)
        act = current_act()
        return own or (act.why[:200] if act else None)

    def post_save(self, instance: models.Model, created: bool, using: Any = None, **kwargs: Any) -> None:
        """Write no history for a save of excluded fields only, such as the time of a sign-in."""
        changed = kwargs.get("update_fields")
        if changed and set(changed) <= set(self.excluded_fields):
            return
        super().post_save(instance, created, using=using, **kwargs)

    def create_historical_record(self, instance: models.Model, *args: Any, **kwargs: Any) -> None:
        """Date the history row by the current act, so that a given clock is honoured."""
        act = current_act()
        if act:
            instance._history_date = act.at  # type: ignore[attr-defined]
        super().create_historical_record(instance, *args, **kwargs)


class Tracked(models.Model):
    """A row that may change; each change leaves a history row."""

    history = ActHistory(
        inherit=True,
        history_change_reason_field=models.CharField(max_length=200, null=True),
        history_manager=BuiltOnce,
    )

    class Meta:
        abstract = True


class AppendOnly(models.Model):
    """A row that is written once; it carries who, when and why itself.

    Database triggers refuse UPDATE and DELETE on these tables.
    """

    by = models.ForeignKey("shop.User", models.PROTECT, related_name="+")
    at = models.DateTimeField()
    why = models.CharField(max_length=300, blank=True)

    class Meta:
        abstract = True
