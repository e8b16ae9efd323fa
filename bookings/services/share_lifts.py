"""Offer or want a lift, ask, answer, end. The offering is locked: two parties would else get the same last seat."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import datetime

from django.db.models import Q

from bookings.errors import NotShared
from bookings.lifts import adults_of, agreed_on, fit, may_share, others_of
from bookings.models import Booking, LiftAsk, LiftShare
from bookings.services.locks import lock_booking
from foraywright.floor.acts import By, act, record, require_act

UNSEEN = "Nobody was shown your details."


@dataclass(frozen=True, slots=True)
class LiftWords:
    """What a party says: `kind` and `shows` are values of LiftShare's choices."""

    kind: str
    seats: int
    area: str
    first_name: str
    shows: str


@act
def say_lift(booking: Booking, words: LiftWords, *, by: By, now: datetime) -> LiftShare:
    """Put the offer or wish on the list of the offering. Raises NotShared where the booking may not or has one."""
    booking = _locked(booking, now=now)
    if not adults_of(booking):
        raise NotShared("Lifts are shared between adults, and your party has none.", became=UNSEEN)
    if LiftShare.objects.filter(booking=booking).exists():
        raise NotShared("You are on the list already.", became=UNSEEN, now="Take yours off first to say it anew.")
    if not getattr(booking.party.contact, words.shows):
        raise NotShared("We do not have that of you.", became=UNSEEN, now="Choose the other one.", field="shows")
    share = LiftShare.objects.create(booking=booking, adult_said_at=now, **asdict(words))
    record("say lift", booking, by=by, now=now, fields=("lift",))
    return share


@act
def ask_for_lift(booking: Booking, other_id: str, *, by: By, now: datetime) -> None:
    """Ask the other party; asking again does nothing more. Raises NotShared."""
    booking = _locked(booking, now=now)
    mine = _own(booking)
    other = others_of(mine).filter(public_id=other_id).first()
    if other is None:
        raise NotShared("They are not on the list any more.", became=UNSEEN, now="Ask somebody else.")
    if LiftAsk.objects.filter(asker=other, asked=mine).exists():
        raise NotShared("They have asked you already.", became=UNSEEN, now="Answer them, or ask somebody else.")
    _refuse_without_seats(mine, other)
    LiftAsk.objects.get_or_create(asker=mine, asked=other)
    record("ask for a lift", booking, by=by, now=now, fields=("lift",))


@act
def answer_lift(booking: Booking, asker_id: str, *, agrees: bool, by: By, now: datetime) -> None:
    """Agree, and both see each other's details, or decline. An answer given stands. Raises NotShared."""
    booking = _locked(booking, now=now)
    mine = _own(booking)
    ask = LiftAsk.objects.select_related("asker").filter(asked=mine, asker__public_id=asker_id, state="open").first()
    if ask is None:
        raise NotShared("This question is not open any more.", became="What was answered before stands.")
    if agrees:
        _refuse_without_seats(mine, ask.asker)
        LiftShare.objects.filter(pk__in=(mine.pk, ask.asker_id)).update(lost_at=None)
    ask.state = LiftAsk.State.AGREED if agrees else LiftAsk.State.DECLINED
    ask.save(update_fields=["state"])
    record("answer a lift", booking, by=by, now=now, fields=("lift",))


@act
def end_agreed(booking: Booking, other_id: str, *, by: By, now: datetime) -> None:
    """Take back what the party agreed with one other, who is told on their page. What is over already stays so."""
    booking, _ = lock_booking(booking)
    pair = Q(asker__public_id=other_id, asked__booking=booking) | Q(asked__public_id=other_id, asker__booking=booking)
    if LiftAsk.objects.filter(pair, state=LiftAsk.State.AGREED).update(state=LiftAsk.State.DECLINED):
        LiftShare.objects.filter(public_id=other_id).update(lost_at=now)
        record("end agreed lift", booking, by=by, now=now, fields=("lift",))


@act
def take_lift_off(booking: Booking, *, by: By, now: datetime) -> None:
    """Take the party's own offer or wish off the list, with everything that was asked and agreed."""
    booking, _ = lock_booking(booking)
    end_lift(booking, now=now)
    record("take lift off", booking, by=by, now=now, fields=("lift",))


def end_lift(booking: Booking, *, now: datetime) -> None:
    """The step that deletes the booking's share. Who had agreed with it is told on their page: they have no lift."""
    require_act()
    agreed = LiftAsk.State.AGREED
    LiftShare.objects.filter(asks_made__asked__booking=booking, asks_made__state=agreed).update(lost_at=now)
    LiftShare.objects.filter(asks_got__asker__booking=booking, asks_got__state=agreed).update(lost_at=now)
    LiftShare.objects.filter(booking=booking).delete()


def _locked(booking: Booking, *, now: datetime) -> Booking:
    booking, _ = lock_booking(booking)
    if not may_share(booking, now=now):
        raise NotShared("Lifts are shared for a booking whose walk is still to come, and wants it.", became=UNSEEN)
    return booking


def _own(booking: Booking) -> LiftShare:
    share = LiftShare.objects.filter(booking=booking).first()
    if share is None:
        raise NotShared("You are not on the list.", became=UNSEEN, now="Say first what you offer or want.")
    return share


def _refuse_without_seats(one: LiftShare, other: LiftShare) -> None:
    if not fit(one, other, agreed_on(one.booking.offering_id)):
        raise NotShared("The seats do not suffice any more.", became=UNSEEN, now="Ask somebody else.")
