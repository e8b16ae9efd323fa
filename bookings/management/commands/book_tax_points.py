"""`manage.py book_tax_points`: once after the update that books tax when money comes or an invoice is issued."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from bookings.models import Booking
from bookings.services.book_tax_points import book_tax_points


class Command(BaseCommand):
    """Books the difference of each booking today. Run twice it changes nothing more; killed, it is run again."""

    help = "Books today what is missing of the tax that payments and invoices made owed. Run it once after the update."

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        bookings = Booking.objects.exclude(lines=None).order_by("pk")
        changed = sum(bool(book_tax_points(one, by="command", now=now)) for one in bookings)
        self.stdout.write(f"The tax of {changed} bookings was booked; the others were right.")
