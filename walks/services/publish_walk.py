"""Put a draft on the public programme."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime

from django.db.models import QuerySet

from curriculum.models import TaxonName
from curriculum.pairs import review_due
from curriculum.queries import AccountInUse, accounts_in_use, dangerous_lookalikes
from foraywright.floor.acts import By, act, record
from foraywright.floor.numbering import bump_feed
from walks.errors import WalkNotPublished
from walks.guides import first_aider_on, objections_to
from walks.models import Guide, LandownersPermission, Offering, Walk
from walks.permissions import against_permission
from walks.queries import cover_for, taught_keys
from walks.services.sessions import lock_guides

FEED = "walks"


@act
def publish_walk(offering: Offering, *, by: By, now: datetime) -> Offering:
    """Publish `offering`. Raises WalkNotPublished with every reason at once.

    The permissions are locked: two schedulers could otherwise both take a permission's last day of the year. So are the
    guides: a certificate edited in the same moment is read as it was saved, or its editor reads of this walk.
    """
    offering = Offering.objects.select_for_update().get(pk=offering.pk)
    if offering.state != Offering.State.DRAFT:
        state = offering.get_state_display().lower()
        raise WalkNotPublished(f"“{offering.title}” is {state} already.", became="Nothing was changed.")
    sites = offering.walks.values("site")
    list(LandownersPermission.objects.select_for_update().filter(site__in=sites).order_by("pk"))
    walks = walks_with_guides_locked(offering.walks.all())
    reasons = list(reasons_against(walks, now=now))
    if reasons:
        raise WalkNotPublished(
            f"“{offering.title}” was not published.",
            why=list(dict.fromkeys(reasons)),
            became="It stays a draft.",
            now="Put these right first.",
        )
    offering.state, offering.published_at = Offering.State.PUBLISHED, now
    offering.save(update_fields=["state", "published_at"])
    bump_feed(FEED, now=now)
    record("publish walk", offering, by=by, now=now, fields=("state",))
    return offering


def walks_with_guides_locked(walks: QuerySet[Walk]) -> list[Walk]:
    """The `walks` with what publishing reads of them, their guides locked. Four queries."""
    lock_guides(Guide.objects.filter(walk_guides__walk__in=walks.values("pk")))
    whole = walks.select_related("site", "theme", "offering__theme")
    return list(whole.prefetch_related("walk_guides__guide__certificates"))


def reasons_against(walks: list[Walk], *, now: datetime) -> Iterator[str]:
    """Everything that stands against publishing `walks`, which are one offering: a sentence each, in locked rows."""
    yield from against_dates(walks, now=now)
    yield from unsigned(walks, today=now.date())


def against_dates(walks: list[Walk], *, now: datetime) -> Iterator[str]:
    """What stands against `walks` being held where, when and with whom they are planned."""
    guides = objections_to(walks)
    for walk in walks:
        if walk.starts_at <= now:
            yield f"The walk of {walk.local_date} lies in the past."
        yield from against_permission(walk, walks)
        yield from _papers(walk)
        yield from (one.sentence for one in guides[walk.pk])


def _papers(walk: Walk) -> Iterator[str]:
    if cover_for(walk) is None:
        yield f"No insurance cover is in force on {walk.local_date}."
    if not first_aider_on(walk.walk_guides.all(), walk.local_date):
        yield f"Nobody on the walk of {walk.local_date} has a first-aid certificate in date that day."


def unsigned(walks: list[Walk], *, today: date) -> Iterator[str]:
    """What is taught goes home with beginners: its accounts and their dangerous lookalikes must be signed."""
    accounts = accounts_in_use()
    due = review_due(accounts, today=today)
    taught = [accounts[key] for key in taught_keys(walks) if key in accounts]
    feared = [other for one in taught for other in dangerous_lookalikes(one.account, accounts)]
    without = {one.taxon.pk: one for one in (*taught, *feared) if one.sign_off is None}
    for one in without.values():
        yield f"The account of {_name(one)} is not signed."
    for one in taught:
        if one.taxon.key in due:
            yield f"The account of {_name(one)} is due for review."


def _name(one: AccountInUse) -> str:
    first = one.taxon.names.filter(kind=TaxonName.Kind.VERNACULAR).order_by("place").first()
    return first.name if first else one.account.accepted_name
