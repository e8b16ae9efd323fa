"""Which taxa the accounts do not tell apart, for the reviewer: all pairs in numbers, and each pair in words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from curriculum.compute.account import Account
from curriculum.compute.audit import Audit, Cause, Check, audit
from curriculum.compute.separation import Verdict, separate
from curriculum.compute.separation_words import in_words
from curriculum.pairs import Contents, contents_of
from curriculum.queries import accounts_in_use, vocabulary
from foraywright.floor.door import names_act

A_PAGE = 40


@dataclass(frozen=True, slots=True)
class PairRow:
    """Two taxa that the audit has something to say of: keys, common names, and what it says."""

    this: str
    other: str
    this_name: str
    other_name: str
    verdict: str
    danger: str
    why: str

    @property
    def presses(self) -> bool:
        """Whether it comes first: nothing tells them apart, or one of them harms."""
        return bool(self.danger) or self.verdict == Verdict.UNSETTLED


@lru_cache(maxsize=4)
def _audit(contents: Contents) -> Audit:
    return audit(contents.accounts, vocabulary())


@names_act("account.review")
@require_safe
def staff_audit(request: HttpRequest) -> HttpResponse:
    """The audit in numbers and the pairs behind them, worst first. Two queries; computed once for each content."""
    contents = contents_of(accounts_in_use())
    found, accounts = _audit(contents), contents.accounts
    labels = vocabulary().characters
    rows = sorted(_pair_rows(found, accounts), key=lambda row: not row.presses)
    context = {
        "accounts": len(accounts),
        "audit": found,
        "excluded": sorted(found.excluded.items()),
        "ignorance": len(found.unsettled(Cause.IGNORANCE)),
        "overlap": len(found.unsettled(Cause.OVERLAP)),
        "checks": [(str(check), len(found.separators_that_are(check))) for check in Check],
        "page": Paginator(rows, A_PAGE).get_page(request.GET.get("page")),
        "similar": [(_names(one.this, one.other, accounts), one) for one in found.similar],
        "too_little_known": [(_names(one.this, one.other, accounts), one) for one in found.too_little_known],
        "rejected": [
            (_names(one.taxon, one.lookalike, accounts), labels[one.character].label, one)
            for one in found.separators_that_are(Check.CONTRADICTED) + found.separators_that_are(Check.NOT_CHECKED)
        ],
        "without_account": [(accounts[one.taxon].vernacular(), one) for one in found.without_account],
        "contradictions": [(accounts[one.taxon].vernacular(), one) for one in found.contradictions],
    }
    return render(request, "curriculum/staff_audit.html", context)


def _pair_rows(found: Audit, accounts: Mapping[str, Account]) -> list[PairRow]:
    edibility = vocabulary().terms["edibility"]
    return [
        PairRow(
            one.this,
            one.other,
            *_names(one.this, one.other, accounts),
            verdict=str(one.verdict),
            danger=edibility[one.danger].label if edibility[one.danger].danger else "",
            why=_why(one.cause, one.groups, one.open_groups),
        )
        for one in found.pairs
    ]


def _why(cause: Cause, groups: Iterable[str], open_groups: Iterable[str]) -> str:
    """What the pair rests on, and whether more writing could settle it."""
    rests = ", ".join(_spaced(groups)) or "nothing"
    if cause is Cause.OVERLAP:
        return f"rests on {rests}; they overlap"
    return f"rests on {rests}; not recorded of both: {', '.join(_spaced(open_groups)) or 'nothing'}"


def _spaced(groups: Iterable[str]) -> list[str]:
    return [one.replace("_", " ") for one in groups]


def _names(this: str, other: str, accounts: Mapping[str, Account]) -> tuple[str, str]:
    return accounts[this].vernacular(), accounts[other].vernacular()


@names_act("account.review")
@require_safe
def staff_pair(request: HttpRequest, this: str, other: str) -> HttpResponse:
    """What separates two taxa, character by character, in words."""
    accounts = {key: one.account for key, one in accounts_in_use().items()}
    if this == other or not {this, other} <= set(accounts):
        raise Http404
    title, verdict, *lines = in_words(separate(accounts[this], accounts[other], vocabulary()), accounts, vocabulary())
    pair = [(key, accounts[key].vernacular()) for key in (this, other)]
    context = {"title": title, "verdict": verdict, "blocks": _blocks(lines), "pair": pair}
    return render(request, "curriculum/staff_pair.html", context)


def _blocks(lines: Iterable[str]) -> list[tuple[str, str, list[str]]]:
    """Each line that is not indented, its heading apart, with the indented ones below it."""
    blocks: list[tuple[str, str, list[str]]] = [("Stage by stage", "", [])]
    for line in lines:
        if line.startswith("  "):
            blocks[-1][2].append(line.strip().replace("_", " "))
        else:
            heading, _, rest = line.partition(":")
            blocks.append((heading, rest.strip(), []))
    return blocks
