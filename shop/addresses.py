"""Addresses of the shop app."""

from django.urls import path

from shop.views import files, sign_in

app_name = "shop"
urlpatterns = [
    path("sign-in/", sign_in.sign_in, name="sign_in"),
    path("sign-out/", sign_in.sign_out, name="sign_out"),
    path("files/<int:pk>/", files.file, name="file"),
]
