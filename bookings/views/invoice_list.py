"""The list of all numbered papers about money, for the office: invoices, credit notes, receipts."""

from __future__ import annotations

from crispy_forms.layout import Layout, Submit
from django import forms
from django.db.models import BigIntegerField, Case, F, QuerySet, When
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from bookings.models import Invoice
from foraywright.floor.door import names_act
from foraywright.floor.sorted_list import Column, sorted_list
from walks.form_base import FilterForm, day_input

COLUMNS = (
    Column("Number", ("number", "kind")),
    Column("Kind", ("kind", "number")),
    Column("Date", ("issued_on", "kind", "number")),
    Column("Buyer", ("buyer",)),
    Column("Booking"),
    Column("Total", ("signed",), number=True),
)


class PapersFilter(FilterForm):
    """Which papers are shown: of a kind, of days."""

    kind = forms.ChoiceField(required=False, choices=[("", "any"), *Invoice.Kind.choices])
    first = forms.DateField(label="From", required=False, widget=day_input())
    last = forms.DateField(label="To", required=False, widget=day_input())

    def layout(self) -> Layout:
        return Layout("kind", "first", "last", Submit("", "Show"))

    def papers(self) -> QuerySet[Invoice]:
        """What the cleaned filter leaves, with `signed`: the total, below 0 for a credit note. No query."""
        given = self.cleaned_data
        wanted = {"kind": given["kind"], "issued_on__gte": given["first"], "issued_on__lte": given["last"]}
        taken_off = When(kind=Invoice.Kind.CREDIT_NOTE, then=-F("total_minor"))
        signed = Case(taken_off, default=F("total_minor"), output_field=BigIntegerField())
        found = Invoice.objects.annotate(signed=signed).select_related("booking")
        return found.filter(**{name: value for name, value in wanted.items() if value})


@names_act("money.handle")
@never_cache
@require_safe
def staff_papers(request: HttpRequest) -> HttpResponse:
    """All of them, the newest first; narrowed by kind and days. Four queries."""
    form = PapersFilter(request.GET)
    found = form.papers() if form.is_valid() else Invoice.objects.none()
    rows = sorted_list(request, found, COLUMNS, first="-date")
    context = {"form": form, "page": rows.page, "heads": rows.heads}
    return render(request, "bookings/staff_papers.html", context, status=422 if form.errors else 200)
