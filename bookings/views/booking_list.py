"""The list of all bookings, for the office."""

from __future__ import annotations

from crispy_forms.layout import Layout, Submit
from django import forms
from django.db.models import Count, Min, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from bookings.models import Booking, Person, Transfer
from bookings.queries import OWED, PROMISED, credit_of
from foraywright.floor.door import names_act
from foraywright.floor.sorted_list import Column, sorted_list
from walks.form_base import FilterForm, day_input
from walks.models import Offering, Walk

COLUMNS = (
    Column("Booking"),
    Column("Booked", ("booked_at",)),
    Column("Contact", ("party__contact__folded",)),
    Column("Walk", ("offering__title",)),
    Column("Day", ("day",)),
    Column("People", ("people",), number=True),
    Column("State", ("state",)),
    Column("Owed", ("owed",), number=True),
)


MONEY = {
    "owes": Q(owed__gt=0),
    "due": Q(owed__lt=0) | Q(promised__gt=0),
    "even": Q(owed=0, promised=0),
}
"""What is asked of a booking's money: a hold that was paid in part is owed it before anything is promised."""


class BookingsFilter(FilterForm):
    """What the list is narrowed to. `walk`: public id of an offering; its page leads here."""

    state = forms.ChoiceField(required=False, choices=[("", "any"), *Booking.State.choices])
    money = forms.ChoiceField(
        required=False, choices=[("", "any"), ("owes", "owes us"), ("due", "we owe them"), ("even", "nothing is owed")]
    )
    first = forms.DateField(label="Walk from", required=False, widget=day_input())
    last = forms.DateField(label="To", required=False, widget=day_input())
    walk = forms.CharField(required=False, max_length=20, widget=forms.HiddenInput)

    def layout(self) -> Layout:
        return Layout("state", "money", "first", "last", "walk", Submit("", "Show"))

    def only_walk(self) -> Offering | None:
        """The one walk or course that is shown, where it is narrowed to one that there is. One query, or none."""
        walk = self.cleaned_data.get("walk")
        return Offering.objects.filter(public_id=walk).first() if walk else None

    def bookings(self) -> QuerySet[Booking]:
        """What the cleaned filter leaves, with `day`, `people` and `owed`. No query."""
        given = self.cleaned_data
        wanted = {
            "state": given.get("state"),
            "day__gte": given.get("first"),
            "day__lte": given.get("last"),
            "offering__public_id": given.get("walk"),
        }
        narrowed = {name: value for name, value in wanted.items() if value}
        found = all_bookings().filter(MONEY.get(given.get("money", ""), Q()), **narrowed)
        return found.select_related("party__contact", "offering__prices")


def all_bookings() -> QuerySet[Booking]:
    """Every booking with the day of its first walk and its number of people; in minor units what it owes, and what was
    promised back and is not paid out. No query.
    """
    transfers = Transfer.objects.filter(booking=OuterRef("pk")).order_by().values("booking")
    people = Person.objects.filter(party=OuterRef("party")).order_by().values("party")
    days = Walk.objects.filter(offering=OuterRef("offering")).order_by().values("offering")
    return Booking.objects.annotate(
        day=Subquery(days.annotate(first=Min("local_date")).values("first")),
        people=Coalesce(Subquery(people.annotate(number=Count("pk")).values("number")), 0),
        owed=Coalesce(Subquery(transfers.annotate(sum=OWED).values("sum")), 0),
        promised=Coalesce(Subquery(transfers.annotate(sum=credit_of(*PROMISED)).values("sum")), 0),
    )


@names_act("booking.see")
@require_safe
def staff_bookings(request: HttpRequest) -> HttpResponse:
    """All bookings, the newest first; narrowed by state, money, walk and day. Four queries, five for one walk."""
    form = BookingsFilter(request.GET)
    found = form.bookings() if form.is_valid() else Booking.objects.none()
    rows = sorted_list(request, found, COLUMNS, first="-booked")
    context = {"form": form, "page": rows.page, "heads": rows.heads, "walk": form.only_walk()}
    return render(request, "bookings/staff_bookings.html", context)
