"""Reads of walks that more than one page needs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Prefetch, Q, QuerySet

from curriculum.compute.expected import Expectation, Ground, expectation
from curriculum.compute.phenology import FindList
from curriculum.queries import AccountInUse, vocabulary
from foraywright.floor.models import PolicyVersion, Slug
from walks.compute.age_bands import RatioPolicy, policy_from_toml
from walks.compute.daylight import Daylight, daylight
from walks.compute.limits import Cap, StaffMember
from walks.models import (
    GuideCertificate,
    InsuranceCover,
    LandownersPermission,
    MayLead,
    Offering,
    Site,
    ThemeTaxon,
    Walk,
    WalkGuide,
)
from walks.ratio_conditions import conditions_of

CERTIFICATES = "walk_guides__guide__certificates"


@dataclass(frozen=True, slots=True)
class WalkLimits:
    """What bounds a walk before anybody has booked: policy, fixed caps, our own people."""

    policy: RatioPolicy
    caps: tuple[Cap, ...]
    staff: tuple[StaffMember, ...]


def ratio_policy(version: PolicyVersion) -> RatioPolicy:
    """The ratio policy in a policy row. No query."""
    return policy_from_toml(version.body)


def walk_limits(walk: Walk) -> WalkLimits:
    """The limits of `walk` from its site, papers and guides. Four queries, or two with guides prefetched."""
    return _limits(walk, ratio_policy(walk.offering.ratios), permission_for(walk), cover_for(walk))


def limits_of(walks: Sequence[Walk]) -> dict[int, WalkLimits]:
    """The limits of many walks by primary key: two queries whatever their number, where guides are prefetched."""
    sites = {walk.site_id for walk in walks}
    permissions = list(LandownersPermission.objects.filter(site__in=sites).order_by("-most_people", "pk"))
    covers = list(InsuranceCover.objects.order_by("-most_people", "pk"))
    versions = {walk.offering.ratios_id: walk.offering.ratios for walk in walks}
    policies = {key: ratio_policy(one) for key, one in versions.items()}
    return {
        walk.pk: _limits(
            walk,
            policies[walk.offering.ratios_id],
            _permission_among(permissions, walk),
            _cover_among(covers, walk),
        )
        for walk in walks
    }


def _permission_among(permissions: Sequence[LandownersPermission], walk: Walk) -> LandownersPermission | None:
    """`permissions` come with those for most people first."""
    theirs = [one for one in permissions if one.site_id == walk.site_id]
    return next((one for one in theirs if one.rule.open_on(walk.local_date)), None)


def _cover_among(covers: Sequence[InsuranceCover], walk: Walk) -> InsuranceCover | None:
    return next((one for one in covers if one.valid_from <= walk.local_date <= one.valid_to), None)


def _limits(
    walk: Walk, policy: RatioPolicy, permission: LandownersPermission | None, cover: InsuranceCover | None
) -> WalkLimits:
    caps = tuple(_caps(walk, permission, cover))
    return WalkLimits(policy.under(conditions_of(walk)), caps, tuple(staff_of(walk)))


def _caps(walk: Walk, permission: LandownersPermission | None, cover: InsuranceCover | None) -> Sequence[Cap]:
    site = walk.site
    caps = [Cap("site", "The site", "everybody", site.most_people, f"site record of {site.name}", "as recorded")]
    if permission is not None:
        caps.append(
            Cap(
                "permission",
                "The landowner's permission",
                "everybody",
                permission.most_people,
                f"permission for {site.name}",
                f"{permission.valid_from} to {permission.valid_to}",
            )
        )
    if cover is not None:
        caps.append(
            Cap("insurance", "The insurance", "participants", cover.most_people, "insurance cover", cover.policy_number)
        )
    return caps


def staff_of(walk: Walk) -> list[StaffMember]:
    """Our people on the walk, the leading guide first, with their background checks on the walk's day.

    Who did not come on the day is not among them: nobody is kept safe by a guide who is not there.
    """
    order = list(WalkGuide.Role)
    out = [one for one in walk.walk_guides.all() if one.missing_since is None]
    outings = sorted(out, key=lambda one: (order.index(WalkGuide.Role(one.role)), one.pk))
    return [_staff_member(one, walk) for one in outings]


def _staff_member(outing: WalkGuide, walk: Walk) -> StaffMember:
    checks = [one for one in outing.guide.certificates.all() if one.kind == GuideCertificate.Kind.BACKGROUND_CHECK]
    return StaffMember(
        key=outing.guide.name,
        role="helper" if outing.role == WalkGuide.Role.HELPS else "guide",
        adult=outing.guide.adult,
        background_check_in_date=any(one.covers(walk.local_date) for one in checks),
        largest_group=outing.guide.largest_group,
        may_lead_children=MayLead.CHILDREN in outing.guide.may_lead,
    )


def permission_for(walk: Walk) -> LandownersPermission | None:
    """The landowner's permission that is open on the walk's day; that for most people where several are. One query."""
    permissions = LandownersPermission.objects.filter(site=walk.site_id).order_by("-most_people", "pk")
    return _permission_among(list(permissions), walk)


def cover_for(walk: Walk) -> InsuranceCover | None:
    """The insurance cover in force on the walk's day. One query."""
    in_force = InsuranceCover.objects.filter(valid_from__lte=walk.local_date, valid_to__gte=walk.local_date)
    return in_force.order_by("-most_people", "pk").first()


