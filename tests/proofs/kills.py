"""`python -m tests.proofs.kills NUMBER`: web server and worker die by kill -9 while people book, pay and cancel.

A demo season in a database of its own, `manage.py serve`, six buyers over HTTP who send what got no answer once more,
as people and card providers do. After each kill: does the site answer again within ten seconds, is the database whole,
and is everything there, once, that was acknowledged? Prints PASS and the figures, or FAIL with what was wrong.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import os
import random
import re
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from threading import Event, Lock, Thread

import django
import requests
from requests.adapters import HTTPAdapter

from tests.bookings.processes import children_of, free_port

ROOT = Path(__file__).resolve().parents[2]
BUYERS = 6
AGAIN_WITHIN = 10
INPUT, ATTRIBUTE = re.compile(r"<input [^>]+>"), re.compile(r'(name|type|value)="([^"]*)"')
SECRET = "of the proof, and of nothing else but the proof of kills"


class FromOwnAddress(HTTPAdapter):
    """Everybody has a network address: the site counts what one address asks for."""

    def init_poolmanager(self, *args: object, **more: object) -> None:
        address = ".".join(["127", *(str(random.randint(1, 250)) for _ in range(3))])
        super().init_poolmanager(*args, source_address=(address, 0), **more)


@dataclass
class Promised:
    """What the site said it had done: forms by key, notices by payment, cancellations by form."""

    booked: set[str] = field(default_factory=set)
    paid: set[str] = field(default_factory=set)
    cancelled: set[str] = field(default_factory=set)
    answers: Counter[str] = field(default_factory=Counter)
    lock: Lock = field(default_factory=Lock)


class Buyer(Thread):
    """Books, pays by card more often than not, cancels, and begins again."""

    def __init__(self, site: str, pages: list[str], promised: Promised, over: Event) -> None:
        super().__init__(daemon=True)
        self.site, self.pages, self.promised, self.over = site, pages, promised, over

    def run(self) -> None:
        while not self.over.is_set():
            with requests.Session() as self.session:
                self.session.mount("http://", FromOwnAddress())
                self.once()

    def once(self) -> None:
        key, booking = self.book()
        if booking:
            if random.random() < 0.6:
                self.pay(booking)
            self.cancel(booking, key)

    def book(self) -> tuple[str, str]:
        page = random.choice(self.pages)
        asked = self.form(page)
        if not asked:
            return "", ""
        name = f"Buyer {random.randint(0, 10**9)}"
        asked |= {"name": name, "email": f"{name.replace(' ', '')}@example.org", "adults": str(random.randint(1, 2))}
        answer = self.until_answered("POST", page, asked)
        to = answer.headers.get("Location", "") if answer is not None else ""
        if not to.startswith("/booking/"):
            return "", ""
        self.note(self.promised.booked, asked["key"])
        return asked["key"], to.partition("?")[0]

    def pay(self, booking: str) -> None:
        asked = self.form(booking)
        answer = self.until_answered("POST", f"{booking}card/", asked) if asked else None
        found = re.search(r"/card/([^/]+)/practice/", answer.headers.get("Location", "") if answer is not None else "")
        if not found:
            return
        shown = self.until_answered("GET", found[0])
        amount = re.search(r"£(\d+)\.(\d\d)", shown.text) if shown is not None else None
        if not amount:
            return
        told = {"id": "e", "payment": found[1], "status": "confirmed", "captured": int(amount[1] + amount[2])}
        body = json.dumps(told).encode()
        signed = {"Signature": hmac.new(SECRET.encode(), body, hashlib.sha256).hexdigest()}
        for _ in range(random.randint(1, 3)):
            answer = self.until_answered("POST", f"/card/{found[1]}/notice/", body, signed)
            if answer is not None and answer.status_code == 200:
                self.note(self.promised.paid, found[1])

    def cancel(self, booking: str, key: str) -> None:
        asked = self.form(f"{booking}cancel/")
        answer = self.until_answered("POST", f"{booking}cancel/", asked) if asked else None
        if answer is not None and answer.status_code == 302:
            self.note(self.promised.cancelled, key)

    def form(self, page: str) -> dict[str, str]:
        """The hidden fields of a page; none where it does not show."""
        answer = self.until_answered("GET", page)
        shown = answer.text if answer is not None and answer.status_code == 200 else ""
        inputs = [dict(ATTRIBUTE.findall(one)) for one in INPUT.findall(shown)]
        return {
            one["name"]: one.get("value", "on") for one in inputs if one["type"] == "hidden" or one["name"] == "rules"
        }

    def until_answered(self, method: str, page: str, data: object = None, headers: object = None) -> object:
        """Send until there is an answer that is one; None where the proof is over before."""
        while not self.over.is_set():
            with suppress(requests.RequestException):
                answer = self.session.request(
                    method, self.site + page, data=data, headers=headers, allow_redirects=False, timeout=15
                )
                with self.promised.lock:
                    self.promised.answers[str(answer.status_code)] += 1
                if answer.status_code < 500:
                    return answer
            time.sleep(0.1)
        return None

    def note(self, among: set[str], what: str) -> None:
        with self.promised.lock:
            among.add(what)


def main(kills: int) -> None:
    """Kill that many times; say what was found."""
    with tempfile.TemporaryDirectory(prefix="kills-") as folder:
        port = free_port()
        site = f"http://127.0.0.1:{port}"
        os.environ |= {
            "DJANGO_SETTINGS_MODULE": "foraywright.settings.local",
            "VAR_DIR": folder,
            "PORT": str(port),
            "SITE_ADDRESS": site,
            "SECRET_KEY": SECRET,
        }
        for words in (("migrate", "-v0", "--skip-checks"), ("load_demo", "--skip-checks")):
            subprocess.run([sys.executable, "manage.py", *words], cwd=ROOT, check=True, stdout=subprocess.DEVNULL)
        django.setup()
        with Path(folder, "serve.log").open("w") as log:
            serve = subprocess.Popen([sys.executable, "manage.py", "serve"], cwd=ROOT, stdout=log, stderr=log)
            try:
                _kill_and_look(serve, site, kills)
            finally:
                serve.terminate()
                serve.wait(60)


def _kill_and_look(serve: subprocess.Popen[bytes], site: str, kills: int) -> None:
    from django.urls import reverse
    from django.utils import timezone

    from bookings.views.public import walk_page_of
    from walks.queries import public_offerings, slug_of

    now = timezone.now()
    open_now = [one for one in public_offerings() if walk_page_of(one, now=now).bookable]
    pages = [reverse("book", args=[slug_of(one.public_id)]) for one in open_now]
    seconds_until_answered(site)
    promised, over = Promised(), Event()
    buyers = [Buyer(site, pages, promised, over) for _ in range(BUYERS)]
    for buyer in buyers:
        buyer.start()
    slowest, wrong, begun = 0.0, [], time.monotonic()
    for number in range(1, kills + 1):
        time.sleep(random.uniform(0, 1.5))
        _kill(serve.pid, ("web server", "worker")[number % 2])
        waited = seconds_until_answered(site)
        slowest = max(slowest, waited)
        wrong += [f"kill {number}: answered after {waited:.1f} s"] if waited > AGAIN_WITHIN else []
        wrong += [f"kill {number}: {fault}" for fault in faults(promised)]
        if number % 50 == 0 or number == kills:
            print(_so_far(number, promised, slowest, wrong, begun), flush=True)
    over.set()
    for buyer in buyers:
        buyer.join()
    wrong += faults(promised)
    print("\n".join(wrong[:20]))
    print(f"{'FAIL' if wrong or not promised.paid else 'PASS'}: {kills} kills, {time.monotonic() - begun:.0f} s")


def _so_far(number: int, promised: Promised, slowest: float, wrong: list[str], begun: float) -> str:
    counts = f"{len(promised.booked)} booked, {len(promised.paid)} paid, {len(promised.cancelled)} cancelled"
    answers = ", ".join(f"{count} × {status}" for status, count in sorted(promised.answers.items()))
    took = f"{time.monotonic() - begun:.0f} s"
    return f"{number} kills: {counts}; answers: {answers}; slowest {slowest:.1f} s; {len(wrong)} wrong; {took}"


def _kill(parent: int, which: str) -> None:
    """Kill a child; every other time with the processes of its group, as the one of the web server that answers."""
    child = children_of(parent).get(which)
    if child is not None:  # it is being started again
        with suppress(ProcessLookupError):
            (os.killpg if random.random() < 0.5 else os.kill)(child, signal.SIGKILL)


def seconds_until_answered(site: str) -> float:
    """Wait at most a minute for the walks' page."""
    begun = time.monotonic()
    while time.monotonic() < begun + 60:
        with suppress(requests.RequestException):
            if requests.get(f"{site}/", timeout=10).status_code == 200:
                break
        time.sleep(0.05)
    return time.monotonic() - begun


