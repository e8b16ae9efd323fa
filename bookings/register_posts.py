"""What comes back from a device: marks, parties at the meeting point and finds, each taken once, in any order."""

from __future__ import annotations

import json
import logging
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

from django.utils.dateparse import parse_datetime

from bookings.compute.device_seal import opened
from bookings.models import RegisterCopy, WalkUp
from bookings.queries import people_of
from bookings.services.add_walk_up import add_walk_up
from bookings.services.mark_attendance import Tick, against_tick, mark_attendance
from bookings.walk_up_forms import WalkUpForm
from curriculum.queries import accounts_in_use
from foraywright.floor.models import User
from foraywright.floor.refusals import Refusal
from foraywright.floor.sealed import NotOpened
from walks.find_forms import FindForm
from walks.queries import ratio_policy
from walks.services.keep_find import keep_find

logger = logging.getLogger(__name__)

MARK, WALK_UP, FIND = "mark", "walk_up", "find"


@dataclass(frozen=True, slots=True)
class Post:
    """One thing that was done on a device: `event` was made there; `at` by its clock, put right; `said` as it came."""

    event: UUID
    kind: str
    at: datetime
    said: Mapping[str, Any]

    @property
    def is_of_a_walk_up(self) -> bool:
        """Whether it marks somebody whom the device knows as "event/number" only."""
        return "/" in str(self.said.get("person", ""))


@dataclass(slots=True)
class Answer:
    """What the device is told: taken for good; taken off its list without a place; kept there, and why."""

    taken: list[str] = field(default_factory=list)
    without_place: list[str] = field(default_factory=list)
    refused: dict[str, str] = field(default_factory=dict)


def read_posts(body: bytes, *, now: datetime) -> list[Post]:
    """The posts of a request, kinds of a later version left out. Raises ValueError where they cannot be read.

    The device says what its clock shows as it sends: by so much as that differs from `now` all its times are put right,
    since two phones of which one is fast would else be brought together wrongly.
    """
    try:
        sent = json.loads(body)
        slow = now - _instant(sent["sent_at"]) if "sent_at" in sent else timedelta(0)
        return [_read(one, slow) for one in sent["ticks"] if one["kind"] in (MARK, WALK_UP, FIND)]
    except (KeyError, TypeError, AttributeError, OverflowError, RecursionError) as fault:
        raise ValueError("No posts of a register.") from fault


def _read(sent: Mapping[str, Any], slow: timedelta) -> Post:
    wanted = ("person", "state") if sent["kind"] == MARK else ("sealed",)
    at = _instant(sent["at"]) + slow
    return Post(UUID(sent["uuid"]), sent["kind"], at, {name: sent[name] for name in wanted})


def _instant(text: str) -> datetime:
    at = parse_datetime(text)
    if at is None or at.tzinfo is None:
        raise ValueError("A post needs the time of its device, with its zone.")
    return at.astimezone(UTC)


def take_posts(posts: Sequence[Post], copy: RegisterCopy, *, by: User, now: datetime) -> Answer:
    """Take what can be taken, each thing an act of its own.

    First the marks of people whom we know: who did not come makes room for a party at the meeting point. Then what was
    typed, in the order in which it was, and last the marks of people who came with it.
    """
    answer, typed = Answer(), sorted((one for one in posts if one.kind != MARK), key=lambda one: one.at)
    marks = [one for one in posts if one.kind == MARK]
    _take_marks([one for one in marks if not one.is_of_a_walk_up], copy, answer, by=by, now=now)
    for one in typed:
        _take_typed(one, copy, answer, by=by, now=now)
    _take_marks([one for one in marks if one.is_of_a_walk_up], copy, answer, by=by, now=now)
    return answer


def _take_typed(post: Post, copy: RegisterCopy, answer: Answer, *, by: User, now: datetime) -> None:
    take = _take_walk_up if post.kind == WALK_UP else _take_find
    try:
        take(post, copy, by=by, now=now)
    except (Refusal, ValueError) as refused:
        answer.refused[str(post.event)] = str(refused)
    else:
        answer.taken.append(str(post.event))


def _take_walk_up(post: Post, copy: RegisterCopy, *, by: User, now: datetime) -> None:
    walk = copy.walk
    bands = ratio_policy(walk.offering.ratios).bands
    sent = _fields(post, copy) | {"key": str(post.event)}
    form = _good(WalkUpForm(sent, offering=walk.offering, bands=bands, without_signal=True))
    add_walk_up(walk, form.came(at=post.at), by=by, now=now, copy=copy)


def _take_find(post: Post, copy: RegisterCopy, *, by: User, now: datetime) -> None:
    sent = _fields(post, copy) | {"event": str(post.event)}
    form = _good(FindForm(sent, accounts=accounts_in_use().values()))
    keep_find(copy.walk, form.found(), by=by, now=now)


def _fields(post: Post, copy: RegisterCopy) -> dict[str, str]:
    """What was typed. Raises ValueError where it was not sealed for this copy, or the copy's key is gone or shut."""
    try:
        key = copy.private_key
    except NotOpened as fault:
        logger.error("%s", fault)
        raise ValueError("It cannot be opened here now: keep it, and tell the office.") from fault
    if key is None:
        raise ValueError("It comes too late to be opened: write it down by hand.")
    typed = json.loads(opened(key, post.said["sealed"], event=str(post.event)))
    if not isinstance(typed, dict) or not all(isinstance(one, str) for one in typed.values()):
        raise ValueError("This is no form of ours: write it down by hand.")
    return typed


def _good(form: Any) -> Any:
    """The form, if it is filled in well. Raises ValueError with what is wrong with it."""
    if not form.is_valid():
        raise ValueError(" ".join(sentence for sentences in form.errors.values() for sentence in sentences))
    return form


def _take_marks(posts: list[Post], copy: RegisterCopy, answer: Answer, *, by: User, now: datetime) -> None:
    known = _people_of_walk_ups(posts)
    ticks = [_tick(one, copy, known) for one in posts]
    known_people = [one for one in ticks if "/" not in one.person]
    ready = []
    for one in known_people:
        if reason := against_tick(one, copy.walk, now=now):
            answer.refused[str(one.event)] = reason
        else:
            ready.append(one)
    try:
        strangers = set(mark_attendance(copy.walk, ready, by=by, now=now)) if ready else set()
    except Refusal as refused:
        answer.refused |= {str(one.event): refused.sentence for one in ready}
        return
    answer.taken += [str(one.event) for one in ready if one.person not in strangers]
    answer.without_place += [str(one.event) for one in ready if one.person in strangers]


def _tick(post: Post, copy: RegisterCopy, known: Mapping[str, str]) -> Tick:
    """A tick of a device never settles: the marks of others were not in sight."""
    person = str(post.said["person"])
    return Tick(post.event, known.get(person, person), str(post.said["state"]), post.at, copy=copy)


def _people_of_walk_ups(posts: Iterable[Post]) -> dict[str, str]:
    """The public ids of people whom a device knows as "event/number", the number counted from 0. Two queries.

    Whose party has not arrived here yet is left out: their marks wait on the device until it has.
    """
    events = {str(one.said["person"]).partition("/")[0] for one in posts if one.is_of_a_walk_up}
    found = WalkUp.objects.filter(event__in=[one for one in events if _is_uuid(one)])
    return {
        f"{one.event}/{number}": person.public_id
        for one in found.select_related("booking__party").prefetch_related("booking__party__people")
        for number, person in enumerate(people_of(one.booking))
    }


def _is_uuid(text: str) -> bool:
    try:
        UUID(text)
    except ValueError:
        return False
    return True
