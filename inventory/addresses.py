"""Addresses of the inventory app."""

from django.urls import URLPattern

app_name = "inventory"
urlpatterns: list[URLPattern] = []
