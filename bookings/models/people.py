"""Contact (who books), Party (a group), Person (who attends). Never merged by e-mail: families share one."""

from __future__ import annotations

from django.db import models

from bookings.compute.search_words import contact_words, person_words
from foraywright.floor.compute.folding import folded
from foraywright.floor.ids import new_public_id


class Contact(models.Model):
    """Who books and is written to. One row a booking made; people are truly erased, never flagged."""

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    name = models.CharField(max_length=120)
    folded = models.CharField(max_length=120, editable=False, db_index=True)
    email = models.EmailField(blank=True, help_text="Empty: letters go by post")
    address = models.CharField(max_length=300, blank=True, help_text="Where letters are posted; lines kept")
    # Text: a folded name may be longer than the name, and PostgreSQL would refuse the row.
    searched = models.TextField(
        default="", editable=False, help_text="Name and e-mail address, folded, and the digits of the telephone"
    )
    phone = models.CharField(max_length=30, blank=True)
    created_at = models.DateTimeField()
    erased_at = models.DateTimeField(null=True, blank=True, help_text="When name and addresses were taken out")

    def save(self, *args: object, **kwargs: object) -> None:
        self.folded = folded(self.name)
        self.searched = contact_words(self.name, self.email, self.phone)
        super().save(*args, **kwargs)  # type: ignore[arg-type]

    def __str__(self) -> str:
        return self.public_id


class Party(models.Model):
    """A group that comes together: one contact, the people who attend."""

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    contact = models.ForeignKey(Contact, on_delete=models.PROTECT, related_name="parties")
    created_at = models.DateTimeField()

    def __str__(self) -> str:
        return self.public_id


class Person(models.Model):
    """Somebody who attends. Of a child the age on the walk's day is asked, never a date of birth."""

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    party = models.ForeignKey(Party, on_delete=models.CASCADE, related_name="people")
    name = models.CharField(max_length=120, blank=True)
    folded = models.TextField(default="", blank=True, editable=False, help_text="A space and the name, folded")
    band = models.CharField(max_length=20, help_text="Age band of the ratio policy, or adult")
    youngest_age = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Youngest age of the band: what the ratios count with; empty for not known"
    )
    concession = models.CharField(max_length=20, blank=True, help_text="Key of the lower price that they pay, if any")
    is_leader = models.BooleanField(
        default=False, help_text="An adult of a school or club who leads its group, and pays nothing"
    )
    guardian = models.ForeignKey(
        "self",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="wards",
        help_text="The adult of the same party who is in charge of this child",
    )

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~models.Q(guardian=models.F("id")), name="nobody_is_their_own_guardian"),
        ]

    def save(self, *args: object, **kwargs: object) -> None:
        self.folded = person_words(self.name)
        super().save(*args, **kwargs)  # type: ignore[arg-type]

    def __str__(self) -> str:
        return self.public_id
