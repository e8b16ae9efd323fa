"""How money goes back by the means by which it came: newest first (our rule)."""

from __future__ import annotations

from collections.abc import Sequence


def left_of(came: Sequence[tuple[str, int]], went: Sequence[tuple[str, int]]) -> list[tuple[str, int]]:
    """What is left of the payments `came` (account, minor units; newest first) after those that `went` back.

    What went back by an account is taken off that account's newest payments.
    """
    gone: dict[str, int] = {}
    for account, amount in went:
        gone[account] = gone.get(account, 0) + amount
    left = []
    for account, amount in came:
        taken = min(amount, gone.get(account, 0))
        gone[account] = gone.get(account, 0) - taken
        left.append((account, amount - taken))
    return [(account, amount) for account, amount in left if amount]


def shared_by_means(amount: int, left: Sequence[tuple[str, int]]) -> list[tuple[str, int]]:
    """How `amount` goes back over the payments `left`, newest first: one sum an account, in the order of use.

    Shorter than `amount` only where less came by these means than goes back.
    """
    shares: dict[str, int] = {}
    for account, most in left:
        part = min(amount, most)
        amount -= part
        if part:
            shares[account] = shares.get(account, 0) + part
    return list(shares.items())
