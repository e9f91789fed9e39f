"""Signing in and out."""

from typing import Any

from django.conf import settings
from django.contrib.auth.views import LoginView, LogoutView


class SignIn(LoginView):
    """The sign-in page; only while the demo is served it shows whom to sign in as."""

    template_name = "shop/sign_in.html"
    redirect_authenticated_user = True

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        """Add user name, role and password of the people in the demo."""
        return super().get_context_data(demo_accounts=settings.DEMO_SIGN_INS, **kwargs)


sign_in = SignIn.as_view()
sign_out = LogoutView.as_view()
