"""An offering is what is sold; it has one dated walk (a single walk) or several (a course)."""

from __future__ import annotations

from datetime import UTC, datetime, tzinfo

from django.conf import settings
from django.db import models

from foraywright.floor.compute.zones import clock_of
from foraywright.floor.ids import new_public_id
from foraywright.floor.models import PolicyVersion
from walks.compute.arrivals import ArrivalRule
from walks.models.guides import Guide
from walks.models.sites import Site
from walks.models.themes import Theme


class Offering(models.Model):
    """Title, theme, price and state of what people book. Capacity is never stored: it is computed from its walks."""

    class Kind(models.TextChoices):
        WALK = "walk", "Walk"
        COURSE = "course", "Course"

    class State(models.TextChoices):
        DRAFT = "draft", "Draft"
        PUBLISHED = "published", "Published"
        CALLED_OFF = "called_off", "Called off"

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    kind = models.CharField(max_length=10, choices=Kind, default=Kind.WALK)
    title = models.CharField(max_length=80)
    lead = models.CharField(max_length=300, blank=True)
    theme = models.ForeignKey(Theme, on_delete=models.PROTECT, related_name="offerings")
    state = models.CharField(max_length=12, choices=State, default=State.DRAFT)
    prices = models.ForeignKey(PolicyVersion, on_delete=models.PROTECT, related_name="+")
    ratios = models.ForeignKey(PolicyVersion, on_delete=models.PROTECT, related_name="+")
    refunds = models.ForeignKey(PolicyVersion, on_delete=models.PROTECT, related_name="+")
    private = models.BooleanField(default=False, help_text="For one group: on no public page and in no public feed")
    fewest = models.PositiveIntegerField(default=4, help_text="Below this many participants it may not run")
    # Our rule; no published standard says how much of a course somebody must have been at.
    certificate_percent = models.PositiveSmallIntegerField(
        default=75, help_text="Share of the sessions that a certificate of attendance asks for, e.g. 75"
    )
    # One to one: a season that is copied forward again makes nothing twice.
    copied_from = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.SET_NULL, related_name="copied_to", help_text="A year earlier"
    )
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    created_at = models.DateTimeField()
    published_at = models.DateTimeField(null=True, blank=True)
    called_off_at = models.DateTimeField(null=True, blank=True)
    called_off_why = models.CharField(max_length=300, blank=True)

    class Meta:
        constraints = [
            # A state without its instant could not be explained afterwards.
            models.CheckConstraint(
                condition=~models.Q(state="called_off") | models.Q(called_off_at__isnull=False),
                name="called_off_has_its_instant",
            ),
            models.CheckConstraint(
                condition=~models.Q(state="published") | models.Q(published_at__isnull=False),
                name="published_has_its_instant",
            ),
            # A share of nothing would certify whoever never came.
            models.CheckConstraint(
                condition=models.Q(certificate_percent__gte=1, certificate_percent__lte=100),
                name="certificate_share_is_1_to_100",
            ),
        ]

    def __str__(self) -> str:
        return self.title


