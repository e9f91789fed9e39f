"""Addresses of the shop app."""

from django.urls import path

from shop.views import customers, files, sign_in

app_name = "shop"
urlpatterns = [
    path("customers/", customers.customers, name="customers"),
    path("customers/new/", customers.customer_new, name="customer_new"),
    path("customers/<int:pk>/", customers.customer, name="customer"),
    path("customers/<int:pk>/change/", customers.customer_change, name="customer_change"),
    path("sign-in/", sign_in.sign_in, name="sign_in"),
    path("sign-out/", sign_in.sign_out, name="sign_out"),
    path("files/<int:pk>/", files.file, name="file"),
]
