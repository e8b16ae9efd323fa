"""The ground rules in force, for the forms that ask for them."""

from django import template

from bookings.ground_rules import rules_in_force
from foraywright.floor.models import PolicyVersion

register = template.Library()


@register.simple_tag
def ground_rules() -> PolicyVersion:
    """The newest version. One query."""
    return rules_in_force()
