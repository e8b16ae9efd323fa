"""The fixed cast. Everybody in a test comes from here.

olive      office: may do everything but sign accounts
gwen       guide with first aid and a background check in date; leads the walk
harry      guide without a background check
rosa       reviewer: signs accounts
pat        participant: books for two adults
mo         parent: books for one adult and two children of 4 to 8
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal

from django.contrib.auth.models import Group

from bookings.services.orders import Order
from curriculum.models import Taxon
from foraywright.floor.compute.permissions import Actor
from foraywright.floor.ids import new_secret
from foraywright.floor.models import Business, PolicyVersion, User
from walks.models import (
    Guide,
    GuideCertificate,
    InsuranceCover,
    LandownersPermission,
    MayLead,
    Offering,
    Site,
    Theme,
    ThemeTaxon,
)
from walks.policies import default_ratios
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import Plan, Session, schedule_walk

WALK_DAY = date(2026, 10, 3)
YEAR = (date(2026, 1, 1), date(2026, 12, 31))
OFFICE = Actor(signed_in=True, roles=frozenset({"office"}))
PASSWORD = "a long enough pass phrase"


@dataclass
class World:
    """The cast and what belongs to them."""

    now: datetime
    olive: User
    rosa: User
    gwen: Guide
    harry: Guide
    wood: Site
    theme: Theme
    offering: Offering

    @property
    def walk(self) -> object:
        return self.offering.walks.get()

    def session(self, **changes: object) -> Session:
        """A session that nothing is wrong with: the wood, a Saturday at ten, three hours, Gwen leads."""
        values = {
            "site": self.wood,
            "local_date": WALK_DAY,
            "local_time": time(10, 0),
            "minutes": 180,
            "guides": (self.gwen,),
        }
        return Session(**(values | changes))  # type: ignore[arg-type]

    def plan(self, *sessions: Session, **changes: object) -> Plan:
        """A plan for `sessions` (one good session if none is given)."""
        values = {"title": "The bare wood", "theme": self.theme, "sessions": sessions or (self.session(),)}
        return Plan(**(values | changes))  # type: ignore[arg-type]

    def order(self, *bands: str, **changes: object) -> Order:
        """Pat's order for two adults, or for `bands`."""
        values = {
            "offering": self.offering,
            "name": "Pat Partridge",
            "email": "pat@example.org",
            "phone": "01632 960 001",
            "bands": bands or ("adult", "adult"),
            "guardian": True,
            "key": new_secret(),
        }
        return Order(**(values | changes))  # type: ignore[arg-type]


def make_world(*, now: datetime) -> World:
    """Business, policies, people, one wood with its papers, one theme, one published walk for up to 12."""
    make_business()
    make_policies(now=now)
    olive, rosa = make_user("olive", "office"), make_user("rosa", "reviewer")
    gwen = make_guide("Gwen Guide", make_user("gwen", "guide"), "first_aid", "background_check")
    harry = make_guide("Harry Guide", make_user("harry", "guide"), "first_aid")
    wood, theme = make_wood(), make_theme()
    world = World(now, olive, rosa, gwen, harry, wood, theme, Offering())
    draft = schedule_walk(world.plan(world.session(guides=(gwen, harry))), by=olive, now=now)
    world.offering = publish_walk(draft, by=olive, now=now)
    return world


def make_business() -> Business:
    return Business.objects.create(
        name="Cast and Company",
        email="office@example.org",
        phone="01632 960 100",
        jurisdiction="GB-ENG",
        calendar_domain="walks.example.org",
    )


def make_policies(*, now: datetime) -> None:
    kinds = PolicyVersion.Kind
    prices = {"adult": 1800, "under-2": 0, "2-3": 0, "4-8": 900, "9-12": 900, "13-17": 1200}
    bodies = {
        kinds.RATIOS: default_ratios(),
        kinds.PRICES: {"currency": "GBP", "vat_basis_points": 2000, "by_band": prices},
        kinds.REFUNDS: {"tiers": [{"days": 14, "percent": 100}, {"days": 7, "percent": 50}]},
    }
    for kind, body in bodies.items():
        PolicyVersion.objects.create(kind=kind, number=1, body=body, source="the cast", since=now)


def make_user(name: str, *roles: str) -> User:
    user = User.objects.create_user(name, password=PASSWORD, first_name=name.title())
    user.groups.set(Group.objects.filter(name__in=roles))
    return user


def make_guide(name: str, user: User | None, *certificates: str) -> Guide:
    guide = Guide.objects.create(name=name, user=user, phone="01632 960 200", days_a_week=7, may_lead=MayLead.values)
    for kind in certificates:
        GuideCertificate.objects.create(guide=guide, kind=kind, title=kind, valid_from=YEAR[0], valid_to=YEAR[1])
    return guide


def make_wood(**changes: object) -> Site:
    values = {
        "name": "Cast Wood",
        "meeting_point": "the east gate",
        "reference_as_typed": "SU 387 148",
        "reference_datum": "OSGB36",
        "reference_precision_m": 100,
        "latitude": Decimal("50.931600"),
        "longitude": Decimal("-1.450000"),
        "ground_latitude": Decimal("50.932000"),
        "ground_longitude": Decimal("-1.451000"),
        "habitats": ["broadleaved_wood"],
        "host_trees": [],
        "most_people": 20,
        "shares_lifts": True,
    }
    wood = Site.objects.create(**(values | changes))
    LandownersPermission.objects.create(
        site=wood, granted_by="The landowner", valid_from=YEAR[0], valid_to=YEAR[1], days_a_year=20, most_people=14
    )
    InsuranceCover.objects.get_or_create(
        policy_number="C-1",
        defaults={"insurer": "Insurer", "valid_from": YEAR[0], "valid_to": YEAR[1], "most_people": 16},
    )
    return wood


def make_theme(*taxa: str) -> Theme:
    theme = Theme.objects.create(name="Winter wood", lead="What still grows when the leaves are down.")
    for place, key in enumerate(taxa):
        ThemeTaxon.objects.create(theme=theme, taxon=Taxon.objects.get(key=key), place=place)
    return theme
