"""Keep an offering as a template, to be scheduled again on other dates."""

from __future__ import annotations

from datetime import datetime

from foraywright.floor.acts import By, act, record
from walks.errors import TemplateNotSaved
from walks.models import Offering, OfferingTemplate, TemplateSession, Walk


@act
def save_template(offering: Offering, name: str, *, by: By, now: datetime) -> OfferingTemplate:
    """Save what `offering` is, but for its dates, guides and tides, under `name`. Raises TemplateNotSaved.

    The offering is locked, so that its sessions do not change while they are copied.
    """
    offering = Offering.objects.select_for_update().get(pk=offering.pk)
    if OfferingTemplate.objects.filter(name=name).exists():
        raise TemplateNotSaved(
            f"There is a template “{name}” already.",
            became="Nothing was saved.",
            now="Give this one another name.",
            field="name",
        )
    template = OfferingTemplate.objects.create(
        name=name,
        title=offering.title,
        lead=offering.lead,
        theme=offering.theme,
        fewest=offering.fewest,
        certificate_percent=offering.certificate_percent,
        prices=offering.prices,
    )
    walks = list(offering.walks.order_by("starts_at", "pk"))
    for number, walk in enumerate(walks, start=1):
        _copy(template, number, walk, days_after=(walk.local_date - walks[0].local_date).days)
    record("save template", template, by=by, now=now, fields=("name",))
    return template


def _copy(template: OfferingTemplate, number: int, walk: Walk, *, days_after: int) -> None:
    TemplateSession.objects.create(
        template=template,
        number=number,
        days_after=days_after,
        site=walk.site,
        local_time=walk.local_time,
        minutes=walk.minutes,
        is_night_walk=walk.is_night_walk,
        heading=walk.heading,
        theme=walk.theme,
        covers=walk.covers,
        points=walk.points,
    )
