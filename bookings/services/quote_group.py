"""Quote a group a price for a private walk, let it accept, and take a quote back."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime

from bookings.errors import NotQuoted
from bookings.group_party import ages_of_group, people_of_group
from bookings.models import Booking, GroupQuote, Person
from bookings.queries import prices_of
from bookings.quote_states import OPEN, WHY_CLOSED, booked_by, quote_state
from bookings.services.group_places import book_group, requote_group
from bookings.services.locks import lock_offerings
from bookings.services.orders import refuse_at_the_door
from bookings.services.outbox import write_that_closed, write_to_group
from bookings.services.selling import obstacle, walks_to_come
from foraywright.floor.acts import By, act, record, require_act
from foraywright.floor.models import User
from walks.models import Walk

NOTHING = "Nothing was booked, and nothing is owed."
AS_IT_WAS = "What is booked stays as it was."


@act
def quote_group(quote: GroupQuote, *, by: User, now: datetime) -> GroupQuote:
    """Save `quote`, which is filled in but not saved, and write to the group. Raises NotQuoted where it would not fit.

    The offering is locked: what is quoted must have been possible at that moment.
    """
    quote.offering = lock_offerings(quote.offering_id)[quote.offering_id]
    before = booked_by(quote.enquiry, quote.offering)
    _refuse(quote, people_of_group(quote), walks_to_come(quote.offering, now=now), before, now=now)
    quote.currency, quote.made_by, quote.made_at = prices_of(quote.offering).currency, by, now
    quote.save()
    write_to_group(quote, now=now)
    record("quote group", quote.enquiry, by=by, now=now, fields=("price", "valid_until"))
    return quote


@act
def accept_quote(quote: GroupQuote, *, by: By, now: datetime) -> Booking:
    """Book what was quoted, or change by it what the group has booked of this walk; return the booking.

    Accepting again returns the same one. Raises NotQuoted. The offering is locked, then the quote: two of the group who
    accept at once would otherwise book twice.
    """
    quote = _locked(quote)
    if quote.booking is not None:
        return quote.booking
    before = booked_by(quote.enquiry, quote.offering)
    people, walks = people_of_group(quote), walks_to_come(quote.offering, now=now)
    _refuse(quote, people, walks, before, now=now)
    if before is None:
        booking = book_group(quote, people, walks, by=by, now=now)
    else:
        before = Booking.objects.select_for_update(of=("self",)).select_related("offering", "party").get(pk=before.pk)
        booking = requote_group(before, quote, people, walks, by=by, now=now)
    quote.booking = booking
    quote.save(update_fields=["booking"])
    record("accept quote", booking, by=by, now=now, fields=("party", "places"))
    return booking


@act
def withdraw_quote(quote: GroupQuote, *, by: User, now: datetime) -> None:
    """Take a quote back that nobody accepted yet, and tell the group if it had it. Raises NotQuoted.

    Locked, so that it cannot be accepted meanwhile.
    """
    _refuse_closed(quote := _locked(quote), "The quote was not withdrawn.", now=now)
    quote.withdrawn_at = now
    quote.save(update_fields=["withdrawn_at"])
    write_that_closed(quote, now=now)
    record("withdraw quote", quote.enquiry, by=by, now=now, fields=("quotes",))


@act
def decline_quote(quote: GroupQuote, *, by: By, now: datetime) -> None:
    """The group does not want it: the quote is closed, and stands on the office's Today. Raises NotQuoted.

    Declining again changes nothing. Locked, so that another of the group cannot accept it meanwhile.
    """
    quote = _locked(quote)
    if quote.declined_at is not None:
        return
    _refuse_closed(quote, "The quote was not declined.", now=now)
    quote.declined_at = now
    quote.save(update_fields=["declined_at"])
    record("decline quote", quote.enquiry, by=by, now=now, fields=("quotes",))


@act
def send_quote_again(quote: GroupQuote, *, by: User, now: datetime) -> None:
    """Write once more to a group that lost its letter; earlier links stay good. Raises NotQuoted for a closed quote."""
    _refuse_closed(quote := _locked(quote), "The letter was not sent again.", now=now)
    write_to_group(quote, now=now)
    record("send quote again", quote.enquiry, by=by, now=now, fields=("messages",))


def _locked(quote: GroupQuote) -> GroupQuote:
    require_act()
    offering = lock_offerings(quote.offering_id)[quote.offering_id]
    quote = GroupQuote.objects.select_for_update(of=("self",)).select_related("enquiry").get(pk=quote.pk)
    quote.offering = offering
    return quote


def _refuse_closed(quote: GroupQuote, happened: str, *, now: datetime) -> None:
    state = quote_state(quote, now=now)
    if state != OPEN:
        raise NotQuoted(happened, why=[WHY_CLOSED[state]], became=AS_IT_WAS)


def _refuse(
    quote: GroupQuote, people: Sequence[Person], walks: Sequence[Walk], before: Booking | None, *, now: datetime
) -> None:
    """Raise NotQuoted. `before`: what the group has booked already, whose places the quote would take over."""
    became = NOTHING if before is None else AS_IT_WAS
    reasons = list(_reasons_against(quote, now=now))
    if reasons:
        raise NotQuoted("That cannot be done now.", why=reasons, became=became, now="Ask us for a new quote.")
    refuse_at_the_door([one.band for one in people], quote.offering, walks, now=now)
    found = obstacle(ages_of_group(people, quote.leaders), quote.offering, walks, now=now, but=before)
    if found is not None:
        raise NotQuoted(f"Not possible: {found.what}.", why=found.why, became=became, now="Change the group’s size.")


def _reasons_against(quote: GroupQuote, *, now: datetime) -> Iterator[str]:
    if not quote.offering.private:
        yield "The walk is not kept for a group."
    if quote.enquiry.forgotten_at is not None:
        yield "We no longer have the group’s name and address."
    state = quote_state(quote, now=now)
    if state == "ran_out":
        yield f"The quote was valid until {quote.valid_until.day} {quote.valid_until:%B %Y}."
    elif state != OPEN:
        yield WHY_CLOSED[state]
