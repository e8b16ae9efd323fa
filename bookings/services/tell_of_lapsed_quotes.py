"""Tell groups that a quote ran out before they answered it."""

from __future__ import annotations

from datetime import datetime, timedelta

from bookings.models import GroupQuote, OutboxMessage
from bookings.quote_states import quote_state
from bookings.services.outbox import write_that_closed
from foraywright.floor.acts import act

TOLD_WITHIN = timedelta(days=3)
"""After that nobody is told of it any more (our rule): a worker that stood still writes no letters about the past."""


def tell_of_lapsed_quotes(*, now: datetime) -> int:
    """Intend a letter for each quote that ran out by now and was not told of; say how many. Few queries a quote."""
    told = OutboxMessage.objects.filter(kind=OutboxMessage.Kind.QUOTE_CLOSED).values("quote")
    unanswered = GroupQuote.objects.filter(booking=None, withdrawn_at=None, declined_at=None)
    to_come = unanswered.filter(offering__walks__starts_at__gt=now)
    lately = to_come.filter(valid_until__gte=(now - TOLD_WITHIN).date(), valid_until__lte=now.date())
    candidates = lately.exclude(pk__in=told).select_related("offering").distinct()
    ran_out = [one for one in candidates if quote_state(one, now=now) == "ran_out"]
    for one in ran_out:
        _intend(one, now=now)
    return len(ran_out)


@act
def _intend(quote: GroupQuote, *, now: datetime) -> None:
    """Whether it is still true is asked when it is sent."""
    write_that_closed(quote, now=now)
