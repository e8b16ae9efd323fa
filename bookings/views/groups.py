"""Schools and clubs: the enquiry, the quote by link, and the office's pages of both."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from bookings.errors import NotBooked, NotQuoted, TooOften
from bookings.group_forms import EnquiryForm, QuoteForm
from bookings.group_quotes import quote_facts, quote_link, quote_pdf
from bookings.models import GroupEnquiry, GroupQuote
from bookings.services.ask_for_group import ask_for_group
from bookings.services.booking_link import booking_link
from bookings.services.count_attempt import count_attempt
from bookings.services.keep_private import keep_private
from bookings.services.quote_group import accept_quote, quote_group
from bookings.views.by_link import kept_from_others, refused_link, with_a_form
from bookings.views.limits import address_of, with_retry_after
from foraywright.floor.asking import Question, asks_once
from foraywright.floor.door import names_act
from foraywright.floor.links import follow_link
from foraywright.floor.models import PolicyVersion
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
        state, public_id = follow_link("quote", token, now=timezone.now()) or ("unknown", "")
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
    return with_a_form(render(request, "bookings/group_quote.html", context, status=409 if refusal else 200))


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
    return render(request, "bookings/staff_groups.html", {"enquiries": enquiries[:200]})


@names_act("booking.change")
@require_http_methods(FORM)
def staff_group(request: HttpRequest, public_id: str) -> HttpResponse:
    """One enquiry with its quotes, and the form for another."""
    enquiry, now = get_object_or_404(GroupEnquiry, public_id=public_id), timezone.now()
    bands = ratio_policy(newest_policy(PolicyVersion.Kind.RATIOS)).bands
    form = QuoteForm(request.POST or None, bands=bands, now=now, initial={"leaders": enquiry.leaders})
    link = ""
    if form.is_valid():
        try:
            made = quote_group(form.quote(enquiry), by=staff(request), now=now)
        except (NotQuoted, NotBooked) as refused:
            form.show(refused)
        else:
            link = f"{settings.SITE_ADDRESS}{reverse('quote_page', args=[quote_link(made, now=now)])}"
    quotes = enquiry.quotes.select_related("offering", "booking").order_by("-made_at")
    context = {"enquiry": enquiry, "form": form, "quotes": quotes, "link": link}
    return render(request, "bookings/staff_group.html", context, status=422 if form.errors else 200)


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
