"""What walks earn and cost, for the office: one walk, and a season with its spreadsheet."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from datetime import date, timedelta
from decimal import Decimal
from io import BytesIO

import xlsxwriter
from crispy_forms.helper import FormHelper
from crispy_forms.layout import Submit
from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from bookings.card_costs import fees_of_no_walk
from bookings.compute.bar_chart import Bar, bars
from bookings.compute.spreadsheet import as_csv, inert
from bookings.models import WalkCost
from bookings.money_forms import trading_currency
from bookings.services.note_cost import note_cost, take_cost_back
from bookings.takings import Group, Takings, offerings_between, summed, takings_of
from foraywright.floor.compute.money import as_text, in_major, in_minor
from foraywright.floor.door import names_act
from walks.form_base import day_input
from walks.models import Offering
from walks.views.guide import staff

HEADINGS = (
    "Day",
    "Walk",
    "Theme",
    "State",
    "People",
    "Offered",
    "Sold",
    "Without VAT",
    "VAT owed by now",
    "Costs",
    "Left",
    "Currency",
)


MOST = 1_000_000
"""The highest cost of one kind, in whole units of the currency: more is a slip of the keyboard."""


class CostForm(forms.Form):
    """One cost of a walk."""

    kind = forms.ChoiceField(label="For", choices=WalkCost.Kind.choices)
    amount = forms.DecimalField(
        label="Amount",
        min_value=0,
        max_value=MOST,
        max_digits=9,
        help_text="Without the VAT that you get back, as 85.00",
        error_messages={"required": "Write the amount, as 85.00.", "invalid": "Write the amount in figures, as 85.00."},
    )
    for_each = forms.BooleanField(label="for each person who comes", required=False)

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        self.helper = FormHelper()
        self.helper.attrs = {"novalidate": True}
        self.helper.add_input(Submit("note", "Note this cost", css_class="quiet"))

    def clean_amount(self) -> int:
        try:
            minor = in_minor(self.cleaned_data["amount"], trading_currency())
        except ValueError as fault:
            raise forms.ValidationError(str(fault)) from fault
        if not minor:
            raise forms.ValidationError("A cost is more than nothing.")
        return minor


class SeasonForm(forms.Form):
    """Which days a report covers."""

    first = forms.DateField(label="From", widget=day_input())
    last = forms.DateField(label="To", widget=day_input())


@names_act("money.see")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_takings(request: HttpRequest, public_id: str) -> HttpResponse:
    """One walk in money: what it sold, what it costs, how many people cover it."""
    offering = get_object_or_404(Offering.objects.select_related("prices", "theme"), public_id=public_id)
    form = CostForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        note_cost(
            offering,
            kind=data["kind"],
            amount_minor=data["amount"],
            for_each=data["for_each"],
            by=staff(request),
            now=timezone.now(),
        )
        messages.success(request, "Noted.")
        return redirect("staff_takings", public_id)
    (takings,) = takings_of([offering])
    context = {"offering": offering, "takings": takings, "costs": offering.costs.order_by("noted_at"), "form": form}
    return render(request, "bookings/staff_takings.html", context, status=422 if form.errors else 200)


@names_act("money.see")
@require_POST
def staff_cost_remove(request: HttpRequest, public_id: str) -> HttpResponse:
    """Take out a cost that was noted by mistake."""
    cost = get_object_or_404(WalkCost.objects.select_related("offering"), public_id=public_id)
    take_cost_back(cost, by=staff(request), now=timezone.now())
    return redirect("staff_takings", cost.offering.public_id)


@names_act("money.see")
@require_safe
def staff_season(request: HttpRequest) -> HttpResponse:
    """A season in money and places, as charts and a table."""
    first, last, form = _season(request)
    takings = takings_of(offerings_between(first, last))
    months = summed(takings, _month_words(takings))
    themes = summed(takings, lambda one: one.offering.theme.name)
    fees = fees_of_no_walk(first, last)
    context = {
        "form": form,
        "takings": takings,
        "months": _money_bars(months, takings),
        "places": _place_bars(months),
        "themes": themes,
        "currency": takings[0].currency if takings else "",
        "total": sum(one.sold for one in takings),
        "fees": fees,
        "left": sum(one.left for one in takings) - fees,
    }
    return render(request, "bookings/staff_season.html", context)


def _season(request: HttpRequest) -> tuple[date, date, SeasonForm]:
    """The days asked for; without any, half a year either way."""
    today = timezone.localdate()
    return span(request, today - timedelta(days=182), today + timedelta(days=182))


def span(request: HttpRequest, first: date, last: date) -> tuple[date, date, SeasonForm]:
    """The days asked for; without any, or where they cannot be read, from `first` to `last`."""
    usual = {"first": first, "last": last}
    form = SeasonForm(request.GET or None, initial=usual)
    asked = form.cleaned_data if form.is_bound and form.is_valid() else usual
    return asked["first"], asked["last"], form


def _month_words(takings: Sequence[Takings]) -> Callable[[Takings], str]:
    """How each is put under its month; one that comes in two years has the year with it, and a bar for each."""
    months = {(one.first_day.year, one.first_day.month) for one in takings}
    twice = {month for month, number in Counter(month for _, month in months).items() if number > 1}
    return lambda one: f"{one.first_day:%b %Y}" if one.first_day.month in twice else f"{one.first_day:%b}"


def _money_bars(months: Sequence[Group], takings: Sequence[Takings]) -> list[Bar]:
    return bars([(one.label, as_text(one.sold, takings[0].currency), one.sold, 0) for one in months])


def _place_bars(months: Sequence[Group]) -> list[Bar]:
    return bars([(one.label, f"{one.people} of {one.offered}", one.people, one.offered) for one in months])


@names_act("money.see")
@require_safe
def staff_season_file(request: HttpRequest, form: str) -> HttpResponse:
    """The table of the season for a spreadsheet: form "xlsx" or "csv"."""
    if form not in ("xlsx", "csv"):
        raise Http404
    first, last, _ = _season(request)
    rows = [_cells(one) for one in takings_of(offerings_between(first, last))]
    content, kind = (_xlsx(rows), XLSX) if form == "xlsx" else (as_csv([HEADINGS, *rows]), "text/csv; charset=utf-8")
    answer = HttpResponse(content, content_type=kind)
    answer["Content-Disposition"] = f'attachment; filename="season-{first}-{last}.{form}"'
    return answer


XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
Cells = tuple[str | int | Decimal, ...]


def _cells(one: Takings) -> Cells:
    texts = (one.first_day.isoformat(), one.offering.title, one.offering.theme.name, one.offering.get_state_display())
    money = (in_major(amount, one.currency) for amount in (one.sold, one.net, one.tax_owed, one.costs, one.left))
    return (*map(inert, texts), one.people, one.offered, *money, one.currency)


def _xlsx(rows: Sequence[Cells]) -> bytes:
    written = BytesIO()
    book = xlsxwriter.Workbook(written, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    heading, day = book.add_format({"bold": True}), book.add_format({"num_format": "yyyy-mm-dd"})
    money = book.add_format({"num_format": "0.00"})
    sheet = book.add_worksheet("Season")
    sheet.write_row(0, 0, HEADINGS, heading)
    for number, (first_day, *cells) in enumerate(rows, start=1):
        sheet.write_datetime(number, 0, date.fromisoformat(str(first_day)), day)
        for column, cell in enumerate(cells, start=1):
            sheet.write(number, column, cell, money if isinstance(cell, Decimal) else None)
    sheet.freeze_panes(1, 0)
    sheet.autofit()
    book.close()
    return written.getvalue()
