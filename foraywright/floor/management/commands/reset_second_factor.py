"""`manage.py reset_second_factor NAME`: for the last account of the office, which nobody else can help."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from foraywright.floor.models import User
from foraywright.floor.second_factor import reset_second_factor
from foraywright.floor.telling_staff import tell_of_reset


class Command(BaseCommand):
    """The same act as the button of the office; whoever can run it has the machine and its keys already."""

    help = "Takes the second factor off a staff account whose phone and recovery codes are lost."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("username")

    def handle(self, *args: Any, **options: Any) -> None:
        user = User.objects.filter(username=options["username"]).first()
        if user is None:
            raise CommandError(f"No staff account is named “{options['username']}”.")
        now = timezone.now()
        there = reset_second_factor(user, by="command", now=now)
        told = f"It is taken off. {tell_of_reset(user, by='command', now=now)}" if there else "The account has none."
        self.stdout.write(told)