def faults(promised: Promised) -> list[str]:
    """What is broken in the database, lost, or there twice."""
    from django.db import connection

    from bookings.models import Booking, Transfer

    with promised.lock:
        booked, paid, cancelled = set(promised.booked), set(promised.paid), set(promised.cancelled)
    found = []
    with connection.cursor() as cursor:
        for pragma, whole in (("integrity_check", [("ok",)]), ("foreign_key_check", [])):
            cursor.execute(f"PRAGMA {pragma}")
            if (said := cursor.fetchall()) != whole:
                found.append(f"{pragma} says {said[:3]}")
    keys = Counter(Booking.objects.values_list("idempotency_key", flat=True))
    ended = set(Booking.objects.filter(state="cancelled").values_list("idempotency_key", flat=True))
    rows = Transfer.objects.filter(debit__key="card", booking__card_payments__token__isnull=False)
    received = Counter(rows.values_list("booking__card_payments__token", flat=True))
    found += [f"lost: booking {key}" for key in booked if keys[key] != 1]
    found += [f"doubled: booking {key}" for key, times in keys.items() if times > 1]
    found += [f"lost: payment {token}" for token in paid if not received[token]]
    found += [f"doubled: payment {token}" for token, times in received.items() if times > 1]
    found += [f"lost: cancelling {key}" for key in cancelled if key not in ended]
    return found


if __name__ == "__main__":
    main(int(sys.argv[1]))