class Walk(models.Model):
    """One dated walk: site + local wall time + guides, within an offering.

    The wall time, zone and fold are the truth; `starts_at` and `ends_at` in UTC are materialised for indexes.
    """

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    offering = models.ForeignKey(Offering, on_delete=models.CASCADE, related_name="walks")
    number = models.PositiveSmallIntegerField(default=1, help_text="Session number within a course")
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="walks")
    local_date = models.DateField()
    local_time = models.TimeField()
    fold = models.PositiveSmallIntegerField(default=0)
    zone = models.CharField(max_length=40)
    minutes = models.PositiveIntegerField()
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    is_night_walk = models.BooleanField(default=False)
    low_water = models.TimeField(null=True, blank=True, help_text="Local time of low water, from a tide table")
    called_off_at = models.DateTimeField(null=True, blank=True)
    # Of this walk alone; empty: as the site says.
    own_car_spaces = models.PositiveSmallIntegerField(null=True, blank=True)
    own_most_dogs = models.PositiveSmallIntegerField(null=True, blank=True)
    own_shares_lifts = models.BooleanField(null=True, blank=True)
    # What this session covers; all of it empty for a single walk, whose offering says it.
    heading = models.CharField(max_length=80, blank=True)
    theme = models.ForeignKey(
        Theme, null=True, blank=True, on_delete=models.PROTECT, related_name="sessions", help_text="Empty: the course's"
    )
    covers = models.JSONField(default=list, blank=True, help_text="Keys of the taxa taught; empty: the theme's")
    points = models.TextField(blank=True, help_text="What is to be learnt, one point a line")
    guides = models.ManyToManyField(Guide, through="WalkGuide", related_name="walks")
    # The calendar entry, as published feeds need it: the UID for ever, the others raised by the acts that change facts.
    calendar_uid = models.CharField(max_length=120, unique=True)
    calendar_sequence = models.PositiveIntegerField(default=0)
    calendar_stamp = models.DateTimeField(help_text="When the entry came to be; DTSTAMP is never the present moment")
    calendar_modified = models.DateTimeField()
    # What the room above says of its sales, for display only: no decision reads it.
    places_taken_shown = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["starts_at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["offering", "number"], name="session_number_once_an_offering"),
            models.CheckConstraint(
                condition=models.Q(ends_at__gt=models.F("starts_at")), name="walk_ends_after_it_starts"
            ),
            models.CheckConstraint(condition=models.Q(fold__in=(0, 1)), name="fold_is_0_or_1"),
        ]
        indexes = [
            # The programme and the feed: walks from a day on.
            models.Index(fields=["starts_at"], name="walks_by_start"),
            # Days a year at a site, counted against the permission.
            models.Index(fields=["site", "local_date"], name="walks_of_a_site"),
        ]

    @property
    def subject(self) -> Theme:
        """The theme of the session: its own, else the offering's."""
        return self.theme or self.offering.theme

    @property
    def arrivals(self) -> ArrivalRule:
        """How many cars and dogs may come: what is said of the walk, else what is said of its site."""
        dogs = self.site.most_dogs if self.own_most_dogs is None else self.own_most_dogs
        cars = self.site.car_spaces if self.own_car_spaces is None else self.own_car_spaces
        return ArrivalRule(dogs, cars)

    @property
    def lifts_shared(self) -> bool:
        """Whether its parties may find lifts with each other: what is said of the walk, else of its site."""
        return self.site.shares_lifts if self.own_shares_lifts is None else self.own_shares_lifts

    @property
    def learning_points(self) -> list[str]:
        """What is to be learnt, point by point."""
        return [line.strip() for line in self.points.splitlines() if line.strip()]

    @property
    def clock(self) -> tzinfo:
        """The site's clock; where its zone is known no more, one that stands as it did when the walk was saved."""
        return clock_of(self.zone, datetime.combine(self.local_date, self.local_time, UTC) - self.starts_at)

    @property
    def local_start(self) -> datetime:
        """The start on the site's clock."""
        return self.starts_at.astimezone(self.clock)

    @property
    def local_end(self) -> datetime:
        """The end on the site's clock."""
        return self.ends_at.astimezone(self.clock)

    def __str__(self) -> str:
        return f"{self.offering} {self.local_date}"


class WalkGuide(models.Model):
    """A guide out on a walk. Never out twice at once: an exclusion constraint on PostgreSQL, a trigger on SQLite."""

    class Role(models.TextChoices):
        LEADS = "leads", "Leads"
        GUIDES = "guides", "Guides"
        HELPS = "helps", "Helps"

    walk = models.ForeignKey(Walk, on_delete=models.CASCADE, related_name="walk_guides")
    guide = models.ForeignKey(Guide, on_delete=models.PROTECT, related_name="walk_guides")
    role = models.CharField(max_length=10, choices=Role, default=Role.GUIDES)
    # Copies of the walk's times and state: a database guarantee can only look at its own table.
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    live = models.BooleanField(default=True)
    missing_since = models.DateTimeField(
        null=True, blank=True, help_text="When somebody at the meeting point said that this guide had not come"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["walk", "guide"], name="guide_once_a_walk"),
            models.CheckConstraint(
                condition=models.Q(ends_at__gt=models.F("starts_at")), name="outing_ends_after_it_starts"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.guide} on {self.walk}"
