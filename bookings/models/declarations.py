"""What people tell us for their safety, which rules they accepted, what access they need, and who looked."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from bookings.models.bookings import Booking
from bookings.models.people import Person
from foraywright.floor.ids import new_public_id
from foraywright.floor.models import PolicyVersion
from foraywright.floor.sealed import SealedField


class SaidBy(models.TextChoices):
    """In what part somebody spoke for a person of a party."""

    SELF = "self", "themselves"
    GUARDIAN = "guardian", "the child’s guardian"
    CONTACT = "contact", "who booked, with their word"
    OFFICE = "office", "the office, as told"
    GUIDE = "guide", "the guide, as told where they met"


class Declaration(models.Model):
    """What the guide should know of one person. One given anew replaces the last: no history of health is kept.

    An empty answer says "nothing to declare"; a person without a row has not been heard yet. Erased with the person.
    """

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    person = models.OneToOneField(Person, on_delete=models.CASCADE, related_name="declaration")
    allergies = SealedField()
    conditions = SealedField()
    medicines = SealedField()
    diet = SealedField()
    emergency_name = SealedField()
    emergency_phone = SealedField()
    emergency_relation = SealedField()
    photos = models.BooleanField(help_text="Whether pictures of the person may be shown")
    rules = models.ForeignKey(PolicyVersion, on_delete=models.PROTECT, related_name="+")
    said_by = models.CharField(max_length=10, choices=SaidBy)
    given_at = models.DateTimeField()

    def __str__(self) -> str:
        return self.public_id


class RulesAccepted(models.Model):
    """Who accepted which version of the ground rules, and when. Evidence without health content; it outlives names."""

    booking = models.ForeignKey(Booking, on_delete=models.PROTECT, related_name="rules_accepted")
    person = models.ForeignKey(Person, null=True, on_delete=models.SET_NULL, related_name="rules_accepted")
    rules = models.ForeignKey(PolicyVersion, on_delete=models.PROTECT, related_name="+")
    said_by = models.CharField(max_length=10, choices=SaidBy)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.booking}: {self.rules}"


class AccessNeed(models.Model):
    """What somebody needs to be able to come, asked apart from health and answered by a named person."""

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    booking = models.ForeignKey(Booking, on_delete=models.PROTECT, related_name="access_needs")
    # What a step in the path means to somebody can be health, so it is sealed like it.
    need = SealedField()
    asked_at = models.DateTimeField()
    answer = SealedField(null=True)
    answered_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    answered_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            # An answer that nobody gave could not be asked about.
            models.CheckConstraint(
                condition=models.Q(answer__isnull=True, answered_by=None, answered_at=None)
                | models.Q(answer__isnull=False, answered_by__isnull=False, answered_at__isnull=False),
                name="an_answer_has_its_person_and_instant",
            ),
        ]
        indexes = [
            # The front page: needs that nobody has answered.
            models.Index(fields=["answered_at"], name="access_needs_open"),
        ]

    def __str__(self) -> str:
        return self.public_id


class KeptLonger(models.Model):
    """Why the personal data of a booking outlive their time: an incident, a claim. Until when, on whose word."""

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    booking = models.ForeignKey(Booking, on_delete=models.PROTECT, related_name="kept_longer")
    reason = models.CharField(max_length=200)
    until = models.DateField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.booking} until {self.until}"


class Look(models.Model):
    """One look at what somebody declared. Append-only by trigger; ids, never values: it outlives the answers."""

    class What(models.TextChoices):
        DECLARATION = "declaration", "Declaration"
        EMERGENCY = "emergency", "Emergency contact"
        ACCESS = "access", "Access need"
        EXPORT = "export", "Export for the person"
        INCIDENT = "incident", "Report of an incident"

    at = models.DateTimeField()
    who = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    what = models.CharField(max_length=12, choices=What)
    person_id_of = models.CharField(max_length=20, help_text="Public id of the person, or of the booking")
    walk_id_of = models.CharField(max_length=20, blank=True, help_text="Public id of the walk")

    class Meta:
        indexes = [
            # Who looked at one person's answers, for the person who asks.
            models.Index(fields=["person_id_of", "at"], name="looks_at_a_person"),
        ]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.what} {self.person_id_of}"
