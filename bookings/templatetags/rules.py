"""The rules that pages say beside a form: the ground rules in force, and what the law adds to the terms."""

from django import template

from bookings.ground_rules import rules_in_force
from bookings.statutory import StatutoryNotes, statutory_notes
from foraywright.floor.models import PolicyVersion

register = template.Library()


@register.simple_tag
def ground_rules() -> PolicyVersion:
    """The newest version. One query."""
    return rules_in_force()


@register.filter
def statutory(jurisdiction: str) -> StatutoryNotes:
    """What the law says beside the terms: {% with law=business.jurisdiction|statutory %}. No query."""
    return statutory_notes(jurisdiction)
