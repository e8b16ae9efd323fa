"""Let another guide of the walk lead it where the leading one did not come."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from foraywright.floor.acts import act, record
from foraywright.floor.models import User
from walks.errors import LeadNotTaken
from walks.guides import objections_to_leading
from walks.models import Guide, Walk, WalkGuide, WalkStart
from walks.queries import with_everything
from walks.services.say_who_guides import EARLIEST
from walks.services.sessions import lock_guides


@act
def take_the_lead(outing: WalkGuide, *, by: User, now: datetime) -> None:
    """Make the guide of `outing` lead in place of the one who did not come, who guides should they come after all.

    Our rule: at the meeting point only, before the start, and with every paper that leading this walk asks for. Nothing
    signed is carried over: the assessment names who leads and so turns stale, and the weather is decided anew. Walk
    and guides are locked: the walk could otherwise start, or a paper end, in the same moment. Raises LeadNotTaken.
    """
    Walk.objects.select_for_update().get(pk=outing.walk_id)
    lock_guides(Guide.objects.filter(walk_guides__walk=outing.walk_id))
    walk = with_everything(Walk.objects.filter(pk=outing.walk_id)).get()
    taking = next(one for one in walk.walk_guides.all() if one.pk == outing.pk)
    reasons = list(_against(walk, taking, now=now))
    if reasons:
        raise LeadNotTaken(
            f"{taking.guide} does not lead this walk.",
            why=reasons,
            became="Whoever leads is as before.",
            now="Let another guide lead, or call the walk off.",
        )
    walk.walk_guides.filter(role=WalkGuide.Role.LEADS).update(role=WalkGuide.Role.GUIDES)
    walk.walk_guides.filter(pk=taking.pk).update(role=WalkGuide.Role.LEADS)
    record("take the lead", walk.offering, by=by, now=now, fields=("guides",), reason=f"{taking.guide} leads")


def _against(walk: Walk, taking: WalkGuide, *, now: datetime) -> Iterator[str]:
    if walk.called_off_at is not None or not walk.starts_at - EARLIEST <= now < walk.ends_at:
        yield "That is decided at the meeting point, from two hours before the start on."
    if WalkStart.objects.filter(walk=walk).exists():
        yield "The walk has started."
    leading = [one for one in walk.walk_guides.all() if one.role == WalkGuide.Role.LEADS]
    if any(one.missing_since is None for one in leading):
        yield f"{leading[0].guide} leads, and nobody has said that they did not come."
    if taking.missing_since is not None:
        yield f"{taking.guide} did not come either."
    if taking.role == WalkGuide.Role.HELPS or not taking.guide.adult:
        yield "Only a grown guide leads, not who helps."
    if taking.guide.user_id is None:
        yield f"{taking.guide} has no account to sign and start with."
    yield from (one.sentence for one in objections_to_leading(taking, walk))
