"""Left and right twins: mounting places whose units look alike and swap parts."""

from collections.abc import Iterable

from django.db.models import Q

from shop.models import MountingPlace


def twins_of(places: Iterable[MountingPlace]) -> dict[int, MountingPlace]:
    """Return the twin of each place that has one, by the place's key; either may name the other."""
    pks = {place.pk for place in places}
    if not pks:
        return {}
    pairs = MountingPlace.objects.filter(Q(pk__in=pks) | Q(twin_of__in=pks), twin_of__isnull=False)
    found: dict[int, MountingPlace] = {}
    for place in pairs.select_related("application", "twin_of__application"):
        assert place.twin_of is not None
        found[place.pk] = place.twin_of
        found[place.twin_of.pk] = place
    return {pk: twin for pk, twin in found.items() if pk in pks}