def light_at(site: Site, day: date) -> Daylight:
    """Daylight at the site's meeting point on a local day."""
    return daylight(float(site.latitude), float(site.longitude), day, site.clock)


def with_everything(walks: QuerySet[Walk]) -> QuerySet[Walk]:
    """Walks with offering, theme, policies, site, guides and certificates: four queries whatever their number."""
    outings = WalkGuide.objects.select_related("guide").prefetch_related("guide__certificates")
    return walks.select_related(
        "site", "theme", "offering", "offering__theme", "offering__prices", "offering__ratios", "offering__refunds"
    ).prefetch_related(Prefetch("walk_guides", queryset=outings))


def public_offerings() -> QuerySet[Offering]:
    """Published and called-off offerings with their walks, sites and guides. Four queries."""
    walks = Walk.objects.select_related("site", "theme").prefetch_related(CERTIFICATES)
    related = _public().select_related("theme", "prices", "ratios", "refunds")
    return related.prefetch_related(Prefetch("walks", queryset=walks))


def _public() -> QuerySet[Offering]:
    shown = Q(state=Offering.State.PUBLISHED) | Q(state=Offering.State.CALLED_OFF, published_at__isnull=False)
    return Offering.objects.filter(shown, private=False)


def programme(*, now: datetime) -> list[Offering]:
    """What the public programme lists: offerings with a walk still to come, by their next walk. Ten queries.

    What hundreds of walks share (sites, themes, price lists) is read once each, not once for every walk.
    """
    walks = Walk.objects.prefetch_related("site", "theme", CERTIFICATES)
    related = ("theme", "prices", "ratios", "refunds", Prefetch("walks", queryset=walks))
    coming = _public().filter(walks__ends_at__gt=now).distinct().prefetch_related(*related)
    return sorted(coming, key=lambda one: min(walk.starts_at for walk in one.walks.all() if walk.ends_at > now))


def offering_by_slug(text: str) -> tuple[Offering | None, str]:
    """The public offering with the slug `text` and its present slug; (None, "") where there is none. Six queries."""
    slug = Slug.objects.filter(kind="offering", text=text).first()
    if slug is None:
        return None, ""
    offering = public_offerings().filter(public_id=slug.object_id).first()
    return offering, slug_of(slug.object_id)


def slug_of(object_id: str) -> str:
    """The present slug of an offering. One query."""
    newest = Slug.objects.filter(kind="offering", object_id=object_id).order_by("-since", "-pk")
    return newest.values_list("text", flat=True).first() or ""


def offering_slugs() -> dict[str, str]:
    """Offering public id → its present slug. One query."""
    return dict(Slug.objects.filter(kind="offering").order_by("since", "pk").values_list("object_id", "text"))


def wanted_by(walks: Sequence[Walk]) -> dict[int, list[str]]:
    """By primary key, the taxa that each walk teaches, by key, in order: those of the session, else its theme's.

    One query whatever their number, where offering and themes are at hand.
    """
    by_theme: dict[int, list[str]] = defaultdict(list)
    themes = {walk.subject.pk for walk in walks if not walk.covers}
    for theme, key in ThemeTaxon.objects.filter(theme__in=themes).values_list("theme", "taxon__key"):
        by_theme[theme].append(key)
    return {walk.pk: list(walk.covers) or by_theme[walk.subject.pk] for walk in walks}


def taught_keys(walks: Sequence[Walk]) -> list[str]:
    """Keys of the taxa that any of `walks` is to teach. One query."""
    return list(dict.fromkeys(key for keys in wanted_by(walks).values() for key in keys))


def expectation_of(
    walk: Walk,
    accounts: Mapping[str, AccountInUse],
    *,
    wanted: Sequence[str] | None = None,
    lists: Sequence[FindList] = (),
) -> Expectation:
    """What to expect on the walk: the site's habitats and trees, the day, the theme. One query; none with `wanted`.

    `lists`: own finds. They move the chances, never what is named, so only what shows chances reads them.
    """
    ground = Ground(frozenset(walk.site.habitats), frozenset(walk.site.host_trees))
    return expectation(
        [one.account for one in accounts.values()],
        day=walk.local_date,
        ground=ground,
        wanted=wanted_by([walk])[walk.pk] if wanted is None else wanted,
        vocabulary=vocabulary(),
        lists=lists,
    )
