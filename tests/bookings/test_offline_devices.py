"""Three devices without network for eight hours: what they did arrives once each, and means the same in any order.

A device is modelled here as what it keeps: a list from which a post goes only once the server has said so. The browser
that keeps it so is tried in tests/journeys/test_eight_hours_without_signal.py.
"""

from __future__ import annotations

import json
import random
from base64 import b64decode, b64encode
from collections import Counter
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from uuid import uuid4

import pytest
from cryptography.hazmat.primitives.asymmetric import padding
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import load_der_public_key

from bookings.attendance import attendees
from bookings.compute.attendance import Mark, standing
from bookings.compute.device_seal import public_half
from bookings.models import AttendanceMark, Booking, RegisterCopy, WalkUp
from bookings.queries import balance
from bookings.register_posts import read_posts, take_posts
from bookings.services.book_places import book_places
from bookings.services.take_register import Device, take_register
from foraywright.floor.models import User
from tests.cast import World, make_guide, make_user
from walks.models import InsuranceCover, LandownersPermission, Site, Walk
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk

HOURS = timedelta(hours=8)
SKEWS = (timedelta(minutes=-7), timedelta(0), timedelta(minutes=9))
WAY = padding.OAEP(mgf=padding.MGF1(algorithm=SHA256()), algorithm=SHA256(), label=None)


@dataclass
class Phone:
    """One device in the wood: its copy, its guide, how far its clock is off, and what waits on it."""

    copy: RegisterCopy
    guide: User
    off: timedelta
    known: list[str]
    waits: dict[str, dict[str, object]] = field(default_factory=dict)

    def tick(self, person: str, state: str, now: datetime) -> str:
        return self._keep({"kind": "mark", "person": person, "state": state}, now)

    def write_down(self, name: str, now: datetime) -> str:
        """One adult who came without a booking, sealed as the browser seals it."""
        fields = {
            "adults": "1",
            "names": name,
            "name": name,
            "phone": "01632 960 004",
            "rules": "on",
            "rules_read": "1",
            "pays": "cash",
            "heard": "told",
        }
        return self._keep({"kind": "walk_up", "fields": fields}, now)

    def _keep(self, post: dict[str, object], now: datetime) -> str:
        event = str(uuid4())
        if "fields" in post:
            post["sealed"] = sealed(self.copy, event, post.pop("fields"))
        self.waits[event] = {"uuid": event, "at": (now + self.off).isoformat(), **post}
        return event

    def send(self, chance: random.Random, now: datetime) -> None:
        """Some of it in any order; the answer may be lost on the way back, and then all of it waits as before."""
        some = chance.sample(list(self.waits), chance.randint(1, len(self.waits))) if self.waits else []
        sent = {"sent_at": (now + self.off).isoformat(), "ticks": [self.waits[one] for one in some]}
        posts = read_posts(json.dumps(sent).encode(), now=now)
        answer = take_posts(posts, self.copy, by=self.guide, now=now)
        if chance.random() < 0.4:
            return
        for one in (*answer.taken, *answer.without_place):
            del self.waits[one]


def sealed(copy: RegisterCopy, event: str, fields: object) -> dict[str, str]:
    key = AESGCM.generate_key(256)
    theirs = load_der_public_key(b64decode(public_half(copy.private_key)))
    body = AESGCM(key).encrypt(bytes(12), json.dumps(fields).encode(), event.encode())
    parts = {"key": theirs.encrypt(key, WAY), "iv": bytes(12), "body": body}  # type: ignore[union-attr]
    return {name: b64encode(part).decode() for name, part in parts.items()}


def a_walk_for_thirty(world: World) -> Walk:
    """Thirty booked on a walk with three guides, on ground and papers that allow forty."""
    Site.objects.update(most_people=40)
    LandownersPermission.objects.update(most_people=40)
    InsuranceCover.objects.update(most_people=40)
    third = make_guide("Gus Guide", make_user("gus", "guide"), "first_aid", "background_check")
    session = world.session(
        guides=(world.gwen, world.harry, third), local_date=world.walk.local_date + timedelta(days=7)
    )
    offering = publish_walk(
        schedule_walk(world.plan(session), by=world.olive, now=world.now), by=world.olive, now=world.now
    )
    for party in range(10):
        names = tuple(f"Person {party}.{number}" for number in range(3))
        order = world.order(*["adult"] * 3, offering=offering, names=names)
        book_places(order, by="participant", now=world.now)
    return offering.walks.get()


def phones(walk: Walk) -> list[Phone]:
    guides = [one.guide.user for one in walk.walk_guides.select_related("guide__user")]
    found = []
    for guide, off in zip(guides, SKEWS, strict=True):
        taken = take_register(
            walk, by=guide, now=walk.starts_at - timedelta(hours=1), device=Device(uuid4(), str(guide))
        )
        people = [one.person.public_id for one in taken.register.people]
        found.append(Phone(taken.copy, guide, off, people))
    return found


def a_day(walk: Walk, devices: list[Phone], chance: random.Random, steps: int) -> tuple[list[str], list[str]]:
    """Tick and write down for eight hours while what was sent is cut off; return the events of ticks and of parties."""
    ticks, parties = [], []
    for step in range(steps):
        now, device = walk.starts_at + HOURS * step / steps, chance.choice(devices)
        if chance.random() < 6 / steps:
            party = device.write_down(f"Walker {step}", now)
            parties.append(party)
            device.known.append(f"{party}/0")
        state = chance.choice(["present", "present", "absent", "left_early"])
        ticks.append(device.tick(chance.choice(device.known), state, now))
    return ticks, parties


def sent_home(walk: Walk, devices: list[Phone], chance: random.Random) -> int:
    """The network is back: devices send in any order until nothing waits; how often something was sent."""
    times = 0
    while any(one.waits for one in devices):
        chance.choice(devices).send(chance, walk.starts_at + HOURS)
        times += 1
        assert times < 2000
    return times


def nothing_lost_or_doubled(walk: Walk, ticks: list[str], parties: list[str]) -> None:
    by_hand = AttendanceMark.objects.filter(event__in=ticks)
    assert Counter(str(one.event) for one in by_hand) == Counter(ticks)
    assert Counter(str(one.event) for one in WalkUp.objects.all()) == Counter(parties)
    assert AttendanceMark.objects.count() == len(ticks) + len(parties)
    assert Booking.objects.filter(walk_up__isnull=False).count() == len(parties)
    assert all(balance(one.booking) == 0 for one in WalkUp.objects.select_related("booking"))
    assert all(one.copy_id for one in AttendanceMark.objects.all())


def same_in_any_order(walk: Walk, chance: random.Random, times: int) -> None:
    for one in attendees(walk):
        marks = [Mark(mark.state, mark.seen_at, mark.by) for mark in one.place.marks.all()]
        assert {standing(chance.sample(marks, len(marks))) for _ in range(times)} == {one.standing}


def one_campaign(world: World, seed: int, steps: int, orders: int) -> None:
    chance, walk = random.Random(seed), a_walk_for_thirty(world)
    devices = phones(walk)
    ticks, parties = a_day(walk, devices, chance, steps)
    assert sent_home(walk, devices, chance) >= len(devices)
    nothing_lost_or_doubled(walk, ticks, parties)
    same_in_any_order(walk, chance, orders)


@pytest.mark.parametrize("seed", range(1))
def test_eight_hours_on_three_devices(world: World, seed: int) -> None:
    one_campaign(world, seed, steps=60, orders=10)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(100, 105))
def test_eight_hours_on_three_devices_at_length(world: World, seed: int) -> None:
    one_campaign(world, seed, steps=200, orders=200)
