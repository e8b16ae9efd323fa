"""Handouts as PDFs, and how any document is answered: served where they are ready, asked for where they are not."""

from __future__ import annotations

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.utils.http import quote_etag
from django.views.decorators.http import require_http_methods, require_safe

from curriculum.models import Document
from curriculum.printed import LARGE, STANDARD, want_sheet
from curriculum.queries import accounts_in_use, taxon_by_slug
from curriculum.services.build_document import holds_withdrawn
from curriculum.services.build_document_again import build_document_again
from foraywright.floor.asking import Question, asks_once
from foraywright.floor.compute.permissions import Subject
from foraywright.floor.door import names_act
from walks.documents import session_now, want_booklet
from walks.models import Offering, Walk
from walks.queries import offering_by_slug, with_everything
from walks.views.guide import staff

SECONDS_TO_WAIT = 3
TRIED_AGAIN = "It tries again now, some times in the next hours. If it gives up again, this stands on Today as before."


def variant_of(request: HttpRequest) -> str:
    """The variant that an address asks for: large print by `?print=large`."""
    return LARGE if request.GET.get("print") == LARGE else STANDARD


@names_act("public.read")
@require_safe
def walk_handout(request: HttpRequest, slug: str) -> HttpResponseBase:
    """The booklet of a published walk; of a course, that of the session which comes next."""
    offering, present = offering_by_slug(slug)
    if offering is None or offering.state != Offering.State.PUBLISHED:
        raise Http404("There is no handout here: the walk is not, or no longer, on the programme.")
    if present != slug:
        return redirect("walk_handout", present, permanent=True)
    now = timezone.now()
    return document_answer(request, want_booklet(session_now(offering, now), now, variant_of(request)), "handout")


@names_act("public.read")
@require_safe
def species_sheet(request: HttpRequest, slug: str) -> HttpResponseBase:
    """The sheet of one species by itself. Of one whose account is withdrawn, the page that says so."""
    taxon, present = taxon_by_slug(slug)
    if taxon is None:
        raise Http404
    if present != slug:
        return redirect("species_sheet", present, permanent=True)
    if taxon.key not in accounts_in_use():
        return redirect("species_page", slug)
    return document_answer(request, want_sheet(taxon.key, timezone.now(), variant_of(request)), "sheet")


@names_act("walk.print_risk_assessment")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_document_again(request: HttpRequest, public_id: str) -> HttpResponse:
    """Ask the worker to try again at a PDF that it gave up."""
    document = get_object_or_404(Document.objects.defer("html", "manifest"), public_id=public_id)
    will = f"The worker gave up this {document.get_kind_display().lower()}: {document.last_error} {TRIED_AGAIN}"
    if page := asks_once(request, Question("Try it again?", will, "Try it again", reverse("staff_today"))):
        return page
    if build_document_again(document, by=staff(request), now=timezone.now()):
        messages.success(request, "The worker tries it again.")
    return redirect("staff_today")


@names_act("walk.see")
@require_safe
def staff_handout(request: HttpRequest, public_id: str, number: int) -> HttpResponseBase:
    """The booklet of any session, of a draft too."""
    walk = session_or_404(public_id, number)
    return document_answer(request, want_booklet(walk, timezone.now(), variant_of(request)), "handout")


def session_or_404(public_id: str, number: int) -> Walk:
    """Session `number` of the offering `public_id`, with everything that its documents read."""
    return get_object_or_404(with_everything(Walk.objects.filter(offering__public_id=public_id)), number=number)


def subject_of(walk: Walk) -> Subject:
    """What the permissions ask of a walk."""
    return Subject(guides=frozenset(one.guide.public_id for one in walk.walk_guides.all()))


def document_answer(request: HttpRequest, document: Document, name: str) -> HttpResponseBase:
    """The file where it is ready; 202 and a page that looks again while it is made; 503 where it could not be made.

    An account that was withdrawn since the document was asked for is not given to anybody: the page looks again, and
    then asks for a document without it.
    """
    if document.is_ready and not holds_withdrawn(document):
        return _file(request, document, name)
    given_up = document.given_up_at is not None
    context = {"document": document, "given_up": given_up}
    response = render(request, "walks/document_awaited.html", context, status=503 if given_up else 202)
    response["Cache-Control"] = "no-store"
    if not given_up:
        response["Refresh"] = str(SECONDS_TO_WAIT)
    return response


def _file(request: HttpRequest, document: Document, name: str) -> HttpResponseBase:
    etag = quote_etag(document.sha256)
    unchanged = get_conditional_response(request, etag=etag, response=None)
    response = unchanged or _whole_file(document, name)
    response["ETag"] = etag
    response["X-Robots-Tag"] = "noindex"
    response["Cache-Control"] = "no-cache"
    return response


def _whole_file(document: Document, name: str) -> HttpResponseBase:
    filename = f"{name}-{document.manifest_hash[:8]}.pdf"
    return FileResponse(document.file.open("rb"), filename=filename, content_type="application/pdf")


def pdf_response(content: bytes, filename: str) -> HttpResponse:
    """A PDF that nobody on the way may keep."""
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{filename}"'
    response["Cache-Control"] = "no-store"
    response["X-Robots-Tag"] = "noindex"
    return response
