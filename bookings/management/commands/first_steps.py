"""Begin without the demo: the accounts that ship, a link for the first of the office, and what is missing."""

from datetime import datetime
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandParser
from django.urls import reverse
from django.utils import timezone

from bookings.first_steps import first_steps
from bookings.services.invite_staff import invite_staff
from curriculum.models import AccountVersion
from curriculum.services.load_starter import load_starter
from foraywright.floor.models import User
from foraywright.floor.roles import OFFICE


class Command(BaseCommand):
    help = "Make an empty database ready: species accounts as drafts, and a link that opens the office's first account."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--username", default="office", help="user name of the office's first account")

    def handle(self, *args: Any, username: str, **options: Any) -> None:
        now = timezone.now()
        if not AccountVersion.objects.exists():
            self.stdout.write(f"{load_starter(by='command', now=now).new} species accounts loaded as drafts.")
        if not User.objects.filter(groups__name=OFFICE, is_active=True).exists():
            self._invite(username, now)
        for step in first_steps(now=now):
            self.stdout.write(f"{'done   ' if step.done else 'missing'}  {step.words}")

    def _invite(self, username: str, now: datetime) -> None:
        user, token = invite_staff(username, username.title(), [OFFICE], by="command", now=now)
        self.stdout.write(f"Open this link within seven days to set the password of “{user.get_username()}”:")
        self.stdout.write(settings.SITE_ADDRESS + reverse("take_up_account", args=[token]))
