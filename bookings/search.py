"""What the box in the staff's bar finds: bookings and their people, walks, sites, guides, species.

Words are compared folded, by the beginnings of words; what participants are called is looked at for the office alone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import and_, or_
from typing import Any

from django.db.models import Min, Q, QuerySet
from django.urls import reverse
from django.utils.text import slugify

from bookings.compute.search_words import digits_of, is_number, name_words, number_typed
from bookings.models import Booking, Contact, Person
from curriculum.models import TaxonName
from foraywright.floor.compute.folding import folded
from foraywright.floor.compute.permissions import Actor, may
from foraywright.floor.compute.short_codes import read_short_code, spoken
from foraywright.floor.models import Slug
from walks.models import Guide, Offering, Site

A_PAGE = 20
FEWEST_LETTERS, FEWEST_DIGITS = 2, 4


@dataclass(frozen=True, slots=True)
class Found:
    """One thing found: how it is called, what it is, where its page is."""

    words: str
    note: str
    address: str


@dataclass(frozen=True, slots=True)
class Group:
    """What was found of one kind: this page of it, and whether there is more."""

    title: str
    found: tuple[Found, ...]
    more: bool


def search(actor: Actor, typed: str, *, page: int = 1) -> list[Group]:
    """What `actor` may see and `typed` finds, a page of each kind; empty where too little was typed. Eight queries."""
    words = folded(typed).split()
    if not any(len(word) >= FEWEST_LETTERS for word in words):
        return []
    allowed = [kind for kind in KINDS if not may(actor, kind.act)]
    groups = [_group(kind, kind.look(typed, words), page) for kind in allowed]
    return [group for group in groups if group.found]


def _group(kind: _Kind, rows: Any, page: int) -> Group:
    start = (page - 1) * A_PAGE
    found = list(rows[start : start + A_PAGE + 1])
    return Group(kind.title, tuple(kind.show(one) for one in found[:A_PAGE]), more=len(found) > A_PAGE)


def _every(words: Iterable[str], *fields: str) -> Q:
    """Every word begins a word in one of `fields`, which hold a space before each word."""
    return reduce(and_, (reduce(or_, (Q(**{f"{one}__contains": f" {word}"}) for one in fields)) for word in words))


def _bookings(typed: str, words: Sequence[str]) -> QuerySet[Booking]:
    """By code, by the contact's name, address or number, by the name of anybody who comes; the newest first."""
    found, names = Q(), name_words(typed)
    if names:
        found |= Q(party__in=Person.objects.filter(_every(names, "folded")).values("party"))
    found |= Q(party__contact__in=Contact.objects.filter(_contact(typed, words)).values("pk"))
    code = read_short_code(typed)
    if code:
        found |= Q(code=code)
    return Booking.objects.filter(found).select_related("party__contact", "offering").order_by("-booked_at", "-pk")


def _contact(typed: str, words: Sequence[str]) -> Q:
    if is_number(typed) and len(digits_of(typed)) >= FEWEST_DIGITS:
        return Q(searched__contains=number_typed(typed))
    return reduce(or_, (_every(one, "searched") for one in (words, name_words(typed)) if one))


def _offerings(typed: str, words: Sequence[str]) -> QuerySet[Offering]:
    """By the words of any address that they have or had, which are those of title and date; the newest first."""
    bare = [slugify(word) for word in words if slugify(word)]
    begins = (Q(text__startswith=word) | Q(text__contains=f"-{word}") for word in bare)
    slugs = Slug.objects.filter(reduce(and_, begins, Q(kind="offering"))).values("object_id")
    found = Offering.objects.filter(public_id__in=slugs) if bare else Offering.objects.none()
    return found.annotate(first=Min("walks__local_date")).order_by("-first", "-pk")


def _sites(typed: str, words: Sequence[str]) -> QuerySet[Site]:
    begins = (Q(folded__startswith=word) | Q(folded__contains=f" {word}") for word in words)
    return Site.objects.filter(reduce(and_, begins)).order_by("name")


def _guides(typed: str, words: Sequence[str]) -> list[Guide]:
    """A house has few guides: their names are folded here."""
    return [one for one in Guide.objects.all() if all(f" {word}" in f" {folded(one.name)}" for word in words)]


def _names(typed: str, words: Sequence[str]) -> QuerySet[TaxonName]:
    """Names of taxa that have an account, a row each name: the accepted one may differ from what was typed."""
    begins = (Q(folded__startswith=word) | Q(folded__contains=f" {word}") for word in words)
    names = TaxonName.objects.filter(reduce(and_, begins), taxon__versions__isnull=False)
    return names.select_related("taxon").order_by("folded", "pk").distinct()


def _show_booking(one: Booking) -> Found:
    note = f"{one.party.contact.name or 'erased'} · {one.offering.title} · {one.get_state_display().lower()}"
    return Found(spoken(one.code), note, reverse("staff_booking", args=[one.code]))


def _show_offering(one: Any) -> Found:
    note = f"{one.first:%-d %B %Y} · {one.get_state_display().lower()}" if one.first else one.get_state_display()
    return Found(one.title, note, reverse("staff_walk", args=[one.public_id]))


def _show_site(one: Site) -> Found:
    return Found(one.name, one.meeting_point, reverse("staff_site", args=[one.public_id]))


def _show_guide(one: Guide) -> Found:
    return Found(one.name, "" if one.active else "no longer chosen", reverse("staff_guide", args=[one.public_id]))


def _show_name(one: TaxonName) -> Found:
    return Found(one.name, one.taxon.key.replace("-", " ").capitalize(), reverse("staff_account", args=[one.taxon.key]))


@dataclass(frozen=True, slots=True)
class _Kind:
    """A kind of thing: the act that whoever looks must be allowed, and how it is looked for and shown."""

    act: str
    title: str
    look: Callable[[str, Sequence[str]], Any]
    show: Callable[[Any], Found]


KINDS = (
    _Kind("booking.see", "Bookings", _bookings, _show_booking),
    _Kind("walk.see", "Walks and courses", _offerings, _show_offering),
    _Kind("site.see", "Sites", _sites, _show_site),
    _Kind("guide.edit", "Guides", _guides, _show_guide),
    _Kind("account.review", "Species", _names, _show_name),
)
