"""What anybody may read of the curriculum: the list of species, and the cautions that stand above all of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from curriculum.compute.phenology import season_curve
from curriculum.models import AccountVersion, Taxon, Withdrawal
from curriculum.queries import (
    AccountInUse,
    account_of,
    accounts_in_use,
    jurisdictions,
    species_slugs,
    taxa_called,
    vocabulary,
)
from foraywright.floor.door import names_act
from foraywright.floor.models import Business


@dataclass(frozen=True, slots=True)
class SpeciesRow:
    """A species as a list shows it. `danger`: "deadly", "poisonous" or empty; `tier`, or the verdict on eating."""

    name: str
    scientific: str
    slug: str
    danger: str
    tier: str
    half_months: tuple[float, ...]


@names_act("public.read")
@require_safe
def species_list(request: HttpRequest) -> HttpResponse:
    """All species with an account by group, or those of which a name contains the words of `q`."""
    words = request.GET.get("q", "").strip()[:80]
    accounts = accounts_in_use()
    keys = taxa_called(words) if words else set(accounts)
    groups = _groups([one for key, one in accounts.items() if key in keys], species_slugs())
    context = {"groups": groups, "words": words, "found": len(keys & set(accounts))}
    return render(request, "curriculum/species_list.html", context)


def _groups(chosen: Iterable[AccountInUse], slugs: dict[str, str]) -> list[tuple[str, list[SpeciesRow]]]:
    chosen = sorted(chosen, key=lambda one: one.account.vernacular().casefold())
    by_group = [
        (str(group.label), [_row(one, slugs) for one in chosen if one.taxon.group == group]) for group in Taxon.Group
    ]
    return [(label, rows) for label, rows in by_group if rows]


def _row(one: AccountInUse, slugs: dict[str, str]) -> SpeciesRow:
    account = one.account
    edibility = vocabulary().terms["edibility"][account.edibility]
    return SpeciesRow(
        name=account.vernacular(),
        scientific=account.accepted_name,
        slug=slugs.get(one.taxon.public_id, ""),
        danger=edibility.label if edibility.danger else "",
        tier=vocabulary().label("tier", account.tier) if account.tier else edibility.label,
        half_months=season_curve(account.season),
    )


@names_act("public.read")
@require_safe
def cautions(request: HttpRequest) -> HttpResponse:
    """What this is and is not, the law, and what to do when somebody is ill."""
    business = Business.objects.first()
    places = jurisdictions()
    place = places.get(business.jurisdiction) if business else None
    sources = [one for one in places["source"] if place and one["key"] in place["sources"]]
    return render(request, "curriculum/cautions.html", {"place": place, "sources": sources})


@names_act("public.read")
@require_safe
def sheet_state(request: HttpRequest, public_id: str) -> HttpResponse:
    """What the code on a printed sheet leads to: whether that version is current, replaced or withdrawn, and why."""
    versions = AccountVersion.objects.select_related("taxon", "sign_off")
    version = get_object_or_404(versions, public_id=public_id)
    in_use = accounts_in_use().get(version.taxon.key)
    later = Withdrawal.objects.filter(version__taxon=version.taxon, version__number__gte=version.number)
    withdrawal = later.order_by("version__number").first()
    context = {
        "version": version,
        "name": account_of(version).vernacular(),
        "withdrawal": withdrawal,
        "current": in_use is not None and in_use.version == version,
        "in_use": in_use,
        "slug": species_slugs().get(version.taxon.public_id, ""),
    }
    return render(request, "curriculum/sheet_state.html", context)
