"""Signing: the password is entered again, also on a shared tablet."""

from typing import Any

from django import forms
from django.contrib.auth import authenticate
from django.http import HttpRequest

from shop.forms import ShopForm


class PasswordForm(ShopForm):
    """Base of forms that sign: the signed-in person's password, checked and throttled."""

    password = forms.CharField(
        label="Your password again, as signature",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def __init__(self, *args: Any, request: HttpRequest, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.request = request

    def clean_password(self) -> str:
        """Check the password through ``authenticate``: failures are counted and slowed like sign-ins."""
        password: str = self.cleaned_data["password"]
        username = self.request.user.get_username()
        if authenticate(request=self.request, username=username, password=password) != self.request.user:
            raise forms.ValidationError("This is not your password; nothing was signed.")
        return password
