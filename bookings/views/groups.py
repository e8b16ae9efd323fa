"""Schools and clubs: the enquiry, the quote by link, and the office's pages of both."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from bookings.errors import NotBooked, NotQuoted, TooOften
from bookings.group_forms import EnquiryForm, QuoteForm
from bookings.group_quotes import quote_facts, quote_pdf
from bookings.models import GroupEnquiry, GroupQuote, OutboxMessage
from bookings.outbox_states import in_words
from bookings.person_export import export_of_enquiry
from bookings.quote_states import booked_by, quote_state
from bookings.seen import asker_mark
from bookings.services.ask_for_group import KEPT, ask_for_group
from bookings.services.booking_link import booking_link
from bookings.services.count_attempt import count_attempt
from bookings.services.erase import erase_enquiry
from bookings.services.keep_private import keep_private
from bookings.services.quote_group import (
    NOTHING,
    accept_quote,
    decline_quote,
    quote_group,
    send_quote_again,
    withdraw_quote,
)
from bookings.views.by_link import kept_from_others, refused_link
from bookings.views.files import as_file
from bookings.views.limits import address_of, with_retry_after
from foraywright.floor.asking import Question, asks_anew, asks_once
from foraywright.floor.door import names_act
from foraywright.floor.links import follow_link
from foraywright.floor.models import LinkSecret, PolicyVersion
from foraywright.floor.pdf import PdfFailed
from foraywright.floor.telling import telling
from walks.models import Offering
from walks.queries import ratio_policy
from walks.services.schedule_walk import newest_policy
from walks.views.documents import pdf_response
from walks.views.guide import staff

FORM = ["GET", "HEAD", "POST"]
ENQUIRIES = 6
"""Within an hour from one address (our rule)."""

QuoteView = Callable[[HttpRequest, GroupQuote, str], HttpResponseBase]


@names_act("booking.make")
@require_http_methods(FORM)
def groups(request: HttpRequest) -> HttpResponse:
    """For schools and clubs: what we need to know for a quote."""
    form, now = EnquiryForm(request.POST or None), timezone.now()
    if not form.is_valid():
        return render(request, "bookings/groups.html", {"form": form}, status=422 if form.errors else 200)
    try:
        count_attempt("ask for group", address_of(request), most=ENQUIRIES, now=now)
    except TooOften as refused:
        form.show(refused)
        return with_retry_after(render(request, "bookings/groups.html", {"form": form}, status=429), refused)
    ask_for_group(form.cleaned_data, by="participant", now=now)
    return redirect("groups_thanks")


@names_act("public.read")
@require_safe
def groups_thanks(request: HttpRequest) -> HttpResponse:
    """What happens next with an enquiry."""
    return render(request, "bookings/groups_thanks.html")


def by_quote(view: QuoteView) -> Callable[..., HttpResponseBase]:
    """Call `view` with (request, quote, token); a forged token is answered with 404, an old one with 410."""

    @names_act("booking.by_link")
    @wraps(view)
    def opened(request: HttpRequest, token: str) -> HttpResponseBase:
        state, public_id = follow_link(LinkSecret.Purpose.QUOTE, token, now=timezone.now()) or ("unknown", "")
        quotes = GroupQuote.objects.select_related("enquiry", "offering__prices", "offering__ratios", "booking")
        quote = quotes.filter(public_id=public_id).first()
        if state != "live" or quote is None:
            return refused_link(request, state)
        return kept_from_others(view(request, quote, token))

    return opened


@by_quote
@require_http_methods(FORM)
def quote_page(request: HttpRequest, quote: GroupQuote, token: str) -> HttpResponse:
    """What is quoted; sent back with the ground rules accepted, it is booked."""
    now, refusal = timezone.now(), ""
    if request.method == "POST":
        try:
            if "rules" not in request.POST:
                raise NotQuoted("Not booked: the ground rules were not accepted.", now="Set the mark, and send again.")
            booking = accept_quote(quote, by="participant", now=now)
        except (NotQuoted, NotBooked) as refused:
            refusal = refused.sentence
        else:
            return redirect(reverse("booking_page", args=[booking_link(booking, now=now)]) + "?new")
    context = quote_facts(quote, now=now) | {"token": token, "refusal": refusal}
    return render(request, "bookings/group_quote.html", context, status=409 if refusal else 200)


@by_quote
@require_POST
def quote_decline(request: HttpRequest, quote: GroupQuote, token: str) -> HttpResponse:
    """The group does not want what is quoted."""
    back = reverse("quote_page", args=[token])
    stays = "What you have booked stays as it is." if booked_by(quote.enquiry, quote.offering) else NOTHING
    will = (
        f"The quote for “{quote.offering.title}” is closed, and nobody can accept it any more. {stays} We are told; "
        "there is no need to write."
    )
    if page := asks_once(request, Question("Decline this quote?", will, "We do not want it", back)):
        return page
    with telling(request, "Thank you for telling us. The quote is closed."):
        decline_quote(quote, by="participant", now=timezone.now())
    return redirect(back)


@by_quote
@require_safe
def quote_paper(request: HttpRequest, quote: GroupQuote, token: str) -> HttpResponse:
    """The quote as a PDF."""
    try:
        pdf = quote_pdf(quote, now=timezone.now())
    except PdfFailed:
        messages.error(request, "The PDF could not be made. The page says the same.")
        return redirect("quote_page", token)
    return pdf_response(pdf.content, "quote.pdf")


@names_act("booking.change")
@require_safe
def staff_groups(request: HttpRequest) -> HttpResponse:
    """Enquiries of the last year, the newest first."""
    enquiries = GroupEnquiry.objects.filter(forgotten_at=None).prefetch_related("quotes__booking").order_by("-asked_at")
    context = {"enquiries": enquiries[:200], "today": timezone.localdate()}
    return render(request, "bookings/staff_groups.html", context)


@names_act("booking.change")
@require_http_methods(FORM)
def staff_group(request: HttpRequest, public_id: str) -> HttpResponse:
    """One enquiry with its quotes, and the form for another."""
    enquiry, now = get_object_or_404(GroupEnquiry, public_id=public_id), timezone.now()
    bands = ratio_policy(newest_policy(PolicyVersion.Kind.RATIOS)).bands
    first = {"leaders": enquiry.leaders}
    form = QuoteForm(request.POST or None, bands=bands, enquiry=enquiry, now=now, initial=first)
    if form.is_valid():
        try:
            quote_group(form.quote(enquiry), by=staff(request), now=now)
        except (NotQuoted, NotBooked) as refused:
            form.show(refused)
        else:
            messages.success(request, f"Quoted. The letter with the link goes to {enquiry.email} within a minute.")
            return redirect("staff_group", public_id)
    quotes = enquiry.quotes.select_related("offering", "booking").order_by("-made_at")
    rows = [(one, quote_state(one, now=now), _letters(one)) for one in quotes]
    context = {"enquiry": enquiry, "form": form, "rows": rows, "kept_until": enquiry.asked_at + KEPT}
    return render(request, "bookings/staff_group.html", context, status=422 if form.errors else 200)


def _letters(quote: GroupQuote) -> list[tuple[OutboxMessage, str]]:
    return [(one, in_words(one)) for one in quote.messages.select_related("paper").order_by("pk")]


@names_act("booking.change")
@require_POST
def staff_quote_again(request: HttpRequest, public_id: str) -> HttpResponse:
    """The letter with the quote once more."""
    quote = get_object_or_404(GroupQuote.objects.select_related("enquiry"), public_id=public_id)
    with telling(request, f"The letter goes to {quote.enquiry.email} once more, within a minute."):
        send_quote_again(quote, by=staff(request), now=timezone.now())
    return redirect("staff_group", quote.enquiry.public_id)


@names_act("booking.change")
@require_POST
def staff_quote_withdraw(request: HttpRequest, public_id: str) -> HttpResponse:
    """Take back a quote that nobody accepted."""
    quote = get_object_or_404(GroupQuote.objects.select_related("enquiry", "offering"), public_id=public_id)
    back = reverse("staff_group", args=[quote.enquiry.public_id])
    will = (
        f"The quote for “{quote.offering.title}” to {quote.enquiry.group} can no longer be accepted. A letter that has "
        "not gone out is not sent; where it has, a letter tells them, and its page says it too."
    )
    if page := asks_once(request, Question("Withdraw this quote?", will, "Withdraw it", back)):
        return page
    with telling(request, "The quote is withdrawn."):
        withdraw_quote(quote, by=staff(request), now=timezone.now())
    return redirect(back)


@names_act("personal_data.handle")
@require_POST
def staff_group_export(request: HttpRequest, public_id: str) -> HttpResponseBase:
    """All that is kept of a group that asked, as a file."""
    enquiry = get_object_or_404(GroupEnquiry, public_id=public_id)
    found = export_of_enquiry(enquiry, by=staff(request), now=timezone.now())
    return as_file(found, f"enquiry-{public_id}")


@names_act("personal_data.handle")
@require_POST
@asks_anew
def staff_group_erase(request: HttpRequest, public_id: str) -> HttpResponse:
    """Take out who asked, because they ask; the reason is sent along."""
    enquiry, reason = get_object_or_404(GroupEnquiry, public_id=public_id), request.POST.get("reason", "").strip()[:200]
    back = reverse("staff_group", args=[public_id])
    if not reason:
        messages.error(request, "Nothing was erased. Say who asked, and when.")
        return redirect(back)
    will = (
        f"Name, addresses and wishes of {enquiry.name}, who asked for {enquiry.group}, and the text of our letters to "
        "them, are taken out. What was booked is a booking of its own and stays. A restored backup is erased again."
    )
    if page := asks_once(request, Question("Erase what is personal in this enquiry?", will, "Erase it", back)):
        return page
    with telling(request, "Erased."):
        erase_enquiry(enquiry, reason=reason, seen=asker_mark(enquiry), by=staff(request), now=timezone.now())
    return redirect("staff_groups")


@names_act("booking.change")
@require_POST
def staff_private(request: HttpRequest, public_id: str) -> HttpResponse:
    """Keep a draft for a group."""
    offering = get_object_or_404(Offering, public_id=public_id)
    will = f"“{offering.title}” never stands on the programme; only a group with a quote can book it."
    back = reverse("staff_walk", args=[public_id])
    if page := asks_once(request, Question("Keep this walk for a group?", will, "Keep it for a group", back)):
        return page
    with telling(request, "It is kept for a group. Publish it, then quote it."):
        keep_private(offering, by=staff(request), now=timezone.now())
    return redirect("staff_walk", public_id)
