"""What of a booking's price is earned once some of its sessions were held, and the value added tax in it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bookings.compute.refunds import held_share
from foraywright.floor.compute.money import share_out, tax_within


@dataclass(frozen=True, slots=True)
class Sold:
    """One line of a booking, gross minor units: what runs of its price, or what was kept when it ended."""

    running_minor: int
    kept_minor: int
    basis_points: int


@dataclass(frozen=True, slots=True)
class Earned:
    """Minor units: gross = income + vat."""

    gross_minor: int
    vat_minor: int

    @property
    def income_minor(self) -> int:
        return self.gross_minor - self.vat_minor


def earned_of(lines: Sequence[Sold], weights: Sequence[int], held: int) -> Earned:
    """What is earned of `lines` after the first `held` sessions, weighed by `weights` (their minutes).

    Earned = what was kept of ended lines + the held sessions' share of the running price, as a cancellation counts it
    (`held_share`); the tax is counted line by line, half-up, as it was frozen at the sale. Our own rule: income belongs
    to the day on which a walk is held.
    """
    parts = earned_parts(lines, weights, held)
    vat = sum(tax_within(part, one.basis_points) for part, one in zip(parts, lines, strict=True))
    return Earned(sum(parts), vat)


def earned_parts(lines: Sequence[Sold], weights: Sequence[int], held: int) -> list[int]:
    """The same line by line, gross minor units."""
    running = [one.running_minor for one in lines]
    share = held_share(sum(running), weights, held)
    shares = share_out(share, running) if sum(running) else running
    return [part + one.kept_minor for part, one in zip(shares, lines, strict=True)]
