"""The handout booklet of a walk, and what every printed document of a walk says of it.

The HTML depends on nothing but the facts that it prints, so that the same facts never build a second file.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.urls import reverse

from curriculum.compute.expected import Expectation
from curriculum.compute.half_months import half_month
from curriculum.compute.key_words import BOTH
from curriculum.compute.sheet import Sheet
from curriculum.models import AccountVersion, Document
from curriculum.printed import LARGE, STANDARD, PrintedSheet, printed_sheets
from curriculum.queries import AccountInUse, accounts_in_use, dangerous_lookalikes, jurisdictions, sheets, vocabulary
from curriculum.services.want_document import want_document
from foraywright.floor.models import Business
from foraywright.floor.printing import render_document
from walks.models import Offering, Walk, WalkGuide
from walks.queries import expectation_of, light_at, slug_of, with_everything
from walks.walk_key import GroupKey, Names, keys_of, shown

AHEAD = timedelta(days=60)


@dataclass(frozen=True, slots=True)
class IndexLine:
    """A name and the sheet that it leads to."""

    name: str
    scientific: bool
    anchor: str


def booklet(
    walk: Walk, accounts: Mapping[str, AccountInUse], variant: str = STANDARD
) -> tuple[str, list[AccountVersion]]:
    """The handout booklet of `walk` as HTML, and every account version that something in it is printed from.

    A sheet for each taxon that the theme wants, then for the poisonous and deadly ones they are confused with; whatever
    else may be met is a name to look at only.
    """
    expected = expectation_of(walk, dict(accounts))
    taught = [one.account.taxon for one in expected.taught if one.wanted]
    taught += [one.taxon for one in expected.not_now]
    feared = _feared(taught, accounts)
    printed = printed_sheets([*taught, *feared], accounts, variant)
    keys = keys_of(walk, accounts)
    context = {
        **walk_facts(walk),
        "large": variant == LARGE,
        "keys": [shown(one, Names(accounts)) for one in keys],
        "both": BOTH,
        "key_address": settings.SITE_ADDRESS + reverse("walk_key", args=[slug_of(walk.offering.public_id)]),
        "printed_taxa": {one.sheet.taxon for one in printed},
        "taught": printed[: len(taught)],
        "feared": printed[len(taught) :],
        "look_only": _look_only(expected, {one.sheet.taxon for one in printed}, accounts),
        "mark": half_month(walk.local_date),
        "not_now": {one.taxon for one in expected.not_now},
        "index": _index(printed),
        "drafts": sum(one.use.sign_off is None for one in printed),
        "demonstrations": sum(_is_demonstration(one.use) for one in printed),
    }
    versions = _versions(printed, context["look_only"], accounts, _read_by(keys, accounts))
    return render_document("print/booklet.html", context), versions


def _read_by(keys: Iterable[GroupKey], accounts: Mapping[str, AccountInUse]) -> list[AccountInUse]:
    """The accounts from which keys take verdicts, danger words and leads: a recall must find them too."""
    taxa = [taxon for one in keys for taxon in (*one.inside, *one.left_out, *one.passed_over)]
    return [accounts[taxon] for taxon in dict.fromkeys(taxa) if taxon in accounts]


def _feared(taught: Iterable[str], accounts: Mapping[str, AccountInUse]) -> list[str]:
    """The poisonous and deadly taxa that the taught ones are confused with, deadly first, then by name."""
    found = {one.taxon.key: one for key in taught for one in dangerous_lookalikes(accounts[key].account, accounts)}
    rank = vocabulary().terms["edibility"]
    order = sorted(found.values(), key=lambda one: (-rank[one.account.edibility].rank, one.account.vernacular()))
    return [one.taxon.key for one in order]


def _look_only(
    expected: Expectation, printed: set[str], accounts: Mapping[str, AccountInUse]
) -> list[tuple[AccountInUse, Sheet]]:
    """What may be met and has no sheet here, the dangerous first."""
    met = [*(one.taxon for one in expected.dangers), *(one.account.taxon for one in expected.taught)]
    return sheets([key for key in dict.fromkeys(met) if key not in printed], accounts)


def _is_demonstration(use: AccountInUse) -> bool:
    return use.sign_off is not None and use.sign_off.kind == "demonstration"


def _index(printed: Iterable[PrintedSheet]) -> list[IndexLine]:
    lines = [line for one in printed for line in _index_lines(one)]
    return sorted(set(lines), key=lambda line: (line.name.casefold(), line.anchor))


def _index_lines(one: PrintedSheet) -> Iterable[IndexLine]:
    for name in (one.sheet.common, *one.sheet.other_names):
        yield IndexLine(name, False, one.anchor)
    for name in (one.sheet.scientific, *one.sheet.synonyms):
        yield IndexLine(name, True, one.anchor)


def _versions(
    printed: Iterable[PrintedSheet],
    named: Iterable[tuple[AccountInUse, Sheet]],
    accounts: Mapping[str, AccountInUse],
    in_keys: Iterable[AccountInUse],
) -> list[AccountVersion]:
    """Own accounts, those of each pair, of the names to look at only and of the keys: danger is read from them."""
    uses = [one.use for one in printed]
    pairs = [
        accounts[other.taxon]
        for use in uses
        for other in use.account.lookalikes
        if other.taxon and other.taxon in accounts
    ]
    found = {use.taxon.key: use.version for use in (*uses, *pairs, *(use for use, _ in named), *in_keys)}
    return [found[key] for key in sorted(found)]


def want_booklet(walk: Walk, now: datetime, variant: str = STANDARD) -> Document:
    """The booklet's document as the facts stand, asked for where it does not exist yet."""
    html, versions = booklet(walk, accounts_in_use(), variant)
    return want_document("booklet", walk.public_id, html, versions=versions, variant=variant, now=now)


def want_booklets(now: datetime) -> list[Document]:
    """Ask for the booklets of all published walks of the next 60 days."""
    coming = Walk.objects.filter(
        offering__state=Offering.State.PUBLISHED, called_off_at=None, ends_at__gt=now, starts_at__lte=now + AHEAD
    )
    return [want_booklet(walk, now) for walk in with_everything(coming)]


def session_now(offering: Offering, now: datetime) -> Walk:
    """The session that a visitor means: the one under way or next, else the last. Walk.DoesNotExist without any."""
    walks = with_everything(Walk.objects.filter(offering=offering))
    return walks.filter(ends_at__gt=now).first() or walks.reverse()[:1].get()


def walk_facts(walk: Walk) -> dict[str, Any]:
    """What each printed document of a walk says of it; times in the site's zone."""
    business = Business.objects.get()
    zone = walk.clock
    return {
        "business": business,
        "walk": walk,
        "site": walk.site,
        "start": walk.starts_at.astimezone(zone),
        "end": walk.ends_at.astimezone(zone),
        "light": light_at(walk.site, walk.local_date),
        "outings": outings_of(walk),
        "sessions": walk.offering.walks.count(),
        "law": jurisdictions()[business.jurisdiction],
    }


def outings_of(walk: Walk) -> Sequence[WalkGuide]:
    """Who goes with the walk: the leading guide first, then guides, then helpers."""
    order = list(WalkGuide.Role)
    return sorted(walk.walk_guides.all(), key=lambda one: (order.index(WalkGuide.Role(one.role)), one.pk))
