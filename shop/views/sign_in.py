"""Signing in and out."""

from django.contrib.auth.views import LoginView, LogoutView


class SignIn(LoginView):
    """The sign-in page."""

    template_name = "shop/sign_in.html"
    redirect_authenticated_user = True


sign_in = SignIn.as_view()
sign_out = LogoutView.as_view()
