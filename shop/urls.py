"""The root of all addresses; with the settings the only place that knows all three apps."""

from django.urls import include, path

urlpatterns = [
    path("", include("shop.addresses")),
    path("", include("inventory.addresses")),
    path("", include("workorders.addresses")),
]
