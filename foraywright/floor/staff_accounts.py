"""Staff accounts are made by the office; nobody signs themselves up."""

from allauth.account.adapter import DefaultAccountAdapter
from django.http import HttpRequest


class StaffAccountAdapter(DefaultAccountAdapter):
    """Closes the sign-up page of the login library."""

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False
