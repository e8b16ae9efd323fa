"""What comes back when somebody cancels, by days before the walk.

Days before = local date of the walk's start − local date of the request, both in the site's zone. Tiers are half-open:
"14 days or more" holds on the fourteenth day before. Source: our own terms; statutory rights are not computed here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Any

from foraywright.floor.compute.money import half_up, share_out


@dataclass(frozen=True, slots=True)
class Tier:
    """From `days` days before the walk (that day included) `percent` of the price comes back."""

    days: int
    percent: int


def tiers_from(body: Mapping[str, Any]) -> tuple[Tier, ...]:
    """Read a refund policy {"tiers": [{"days": 14, "percent": 100}, …]}, longest notice first.

    Raises ValueError where tiers do not fall with the days or a percentage is not 0 to 100.
    """
    tiers = tuple(sorted((Tier(**one) for one in body["tiers"]), key=lambda one: -one.days))
    percents = [one.percent for one in tiers]
    if percents != sorted(percents, reverse=True) or not all(0 <= one <= 100 for one in percents):
        raise ValueError("Refund tiers must not give back more for shorter notice, and are 0 to 100 per cent.")
    return tiers


def percent_back(tiers: Sequence[Tier], walk_day: date, request_day: date) -> int:
    """The percentage that comes back for a request on `request_day`; 0 where no tier is reached or the walk is over."""
    days = (walk_day - request_day).days
    return next((one.percent for one in tiers if days >= one.days), 0) if days >= 0 else 0


@dataclass(frozen=True, slots=True)
class Settlement:
    """What cancelling does to the money, in minor units of one currency.

    Definition: of the frozen price P, E is earned already (sessions held, earlier cancellations in part); of the rest
    the percentage p comes back, so K = P − half-up((P − E)·p/100) is kept; of the payments R, `back` = max(0, R − K) is
    returned, `forgiven` of the debt is let go, `still_owed` = max(0, K − R − W) remains. W was
    `written_off`: it was never paid, or its payer took it back, so it never comes back.
    """

    price: int
    paid: int
    percent: int
    earned: int = 0
    written_off: int = 0

    @property
    def kept(self) -> int:
        """What we keep or claim of the price."""
        return self.price - half_up(Fraction((self.price - self.earned) * self.percent, 100))

    @property
    def back(self) -> int:
        """What is paid back."""
        return max(0, self.paid - self.kept)

    @property
    def still_owed(self) -> int:
        """What remains to be paid although the booking is over."""
        return max(0, self.kept - self.paid - self.written_off)

    @property
    def forgiven(self) -> int:
        """By how much the debt falls without a payment."""
        return max(0, self.price - self.paid - self.written_off) - self.still_owed

    @property
    def mark(self) -> str:
        """The amounts that a page showed, so that nobody cancels under terms that they did not see."""
        return f"{self.back}-{self.still_owed}"

    @property
    def overpaid(self) -> int:
        """What was paid beyond the price; it is part of `back`."""
        return max(0, self.paid - self.price)


@dataclass(frozen=True, slots=True)
class ChangeTerms:
    """What a change of the party, or a move, does to the money: minor units of one currency.

    `before` and `after` = what is due for the booking, `paid` = what was paid towards it, `written_off` = what of its
    debt was let go, `promised` = what was promised back before and was not paid out.
    """

    before: int
    after: int
    paid: int
    written_off: int = 0
    promised: int = 0

    @property
    def back(self) -> int:
        """What comes back."""
        return max(0, self.paid - self.after)

    @property
    def met(self) -> int:
        """What of the promise pays for the change: nobody is owed money that they owe."""
        return min(self.promised, self._owed)

    @property
    def to_pay(self) -> int:
        """What is to be paid in all after the change."""
        return self._owed - self.met

    @property
    def _owed(self) -> int:
        return max(0, self.after - self.paid - self.written_off)

    @property
    def mark(self) -> str:
        """The amounts that a page showed, so that nobody agrees to terms that they did not see."""
        return f"{self.after}-{self.back}-{self.to_pay}"


def kept_shares(prices: Sequence[int], percent: int, *, earned: int = 0) -> list[int]:
    """What is kept of each of the lines with these net `prices` when `percent` of their sum comes back.

    `earned` of the sum does not come back at all. What does is half-up of the sum, shared by largest remainder, so that
    the parts add up to the whole.
    """
    if not sum(prices):
        return [0] * len(prices)
    back = share_out(half_up(Fraction((sum(prices) - earned) * percent, 100)), prices)
    return [price - part for price, part in zip(prices, back, strict=True)]


def held_share(price: int, weights: Sequence[int], held: int) -> int:
    """What the first `held` sessions of a course are worth of its `price`, by `weights` (their minutes)."""
    return sum(share_out(price, weights)[:held])


def in_words(tiers: Sequence[Tier]) -> str:
    """The policy in a sentence for the booking page."""
    parts = [f"{one.percent} % back {one.days} days or more before" for one in tiers if one.percent]
    return "; ".join([*parts, "after that nothing"]) + "."
