"""What anybody may read: the programme, the courses, a species with the walks that teach it."""

from __future__ import annotations

from datetime import datetime
from itertools import groupby

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from curriculum.drawings import drawing_of
from curriculum.models import Taxon, Withdrawal
from curriculum.printed import printed_sheets
from curriculum.queries import account_of, accounts_in_use, species_slugs, taxon_by_slug
from foraywright.floor.door import names_act
from walks.finds import own_finds
from walks.models import Offering, ThemeTaxon
from walks.queries import offering_slugs, programme
from walks.shown import Listed, listed

MOST_PAIRS = 3
"""Lookalikes that are drawn beside a species on its page, the worst first: a drawing weighs about 100 kB."""


@names_act("public.read")
@require_safe
def programme_page(request: HttpRequest) -> HttpResponse:
    """Every walk and course to come, by month."""
    now = timezone.now()
    rows = listed(programme(now=now), offering_slugs(), accounts_in_use(), now=now)
    return render(request, "walks/programme.html", {"months": _by_month(rows)})


@names_act("public.read")
@require_safe
def courses(request: HttpRequest) -> HttpResponse:
    """The courses to come, with all their days."""
    now = timezone.now()
    chosen = [one for one in programme(now=now) if one.kind == Offering.Kind.COURSE]
    return render(
        request, "walks/courses.html", {"courses": listed(chosen, offering_slugs(), accounts_in_use(), now=now)}
    )


def _by_month(rows: list[Listed]) -> list[tuple[str, list[Listed]]]:
    return [(month, list(group)) for month, group in groupby(rows, key=lambda row: f"{row.next.start:%B %Y}")]


@names_act("public.read")
@require_safe
def species_page(request: HttpRequest, slug: str) -> HttpResponse:
    """The sheet of one species, and the walks to come whose theme teaches it."""
    taxon, present = taxon_by_slug(slug)
    if taxon is None:
        raise Http404
    if present != slug:
        return redirect("species_page", present, permanent=True)
    accounts = accounts_in_use()
    if taxon.key not in accounts:
        return _withdrawn(request, taxon)
    (printed,) = printed_sheets([taxon.key], accounts)
    in_use, sheet = printed.use, printed.sheet
    slugs = species_slugs()
    addresses = {key: slugs.get(one.taxon.public_id, "") for key, one in accounts.items()}
    context = {
        "in_use": in_use,
        "slug": present,
        "drawing": drawing_of(in_use),
        "sheet": sheet,
        "dangers": [
            (one, addresses.get(one.taxon or "", ""), printed.pair_of(one) if place < MOST_PAIRS else None)
            for place, one in enumerate(sheet.dangers)
        ],
        "harmless": [(one, addresses.get(one.taxon or "", "")) for one in sheet.harmless],
        "walks": _teaching(taxon, now=timezone.now()),
        "found": own_finds(taxon.key),
    }
    return render(request, "curriculum/species_page.html", context)


def _withdrawn(request: HttpRequest, taxon: Taxon) -> HttpResponse:
    """A taxon of which only withdrawn versions exist: why, and that nothing of it is in use. Http404 without any."""
    withdrawals = Withdrawal.objects.filter(version__taxon=taxon).select_related("version")
    withdrawal = withdrawals.order_by("-withdrawn_at").first()
    if withdrawal is None:
        raise Http404
    name = account_of(withdrawal.version).vernacular()
    context = {"name": name, "withdrawal": withdrawal}
    return render(request, "curriculum/species_withdrawn.html", context, status=410)


def _teaching(taxon: Taxon, *, now: datetime) -> list[Listed]:
    themes = set(ThemeTaxon.objects.filter(taxon=taxon).values_list("theme_id", flat=True))
    on_offer = [one for one in programme(now=now) if one.state == Offering.State.PUBLISHED]
    taught = [one for one in on_offer if one.theme_id in themes]
    return listed(taught, offering_slugs(), {}, now=now)
