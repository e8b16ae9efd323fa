"""The key to what a walk may meet: all of it on one page, and question by question."""

from __future__ import annotations

from math import isfinite
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse, HttpResponsePermanentRedirect, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from curriculum.compute.candidates import Answer
from curriculum.compute.key_words import BOTH
from curriculum.compute.vocabulary import Character
from curriculum.queries import accounts_in_use, species_slugs
from foraywright.floor.door import names_act
from walks.documents import session_now
from walks.models import Offering
from walks.queries import offering_by_slug
from walks.walk_key import GROUPS, Names, characters_asked, keys_of, shown, step_of

CANNOT_TELL = "cannot_tell"


@names_act("public.read")
@require_safe
def walk_key(request: HttpRequest, slug: str) -> HttpResponse:
    """The keys of a published walk; of a course, those of the session which comes next."""
    offering, present = _published(slug)
    if present != slug:
        return redirect("walk_key", present, permanent=True)
    accounts = accounts_in_use()
    walk = session_now(offering, timezone.now())
    names = Names(accounts, species_slugs())
    keys = [shown(one, names) for one in keys_of(walk, accounts)]
    context = {"offering": offering, "walk": walk, "slug": slug, "keys": keys, "both": BOTH}
    return render(request, "walks/key.html", context)


@names_act("public.read")
@require_safe
def walk_key_step(request: HttpRequest, slug: str, group: str) -> HttpResponse:
    """One question of a key at a time. The answers stand in the query; each can be taken back."""
    offering, present = _published(slug)
    if group not in GROUPS:
        raise Http404
    if present != slug:
        address = reverse("walk_key_step", args=[present, group])
        return HttpResponsePermanentRedirect(f"{address}?{request.GET.urlencode()}")
    response = render(request, "walks/key_step.html", _step_context(request.GET, offering, group) | {"slug": slug})
    response["X-Robots-Tag"] = "noindex, nofollow"
    return response


def _step_context(query: QueryDict, offering: Offering, group: str) -> dict[str, Any]:
    accounts = accounts_in_use()
    walk = session_now(offering, timezone.now())
    key = next((one for one in keys_of(walk, accounts) if one.group == GROUPS[group]), None)
    if key is None:
        raise Http404
    answers, wrong = answers_in(query, characters_asked(key.group))
    step = step_of(key, answers, Names(accounts, species_slugs()))
    return {
        "offering": offering,
        "walk": walk,
        "group": group,
        "step": step,
        "question": wrong or step.question,
        "wrong": wrong,
        "typed": query.get(wrong.key, "") if wrong else "",
        "answered": [(one, _without(query, one.key)) for one in step.answered],
        "kept": [(name, value) for name in answers for value in query.getlist(name)],
        "cannot_tell": CANNOT_TELL,
    }


def _published(slug: str) -> tuple[Offering, str]:
    offering, present = offering_by_slug(slug)
    if offering is None or offering.state != Offering.State.PUBLISHED:
        raise Http404("There is no key here: the walk is not, or no longer, on the programme.")
    return offering, present


def answers_in(query: QueryDict, characters: dict[str, Character]) -> tuple[dict[str, Answer | None], Character | None]:
    """The answers in a query, None for "cannot tell", and the character whose measure is no measure.

    An answer with a state that there is not counts as "cannot tell", which rules nothing out.
    """
    answers: dict[str, Answer | None] = {}
    wrong = None
    for key in query:
        typed = [one.strip() for one in query.getlist(key) if one.strip()]
        if key not in characters or not typed:
            continue
        character = characters[key]
        if CANNOT_TELL in typed:
            answers[key] = None
        elif character.kind == "states":
            answers[key] = frozenset(typed) if set(typed) <= set(character.states) else None
        elif (size := _millimetres(typed)) is not None:
            answers[key] = size
        else:
            wrong = character
    return answers, wrong


def _millimetres(typed: list[str]) -> float | None:
    try:
        size = float(typed[-1].replace(",", "."))
    except ValueError:
        return None
    return size if isfinite(size) and size > 0 else None


def _without(query: QueryDict, key: str) -> str:
    rest = query.copy()
    rest.pop(key)
    return rest.urlencode()
