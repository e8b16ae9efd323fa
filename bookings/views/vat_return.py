"""The office's page for a tax return: the tax that became owed between two days, and its spreadsheet."""

from __future__ import annotations

from datetime import date

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from bookings.compute.spreadsheet import as_csv, inert
from bookings.money_forms import trading_currency
from bookings.vat_return import TaxPoint, by_day, by_rate, in_percent, promised_back, tax_points, total
from bookings.views.takings import SeasonForm, span
from foraywright.floor.compute.money import in_major
from foraywright.floor.door import names_act

HEADINGS = ("Day", "Rate", "Why", "Booking", "Tax", "Currency")


@names_act("money.see")
@require_safe
def staff_vat_return(request: HttpRequest) -> HttpResponse:
    """Output tax of a period, by rate and by day."""
    first, last, form = _quarter(request)
    points = tax_points(first, last)
    context = {
        "form": form,
        "first": first,
        "last": last,
        "rates": [(in_percent(one.key[0]), one.tax_minor) for one in by_rate(points)],
        "days": [(one.key[0], in_percent(one.key[1]), one.key[2], one.tax_minor) for one in by_day(points)],
        "total": total(points),
        "currency": trading_currency(),
        "promised": promised_back(),
    }
    return render(request, "bookings/staff_vat_return.html", context)


def _quarter(request: HttpRequest) -> tuple[date, date, SeasonForm]:
    """The days asked for; without any, the quarter of the calendar up to today."""
    today = timezone.localdate()
    return span(request, date(today.year, 3 * ((today.month - 1) // 3) + 1, 1), today)


@names_act("money.see")
@require_safe
def staff_vat_return_file(request: HttpRequest) -> HttpResponse:
    """Every movement of the period as CSV."""
    first, last, _ = _quarter(request)
    content = as_csv([HEADINGS, *map(_cells, tax_points(first, last))])
    answer = HttpResponse(content, content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="tax-{first}-{last}.csv"'
    return answer


def _cells(one: TaxPoint) -> tuple[object, ...]:
    texts = (one.day.isoformat(), in_percent(one.basis_points), one.why, one.booking)
    return (*map(inert, texts), in_major(one.tax_minor, one.currency), one.currency)
