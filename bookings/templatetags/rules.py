"""The rules that pages say beside a form: the ground rules in force, and what the law adds to the terms."""

from django import template

from bookings.ground_rules import rules_in_force
from bookings.statutory import StatutoryNote, StatutoryNotes, statutory_notes
from foraywright.floor.models import PolicyVersion
from walks.models import Offering

register = template.Library()


@register.simple_tag
def ground_rules() -> PolicyVersion:
    """The newest version. One query."""
    return rules_in_force()


@register.filter
def statutory(jurisdiction: str) -> StatutoryNotes:
    """What the law says beside the terms: {% with law=business.jurisdiction|statutory %}. No query."""
    return statutory_notes(jurisdiction)


@register.filter
def for_buyer(law: StatutoryNotes, offering: Offering) -> tuple[StatutoryNote, ...]:
    """Of it what concerns whoever books `offering`: of one kept for a group, what holds for bodies too."""
    return law.for_buyer(group=offering.private)
